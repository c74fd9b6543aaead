"""Writes the files of an export: rasters with styles, a GeoPackage, GeoJSON, KML and tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from combe.answers.export import ExportReport
from combe.answers.export_tables import harm_rows, in_lonlat, people_rows, service_rows
from combe.files import clear_remains, write_text_atomically
from combe.publishing.exchange import Folder, csv_text, geojson_text, kml_text
from combe.publishing.geopackage_notes import add_notes
from combe.publishing.geotiff import write_class_raster, write_level_raster
from combe.publishing.gis_styles import class_raster_qml, step_raster_qml, vector_qml, vector_sld
from combe.publishing.text import file_stems
from combe.publishing.vector import write_geopackage
from combe.reports.export_styles import (
    COVERAGE_STEPS_DB,
    class_styles,
    hill_style,
    hill_word,
    layer_notes,
    layer_words,
    step_styles,
    style_of,
)
from combe.words import joined, tell

FORMATS: Final = ("geotiff", "geopackage", "geojson", "kml", "csv")
"""What may be asked for, in the order in which it is written."""

_STEM: Final = "answer"
"""How tables and layers begin: no file that a study is likely to name is met, wherever they go."""

_KINDS: Final = {"served": "served", "best": "best_station", "margin": "margin"}
_EXCHANGED: Final = ("served_areas", "served_by_station", "districts", "feeds", "settlements", "stations")
_NAMES: Final = {"feeds": "relay", "served_areas": "state", "served_by_station": "station"}
_IN_ROWS: Final = ("program", "model", "invented")
"""What of the provenance stands in each row of a CSV file; the other formats hold all of it."""


@dataclass(frozen=True)
class WrittenFile:
    """A file that was written: its format, what it holds, and the file with its style, if it has one."""

    path: Path
    format: str
    holds: str
    rows: int | None = None
    styles: tuple[Path, ...] = ()


def write_export_files(
    report: ExportReport, folder: Path, formats: Sequence[str] = FORMATS
) -> tuple[WrittenFile, ...]:
    """Write the files of some formats into a folder, each whole or not at all; raises OutputError."""
    clear_remains(folder)
    about = about_of(report)
    chosen = [write for name, write in _WRITERS.items() if name in formats]
    return tuple(each for write in chosen for each in write(report, folder, about))


def about_of(report: ExportReport) -> dict[str, str]:
    """Return what made the files, with the study's title."""
    project = report.project
    note = {"note": project.note} if project.note else {}
    return {"study": project.title, **note, **report.provenance}


def _rasters(report: ExportReport, folder: Path, about: Mapping[str, str]) -> Iterator[WrittenFile]:
    grid = report.cover.grid
    maps = [*report.served, *report.best]
    for stem, each in zip(file_stems([(_KINDS[x.kind], x.of) for x in maps]), maps, strict=True):
        path, styles = folder / f"{stem}.tif", class_styles(each)
        classes = {int(one.value): (one.label, one.colour) for one in styles}
        write_class_raster(path, each.read(), grid, classes, tags=about, description=each.title)
        yield WrittenFile(path, "geotiff", each.title, None, _style(path, class_raster_qml(styles)))
    levels = report.margins
    for stem, level in zip(file_stems([(_KINDS[x.kind], x.of) for x in levels]), levels, strict=True):
        path = folder / f"{stem}.tif"
        write_level_raster(
            path, level.read(), grid, unit=level.unit, tags=about, description=level.title, statistics=True
        )
        qml = step_raster_qml(COVERAGE_STEPS_DB, step_styles())
        yield WrittenFile(path, "geotiff", level.title, None, _style(path, qml))

    yield from _hills(report, folder, about)


def _hills(report: ExportReport, folder: Path, about: Mapping[str, str]) -> Iterator[WrittenFile]:
    """Write what is known of every hill over the grid of the siting; score and margin have a style."""
    if report.hills is None:
        return
    made = {**{name: about[name] for name in ("study", "note") if name in about}, **report.hills.provenance}
    maps = report.hills.maps
    for stem, each in zip(file_stems([("hills", hill_word(x.of)) for x in maps]), maps, strict=True):
        path, values = folder / f"{stem}.tif", each.read()
        write_level_raster(
            path,
            values,
            report.hills.grid,
            unit=each.unit,
            tags=made,
            description=each.title,
            statistics=True,
        )
        style = hill_style(each.of, values)
        styles = _style(path, step_raster_qml(*style)) if style else ()
        yield WrittenFile(path, "geotiff", each.title, None, styles)


