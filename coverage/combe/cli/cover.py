"""``combe cover``: predicts coverage, counts the people and draws the map."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.cover_content import (
    feed_standing_json,
    harm_json,
    network_json,
    print_feed_standings,
    print_harm,
    print_people,
    print_rasters,
    print_shares,
    print_taken_up,
    print_unserved,
    rounded,
    settlements,
    unserved_list,
)
from combe.cli.options import cache_option, json_option, no_cache_option, out_option, study_argument
from combe.cli.output import (
    default_out,
    print_cautions,
    print_json,
    print_made_by,
    print_table,
    say,
)
from combe.cli.progress import progress

if TYPE_CHECKING:
    from combe.answers.cover import CoverReport, ServiceCoverage, StationCoverage
    from combe.cli.cover_files import CoverFiles


@click.command("cover")
@study_argument
@out_option
@cache_option
@no_cache_option
@click.option("--street-tiles", is_flag=True, help="Let the map offer street tiles from the network.")
@click.option("--probability", is_flag=True, help="Also write the share of places served, and map it.")
@click.option("--unserved", is_flag=True, help="Also list the settlements that stay unserved.")
@json_option
def command(
    study: Path,
    out: Path | None,
    cache: Path | None,
    no_cache: bool,
    street_tiles: bool,
    probability: bool,
    unserved: bool,
    as_json: bool,
) -> None:
    r"""Predict the coverage of every station, count the people, draw the map.

    Writes map.html and, for each service of each station, a GeoTIFF of the field strength in
    dB(µV/m), NaN where there is no prediction.

    With --probability also GeoTIFFs of the share of places served, 0 to 1: share_*.tif against noise alone,
    with layers in the map, and share_with_interference_*.tif against all other stations too.

    A relay counts as if its feed passed; where that fails or is not judged, the text, the page and the JSON
    say so.

    The fields of stations that did not change since an earlier run are taken from the cache.

    \b
    JSON: study, title, invented, map (path), map_left_out (words on fields that the map does not hold,
      empty where it holds all), grid{crs, cell_size_m, rows, columns},
      stations[]{name, role, from_cache, people_served_all_services,
        services[]{name, channel, frequency_mhz, erp_w, minimum_field_dbuv_m,
          required_fields_dbuv_m{50, 70, 95, 99} (median for so many % of places), cells, sweep_s
          (of the sweep that all services of the station share), people_served, raster (path),
          field_at_a_place_dbuv_m, location_deviation_db (need and scatter of the share of
          places), probability_raster (path; null without --probability),
          probability_with_interference_raster (path; null too where no station may disturb)}},
      services[]{name, and as all_services},
      all_services{people_served, people_served_before (by parents alone),
        people_newly_served, people_lost (served before, not now), people_served_twice (by a
        second station too), people_unserved, people_limited_by_interference (of the unserved:
        noise alone would leave them served), people_interference_unknown (served as far as
        known: an interferer has no prediction there), people_without_prediction, people_total,
        districts[]{name, and the same} where the people have any},
      taken_up{sweeps, sweeps_from_before, tiles, tiles_from_before} (what an earlier run of this
        study left, finished or not),
      feeds[]{relay, parent, verdict (passes, not judged or fails), words (empty where it passes),
        services[]{service, verdict, reason}},
      interference (whether any two stations may disturb one another; null, as harm and the people by
        interference, where the study does not count it),
      harm[]{relay, station, service, channel, cells, people_fall_below,
        people_served_otherwise, people_left_without, people_not_known},
      unserved[]{name, longitude_deg, latitude_deg, people, people_unserved,
        people_without_prediction, missing_db (would serve half of the unserved),
        worst_missing_db (all of them)}, only with --unserved; of all services; null without people,
      provenance{}, cautions[]; the people are null in a study without them
    """
    from combe.answers.cover import cover_report
    from combe.cli.cover_files import write_cover_files
    from combe.prediction.field_store import usual_folder
    from combe.publishing.files import ensure_folder
    from combe.study.project_of import load_project

    loaded = load_project(study)
    folder = ensure_folder(out or default_out(study))
    with progress() as told:
        report = cover_report(loaded, told, cache_folder=None if no_cache else cache or usual_folder())
    files = write_cover_files(report, folder, street_tiles=street_tiles, shares=probability)
    left = settlements(report) if unserved else None
    if as_json:
        print_json(cover_json(report, files) | (unserved_list(left) if unserved else {}))
        return
    print_cover(report)
    print_feed_standings(files.feeds)
    print_taken_up(report.taken_up)
    if unserved:
        print_unserved(left)
    click.echo(f"\nwritten: {files.map_page}")
    if files.left_out:
        click.echo(f"  {files.left_out}")
    print_rasters(files.written, folder)
    if probability:
        print_shares(bool(files.judged_rasters))
    print_cautions()


def cover_json(report: CoverReport, files: CoverFiles) -> dict[str, Any]:
    """Return what ``combe cover --json`` prints."""
    from combe.publishing.cautions import CAUTIONS

    about, grid = report.project, report.grid
    return {
        "study": report.project.key,
        "title": about.title,
        "invented": about.invented,
        "grid": {
            "crs": grid.crs_name,
            "cell_size_m": grid.cell_size_m,
            "rows": grid.rows,
            "columns": grid.columns,
        },
        "stations": [_station_json(station, files) for station in report.stations],
        "services": [{"name": each.name, **network_json(each)} for each in report.services],
        "all_services": network_json(report.all_services),
        "taken_up": asdict(report.taken_up),
        "feeds": [feed_standing_json(each) for each in files.feeds],
        "interference": report.interference,
        "harm": None if report.interference is None else [harm_json(each) for each in report.harm],
        "map": files.map_page.resolve(),
        "map_left_out": files.left_out,
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def _station_json(covered: StationCoverage, files: CoverFiles) -> dict[str, Any]:
    return {
        "name": covered.station.name,
        "role": covered.station.role,
        "from_cache": covered.from_cache,
        "people_served_all_services": covered.people.served if covered.people else None,
        "services": [_service_json(each, erp, files) for each, erp in _with_erp(covered)],
    }


def _with_erp(covered: StationCoverage) -> list[tuple[ServiceCoverage, float]]:
    erps = [service.erp_w for service in covered.station.services]
    return list(zip(covered.services, erps, strict=True))


def _service_json(each: ServiceCoverage, erp_w: float, files: CoverFiles) -> dict[str, Any]:
    name = each.station, each.service
    share_raster, judged_raster = files.share_rasters.get(name), files.judged_rasters.get(name)
    return {
        "name": each.service,
        "channel": each.channel,
        "frequency_mhz": each.frequency_mhz,
        "erp_w": erp_w,
        "minimum_field_dbuv_m": each.minimum_field_dbuv_m,
        "required_fields_dbuv_m": {
            f"{percent:g}": field for percent, field in each.required_fields_dbuv_m.items()
        },
        "cells": each.cells,
        "sweep_s": each.sweep_s,
        "people_served": each.people.served if each.people else None,
        "raster": files.rasters[name].resolve(),
        "field_at_a_place_dbuv_m": each.minimum.at_a_place_dbuv_m,
        "location_deviation_db": each.minimum.location_deviation_db,
        "probability_raster": share_raster and share_raster.resolve(),
        "probability_with_interference_raster": judged_raster and judged_raster.resolve(),
    }


def print_cover(report: CoverReport) -> None:
    """Print what each station covers, and who is served before and after."""
    say(f"{report.project.title}: {report.provenance['grid']}")
    heads = ("station", "service", "ch", "MHz", "ERP W", "minimum dBµV/m", "cells", "people served")
    rows = [
        (
            covered.station.name,
            each.service,
            each.channel,
            each.frequency_mhz,
            erp_w,
            each.minimum_field_dbuv_m,
            each.cells,
            rounded(each.people.served if each.people else None),
        )
        for covered in report.stations
        for each, erp_w in _with_erp(covered)
    ]
    print_table(heads, rows)
    say()
    print_people(report)
    print_harm(report)
    print_made_by(report.provenance, "television", "time of service", "interference")
