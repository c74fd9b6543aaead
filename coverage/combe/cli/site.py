"""``combe site``: scores every hill as the site of a relay, and proposes the best, alone and together."""

from __future__ import annotations

from pathlib import Path
from typing import Any

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
    report_options_in_folder,
    study_argument,
)


@click.command("site", cls=ReportCommand)
@study_argument
@out_option
@cache_option
@no_cache_option
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Score on the Dask cluster whose scheduler listens there, such as tcp://host:8786.",
)
@click.option(
    "--compare",
    nargs=2,
    type=click.IntRange(min=1),
    metavar="I J",
    help="Also write a page with hills I and J of the list side by side.",
)
@click.option("--whole", is_flag=True, help="Price every hill against every place, however long it takes.")
@click.option(
    "--minutes",
    type=click.FloatRange(min=0.0, min_open=True, max=10_000.0),
    metavar="N",
    help="Of a search coarse first, price leading hills in full for so long.",
)
@forecast_option
@report_options_in_folder
def command(
    study: Path,
    out: Path | None,
    cache: Path | None,
    no_cache: bool,
    cluster: str | None,
    compare: tuple[int, int] | None,
    whole: bool,
    minutes: float | None,
    only_forecast: bool,
    shown: Shown,
) -> int:
    """Score every hill as the site of a relay; list the best, and the best sets.

    A hill has to hear a parent with the margin asked, and to keep the study's rules for a mast. It is worth
    the people whom a relay there would newly serve in all services, less those who would lose a service
    from another station. Writes site.html with the map of all hills, a page for each hill of the list, and
    site.gpkg. A run that was stopped goes on where it was.

    What lies ahead is told before it begins. Where every hill would take over a minute, the search goes
    coarse first: leading hills are found by estimates and priced in full, the others stay estimates.
    """
    import time

    from combe.answers.forecast_rates import site_forecast
    from combe.answers.site_candidates import compared
    from combe.answers.site_report import site_report
    from combe.answers.site_wide import CoarseFirst
    from combe.files import ensure_folder
    from combe.publishing.page_about import INDEX_NAME
    from combe.reports.site import document
    from combe.reports.site_files import write_site_files
    from combe.study.project_of import load_project

    if whole and minutes is not None:
        raise click.UsageError("--minutes is of a search coarse first, and --whole of every hill; give one")
    loaded = load_project(study)
    started = time.monotonic()
    ahead = site_forecast(loaded, choose=not whole and cluster is None)
    if only_forecast:
        return show_forecast(ahead.forecast, as_json=shown.as_json)
    tell_forecast(ahead.forecast)
    coarse = CoarseFirst(minutes) if ahead.forecast.coarse_first else None
    folder = ensure_folder(out or default_out(study))
    kept = cache_folder(cache, no_cache=no_cache)
    with progress() as told:
        report = site_report(
            loaded,
            folder / "siting",
            progress=told,
            runner=_runner(cluster),
            cache_folder=kept,
            coarse_first=coarse,
            ground=ahead.ground,
        )
    both = compared(report.work, report.candidates, compare) if compare else None
    files = write_site_files(report, folder, both, index=folder / INDEX_NAME)
    forecast = ahead.forecast.after(time.monotonic() - started)
    return shown.show(document(report, files, forecast), folder=folder)


def _runner(cluster: str | None) -> Any:
    if cluster is None:
        return None
    from combe.planning.siting import on_cluster

    return on_cluster(cluster)