def _style(path: Path, qml: str, sld: str = "") -> tuple[Path, ...]:
    """Write the style of a file beside it, under its own stem, by which it is found."""
    pairs = [(path.with_suffix(".qml"), qml), *([(path.with_suffix(".sld"), sld)] if sld else [])]
    for place, words in pairs:
        write_text_atomically(place, words)
    return tuple(place for place, _ in pairs)


def _geopackage(report: ExportReport, folder: Path, about: Mapping[str, str]) -> Iterator[WrittenFile]:
    path = folder / f"{_STEM}.gpkg"
    notes = {name: layer_notes(name, _columns(frame), report) for name, frame in report.tables.items()}
    write_geopackage(path, report.tables, lambda base: add_notes(base, notes, about))
    holds = tell("layers {tables}; styled", tables=joined(", ", report.tables))
    yield WrittenFile(path, "geopackage", holds, sum(map(len, report.tables.values())))


def _columns(frame: Any) -> list[str]:
    return [name for name in frame.columns if name != frame.geometry.name]


def _geojson(report: ExportReport, folder: Path, about: Mapping[str, str]) -> Iterator[WrittenFile]:
    for name, frame in _exchanged(report).items():
        path = folder / f"{_STEM}_{name}.geojson"
        write_text_atomically(path, geojson_text(frame, name, about))
        style = style_of(name, report)
        beside = _style(path, vector_qml(style), vector_sld(style, name))
        yield WrittenFile(path, "geojson", layer_words(name), len(frame), beside)


def _exchanged(report: ExportReport) -> dict[str, Any]:
    return {name: in_lonlat(report.tables[name]) for name in _EXCHANGED if name in report.tables}


def _kml(report: ExportReport, folder: Path, about: Mapping[str, str]) -> Iterator[WrittenFile]:
    path = folder / f"{_STEM}.kml"
    folders = [
        Folder(name.replace("_", " "), frame, _NAMES.get(name, "name"), style_of(name, report))
        for name, frame in _exchanged(report).items()
    ]
    write_text_atomically(path, kml_text(report.project.title, folders, about))
    holds = tell("folders {title}", title=joined(", ", (each.title for each in folders)))
    yield WrittenFile(path, "kml", holds, sum(len(each.frame) for each in folders))


def _csv(report: ExportReport, folder: Path, about: Mapping[str, str]) -> Iterator[WrittenFile]:
    kept = {"study": about["study"], **{name: about.get(name, "") for name in _IN_ROWS}}
    for name, (rows, words) in _tables(report).items():
        if rows:
            path = folder / f"{_STEM}_{name}.csv"
            write_text_atomically(path, csv_text(rows, kept))
            yield WrittenFile(path, "csv", words, len(rows))


def _tables(report: ExportReport) -> dict[str, tuple[list[dict[str, Any]], str]]:
    """Return the rows of each plain table, and what they are."""
    return {
        "stations": (_plain_rows(report, "stations"), "stations with what they radiate"),
        "services": (service_rows(report.cover), "services of stations: power, minimum, area, people"),
        "people": (people_rows(report.cover), "people of all services and each, whole and by district"),
        "feeds": (_plain_rows(report, "feeds"), "verdicts on the feed of each service of each relay"),
        "harm": (harm_rows(report.cover), "people whom each relay takes a service of another station from"),
    }


def _plain_rows(report: ExportReport, name: str) -> list[dict[str, Any]]:
    """Return the rows of a table without their places."""
    if name not in report.tables:
        return []
    frame = report.tables[name]
    columns = _columns(frame)
    return [
        dict(zip(columns, row, strict=True))
        for row in zip(*(frame[each].tolist() for each in columns), strict=True)
    ]


_WRITERS: Final[Mapping[str, Callable[[ExportReport, Path, Mapping[str, str]], Iterator[WrittenFile]]]] = {
    "geotiff": _rasters,
    "geopackage": _geopackage,
    "geojson": _geojson,
    "kml": _kml,
    "csv": _csv,
}
