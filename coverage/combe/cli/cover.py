"""``combe cover``: predicts coverage, counts the people and draws the map."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.forecasting import forecast_option, show_forecast, tell_forecast
from combe.cli.progress import progress
from combe.cli.reporting import (
    ReportCommand,
    Shown,
    cache_folder,
    cache_option,
    default_out,
    no_cache_option,
    out_option,
    report_options_and_folder,
    study_argument,
)


@click.command("cover", cls=ReportCommand)
@study_argument
@out_option
@cache_option
@no_cache_option
@click.option("--street-tiles", is_flag=True, help="Let the map offer street tiles from the network.")
@click.option("--probability", is_flag=True, help="Also write the share of places served, and map it.")
@click.option("--unserved", is_flag=True, help="Also list the settlements that stay unserved.")
@click.option("--other-season", is_flag=True, help="Also predict the other season of the ground cover.")
@forecast_option
@report_options_and_folder
def command(
    study: Path,
    out: Path | None,
    cache: Path | None,
    no_cache: bool,
    street_tiles: bool,
    probability: bool,
    unserved: bool,
    other_season: bool,
    only_forecast: bool,
    shown: Shown,
) -> int:
    """Predict the coverage of every station, count the people, draw the map.

    Writes map.html and, for each service of each station, a GeoTIFF of the field strength in
    dB(µV/m), NaN where there is no prediction.

    With --probability also GeoTIFFs of the share of places served, 0 to 1: share_*.tif against noise alone,
    with layers in the map, and share_with_interference_*.tif against all other stations too.

    A relay counts as if its feed passed; where that fails or is not judged, the text, the page and the JSON
    say so.

    With --other-season the same without leaves, or with them: whom it serves, and what it changes of the
    fields. It takes leafless factors in the [clutter] section.

    The fields of stations that did not change since an earlier run are taken from the cache. With --html
    also a page of all the tables.
    """
    import time

    from combe.answers.cover import cover_report
    from combe.answers.forecast_rates import cover_forecast
    from combe.answers.season_change import season_change
    from combe.files import ensure_folder
    from combe.publishing.page_about import INDEX_NAME
    from combe.reports.cover import document
    from combe.reports.cover_files import write_cover_files
    from combe.study.project_of import load_project

    loaded = load_project(study)
    started = time.monotonic()
    ahead = cover_forecast(loaded)
    if only_forecast:
        return show_forecast(ahead, as_json=shown.as_json)
    tell_forecast(ahead)
    folder = ensure_folder(out or default_out(study))
    kept = cache_folder(cache, no_cache=no_cache)
    with progress() as told:
        report = cover_report(loaded, told, cache_folder=kept, feeds=True, unserved=unserved)
        season = season_change(report, told, cache_folder=kept) if other_season else None
    index = folder / INDEX_NAME
    files = write_cover_files(report, folder, street_tiles=street_tiles, shares=probability, index=index)
    took_s = time.monotonic() - started
    return shown.show(document(report, files, season, ahead.after(took_s)), folder=folder)
