"""The document of an export: which files were written, what each holds, and what is not in them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from combe.publishing.document import Document, Form, Table, Words
from combe.publishing.fields import many, number, people, text, texts, whole
from combe.publishing.text import capital
from combe.reports.study import study_named, unfed_headline, unfed_part, way_sentence
from combe.words import joined, tell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from combe.answers.export import ExportReport
    from combe.reports.export_files import WrittenFile


@dataclass(frozen=True)
class Exported:
    """An export with the files that were written."""

    report: ExportReport
    files: tuple[WrittenFile, ...]


_FILES: Final = many(
    "files",
    text("file", "file", lambda each: each.path.name),
    text("path", "", lambda each: each.path.resolve()),
    text("format", "format"),
    text("holds", "holds"),
    whole("rows", "rows", null="a raster"),
    texts("styles", "", lambda each: [style.name for style in each.styles], meaning="files beside it"),
    meaning="in the order in which they were written, but for styles",
)
_LAYERS: Final = many(
    "layers",
    text("layer", "layer", lambda each: each[0]),
    whole("rows", "rows", lambda each: len(each[1])),
    texts("columns", "columns", lambda each: [x for x in each[1].columns if x != each[1].geometry.name]),
    get=lambda asked: tuple(asked.report.tables.items()),
    meaning="tables with places, as the GeoPackage has them",
)

FORM: Final = Form(
    "export",
    (
        text("folder", "", lambda asked: asked.files[0].path.parent.resolve() if asked.files else None,
             null="nothing was written"),
        texts("formats", "", lambda asked: list(dict.fromkeys(each.format for each in asked.files))),
        number("cell_size_m", "", "report.cover.grid.cell_size_m"),
        text("crs", "", "report.cover.grid.crs_name", meaning="of rasters and areas"),
        people("people_served", "", "report.cover.all_services.people.served", null="nobody is counted"),
        whole("rasters", "", lambda asked: _rasters(asked)),
        whole("layers_made", "", lambda asked: len(asked.report.tables)),
        _FILES,
        _LAYERS,
    ),
    files=(("page", "without --html"), ("geopackage", "not asked for"), ("kml", "not asked for")),
)  # fmt: skip

_LIMITS: Final = (
    "Rasters of the field of each station and service are written by combe cover, and not here.",
    "Areas follow the edges of cells; in longitude and latitude they come out a little different: "
    "take the column area_km2.",
    "A place that is not predicted is neither served nor unserved, in every file.",
)


def document(report: ExportReport, files: Sequence[WrittenFile] = ()) -> Document:
    """Return the document of an export."""
    asked = Exported(report, tuple(files))
    standings = report.cover.standings
    return Document(
        form=FORM,
        answer=asked,
        title="files for a GIS",
        headline=(
            *_holds(asked),
            "Each file says what made it. Fields of single stations are rasters of combe cover.",
            *way_sentence(report.project),
            *unfed_headline(standings),
        ),
        parts=(
            *unfed_part(standings),
            Table("Files", _FILES.only("file", "format", "rows", "holds"), asked.files),
            Table("Layers", _LAYERS.only("layer", "rows", "columns"), tuple(report.tables.items())),
            Words((*_LIMITS, _hills_words(report)), "What to know of them", listed=True),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
        files={each.format: each.path for each in asked.files if each.format in ("geopackage", "kml")},
        beside=_beside(asked),
    )


def _hills_words(report: ExportReport) -> str:
    if report.hills is None:
        return (
            "Hills are not among them: ask for them with --hills; combe site writes its list as a GeoPackage."
        )
    return tell(
        "Hills are in cells of the siting, {cell_size_m:g} m; where none was searched there is no value.",
        cell_size_m=report.hills.grid.cell_size_m,
    )


def _rasters(asked: Exported) -> int:
    return sum(each.format == "geotiff" for each in asked.files)


def _holds(asked: Exported) -> tuple[str, ...]:
    """Say what was written, and how it opens."""
    layers, kinds = len(asked.report.tables), {each.format for each in asked.files}
    hills = len(asked.report.hills.maps) if asked.report.hills and _rasters(asked) else 0
    rasters = _rasters(asked) - hills
    told = (
        [tell("{rasters} rasters of who is served, by whom and by what margin", rasters=rasters)]
        if rasters
        else []
    )
    told += [tell("{hills} of all hills", hills=hills)] if hills else []
    told += (
        [tell("{layers} layers of areas, places and ways", layers=layers)]
        if kinds & {"geopackage", "geojson", "kml"}
        else []
    )
    told += ["tables"] if "csv" in kinds else []
    styled = any(each.styles for each in asked.files) or "geopackage" in kinds
    opened = " They open in QGIS with their colours and classes." if styled else ""
    return (
        (tell("{told}.{opened}", told=capital(joined("; ", told)), opened=opened),)
        if told
        else ("Nothing was written.",)
    )


_WORDS: Final = {"geotiff": "rasters", "geojson": "GeoJSON", "csv": "tables"}


def _beside(asked: Exported) -> dict[str, tuple[Path, ...]]:
    """Return the files by what they are called together; styles by themselves."""
    named = {
        words: tuple(each.path for each in asked.files if each.format == key) for key, words in _WORDS.items()
    }
    styles = tuple(style for each in asked.files for style in each.styles)
    return {words: paths for words, paths in {**named, "styles": styles}.items() if paths}
