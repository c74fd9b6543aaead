"""Gathers what the pages of visits show, and writes them."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from combe.answers.visit import SheetReport, StationSheet, VisitReport
from combe.planning.visits.sheet import sheet_text
from combe.publishing.files import write_text_atomically
from combe.publishing.sheet_page import SheetPage, SheetStation, render_sheet_page
from combe.publishing.visit_page import VisitPage, render_visit_page


class SheetFiles(NamedTuple):
    """The printable sheet, and the same as a table to fill in."""

    page: Path
    table: Path


def write_visit_page(report: VisitReport, path: Path) -> Path:
    """Write the page of a visit, whole or not at all, and return its path; raises OutputError."""
    write_text_atomically(path, render_visit_page(visit_content(report)))
    return path


def write_sheet_files(report: SheetReport, folder: Path) -> SheetFiles:
    """Write the sheet as a page and as a table, each whole or not at all; raises OutputError."""
    files = SheetFiles(folder / "sheet.html", folder / "sheet.csv")
    rows = [row for sheet in report.sheets for row in sheet.rows]
    write_text_atomically(files.page, render_sheet_page(sheet_content(report)))
    write_text_atomically(files.table, sheet_text(rows))
    return files


def visit_content(report: VisitReport) -> VisitPage:
    """Return the page of a visit."""
    about = report.project
    return VisitPage(
        title=f"{about.title}: site visits",
        subtitle=about.note,
        judgements=report.judgements,
        note=taken_words(report),
        provenance=tuple(f"{name}: {words}" for name, words in report.provenance.items()),
        invented_note=report.provenance.get("invented", ""),
    )


def taken_words(report: VisitReport) -> str:
    """Return what was taken in, in one sentence."""
    if not report.taken:
        return f"The latest reading of every series in {report.log.name}."
    days = sorted({reading.date for reading in report.taken})
    span = f"{days[0]}" if len(days) == 1 else f"{days[0]} to {days[-1]}"
    stored = f"stored in {report.log.name}" if report.stored else "not stored"
    blank = f"; {report.rows_left_blank} rows of the sheet were left blank" if report.rows_left_blank else ""
    count = "1 reading" if len(report.taken) == 1 else f"{len(report.taken)} readings"
    return f"{count} of {span}, {stored}{blank}."


def sheet_content(report: SheetReport) -> SheetPage:
    """Return the sheet for the next visit."""
    about = report.project
    return SheetPage(
        title=f"{about.title}: sheet for the next visit",
        subtitle=about.note,
        stations=tuple(_station(sheet) for sheet in report.sheets),
        provenance=tuple(f"{name}: {words}" for name, words in report.provenance.items()),
        invented_note=report.provenance.get("invented", ""),
    )


def _station(sheet: StationSheet) -> SheetStation:
    station = sheet.station
    services = " · ".join(
        f"{service.name}, channel {service.channel}, {service.frequency_mhz:g} MHz, {service.erp_w:g} W ERP"
        for service in station.services
    )
    place = f"{abs(station.latitude_deg):.5f}° {'N' if station.latitude_deg >= 0.0 else 'S'}, "
    place += f"{abs(station.longitude_deg):.5f}° {'E' if station.longitude_deg >= 0.0 else 'W'}"
    return SheetStation(
        name=station.name,
        facts=(
            ("Place (WGS 84)", place),
            ("Receives", station.parent or "nothing off air"),
            ("Transmitting aerial", f"{station.aerial_height_m:g} m above ground, {station.polarization}"),
            ("Radiates", services),
        ),
        rows=sheet.rows,
        exposure=sheet.exposure,
        exposure_reflected=sheet.exposure_reflected,
        exposure_fault=sheet.exposure_fault,
    )
