"""Writes the files of a siting: map of all hills, a page for each of the list, two compared, GeoPackage."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from combe.answers.frames import chosen_frame, station_frame
from combe.answers.site_candidates import ComparedHills
from combe.answers.site_report import SiteReport
from combe.files import write_text_atomically
from combe.publishing.as_html import write_page
from combe.publishing.page_about import way_to
from combe.publishing.vector import write_geopackage
from combe.reports.site import document
from combe.reports.site_hill import comparison
from combe.reports.site_hill import document as hill_document
from combe.reports.site_map import hills_html


@dataclass(frozen=True)
class SiteFiles:
    """What was written; ``hill_pages`` in the order of the list, ``comparison`` one page or none."""

    map_page: Path
    hill_pages: tuple[Path, ...]
    comparison: tuple[Path, ...]
    vector: Path


def write_site_files(
    report: SiteReport, folder: Path, compare: ComparedHills | None = None, *, index: Path | None = None
) -> SiteFiles:
    """Write all pages and the GeoPackage into a folder; raises OutputError for a file that cannot be.

    The pages lead back to ``index``.
    """
    pages = tuple(folder / f"hill-{each.rank:02d}.html" for each in report.candidates)
    compared: tuple[Path, ...] = ()
    if compare is not None:
        compared = (folder / f"compare-{compare.first.rank:02d}-{compare.second.rank:02d}.html",)
    files = SiteFiles(folder / "site.html", pages, compared, folder / "site.gpkg")
    for number, path in enumerate(pages):
        write_page(hill_document(report, number), path, index=index)
    made = document(report, files)
    back = way_to(index, files.map_page)
    write_text_atomically(files.map_page, hills_html(report, made, made.answer.hills, index=back))
    if compare is not None:
        write_page(comparison(report, compare), compared[0], index=index)
    write_geopackage(files.vector, _layers(report))
    return files


def _layers(report: SiteReport) -> dict[str, object]:
    """Return the layers; a GeoPackage has none without rows."""
    layers: dict[str, object] = {"stations": station_frame(report.work.project.stations)}
    if report.candidates:
        layers["hills"] = report.to_geodataframe()
    if report.sets.sites:
        layers["chosen"] = chosen_frame(report)
    return layers
