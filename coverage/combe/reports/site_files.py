"""Writes the files of a siting: map of all hills, a page for each of the list, two compared, GeoPackage."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from combe.answers.site_candidates import ComparedHills
from combe.answers.site_report import SiteReport
from combe.publishing.as_html import write_page
from combe.publishing.as_json import plain
from combe.publishing.content import StationMark
from combe.publishing.vector import hill_layer, station_layer, write_geopackage
from combe.reports.site import document
from combe.reports.site_hill import HILL, comparison, hill_of
from combe.reports.site_hill import document as hill_document
from combe.stations import Station


@dataclass(frozen=True)
class SiteFiles:
    """What was written; ``hill_pages`` in the order of the list, ``comparison`` one page or none."""

    map_page: Path
    hill_pages: tuple[Path, ...]
    comparison: tuple[Path, ...]
    vector: Path


def write_site_files(report: SiteReport, folder: Path, compare: ComparedHills | None = None) -> SiteFiles:
    """Write all pages and the GeoPackage into a folder; raises OutputError for a file that cannot be."""
    pages = tuple(folder / f"hill-{each.rank:02d}.html" for each in report.candidates)
    compared: tuple[Path, ...] = ()
    if compare is not None:
        compared = (folder / f"compare-{compare.first.rank:02d}-{compare.second.rank:02d}.html",)
    files = SiteFiles(folder / "site.html", pages, compared, folder / "site.gpkg")
    for number, path in enumerate(pages):
        write_page(hill_document(report, number), path)
    write_page(document(report, files), files.map_page)
    if compare is not None:
        write_page(comparison(report, compare), compared[0])
    write_geopackage(files.vector, _layers(report))
    return files


def _layers(report: SiteReport) -> dict[str, object]:
    search = report.work.search
    keys = ["rank", "people", "people_counted", "people_alone"]
    keys += ["people_harmed"] if search.harm_counted else []
    keys += ["score", "parent", "search_margin_db", "ground_m", "above_valley_m", "pattern", "azimuth_deg"]
    keys += ["cost"] if search.has_costs else []
    hills = [hill_of(report, number) for number in range(len(report.candidates))]
    rows = [{field.key: plain(field.of(hill)) for field in HILL.only(*keys)} for hill in hills]
    layers: dict[str, object] = {
        "stations": station_layer([_mark(each) for each in report.work.project.stations])
    }
    if rows:
        layers["hills"] = hill_layer(rows, [_place(each.station) for each in report.candidates])
    if report.sets.sites:
        layers["chosen"] = hill_layer(
            [{"site": n, "adds": each.adds, "pattern": each.option, "erp_w": max(each.erp_w)}
             for n, each in enumerate(report.sets.sites, start=1)],
            [_place(each.station) for each in report.sets.sites],
        )  # fmt: skip
    return layers


def _place(station: Station) -> tuple[float, float]:
    return station.longitude_deg, station.latitude_deg


def _mark(station: Station) -> StationMark:
    services = ", ".join(f"ch {service.channel} {service.erp_w:g} W" for service in station.services)
    place = _place(station)
    return StationMark(station.name, station.role, *place, station.aerial_height_m, services)
