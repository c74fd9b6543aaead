"""The document of files that were looked at: what they are, what is doubtful, and what a study should say."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import singledispatch
from typing import TYPE_CHECKING, Any, Final

from combe.answers.ground_found import RasterFound, TableLook
from combe.digits import spoken
from combe.publishing.document import Document, Form, Table, Words
from combe.publishing.fields import Field, flag, many, number, text, texts, whole
from combe.study.saved_text import toml_value
from combe.tables import Layout, mapping_text
from combe.version import __version__
from combe.words import Name, joined, tell, tell_number

if TYPE_CHECKING:
    from combe.answers.ground_found import Found, InspectReport
    from combe.terrain import Seam

_NOT_TOLD: Final = "not told by the file"
_LEAST_PERCENT: Final = 0.01
_DEEP_M: Final = -20.0
_MANY_ZEROS: Final = 0.02
_MOST_TOLD_ALONE: Final = 2
_MOST_LINES_AT_FIRST: Final = 5


def _of_raster(key: str) -> Any:
    return lambda each: getattr(each.look, key) if isinstance(each, RasterFound) else None


def _name_of(each: Found, key: str) -> str | None:
    """Return what a raster says of itself in words of its own; None where it does not, or is none."""
    return Name(getattr(each.look, key)) or None if isinstance(each, RasterFound) else None


def _percent(key: str) -> Any:
    return lambda each: 100.0 * getattr(each.look, key) if isinstance(each, RasterFound) else None


def _corner(at: int) -> Any:
    def find(each: Found) -> float | None:
        frame = each.look.lonlat if isinstance(each, RasterFound) else each.lonlat
        return None if frame is None else float(frame[at])

    return find


def _side(at: int) -> Any:
    return lambda each: each.look.cell_m[at] if isinstance(each, RasterFound) else None


_NONE: Final = "not a raster"
_UNKNOWN: Final = "unknown"

_COLUMNS: Final = many(
    "columns",
    text("name", "column", lambda each: Name(each.name)),
    text("example", "a value", lambda each: Name(each.example)),
    text(
        "may_be",
        "may be",
        lambda each: Name(each.may_be) if each.may_be else None,
        null="nothing that a study asks for",
    ),
    get=lambda each: each.columns if isinstance(each, TableLook) else (),
)  # fmt: skip

_FILES: Final = many(
    "files",
    text("name", "file", lambda each: Name(each.path.name)),
    text("likely", "likely", meaning="what it is likely, by name, values or columns"),
    text("format", "format", lambda each: Name(each.look.file_format if isinstance(each, RasterFound)
         else each.file_format)),
    text("crs", "system", lambda each: Name(_system(each)) or None, null="not stated"),
    number("west_deg", "west", _corner(0), decimals=4, null=_UNKNOWN),
    number("south_deg", "south", _corner(1), decimals=4, null=_UNKNOWN),
    number("east_deg", "east", _corner(2), decimals=4, null=_UNKNOWN),
    number("north_deg", "north", _corner(3), decimals=4, null=_UNKNOWN),
    whole("rows", "rows", lambda each: each.look.rows if isinstance(each, RasterFound) else each.rows),
    whole("cells_a_row", "columns", _of_raster("columns"), null=_NONE),
    number("cell_east_west_m", "cell E-W", _side(0), decimals=1, null=_NONE),
    number("cell_north_south_m", "cell N-S", _side(1), decimals=1, null=_NONE),
    text("data_type", "numbers", lambda each: _name_of(each, "data_type"), null=_NONE),
    text("unit", "unit", lambda each: _name_of(each, "unit"),
         null="not stated"),
    text("vertical_datum", "heights from", lambda each: Name(_datum(each)) or None, null="not stated"),
    text("surface", "trees and roofs", lambda each: _surface(each), null="no elevation"),
    number("nodata", "no data", _of_raster("nodata"), null="none declared"),
    number("void_percent", "voids", _percent("void_share"), decimals=2, null=_NONE),
    number("lowest", "lowest", _of_raster("lowest"), null="no number"),
    number("highest", "highest", _of_raster("highest"), null="no number"),
    number("total", "sum", _of_raster("total"), null=_NONE),
    number("total_by_km2", "sum by km²", _of_raster("total_by_km2"), null="no raster, or without a place"),
    flag("rotated", get=_of_raster("rotated"), null=_NONE),
    flag("south_up", get=_of_raster("south_up"), null=_NONE),
    texts("doubts", get=lambda each: list(_doubts(each)), meaning="what has to be looked at"),
    texts("entry", get=lambda each: list(_entry(each)), meaning="lines that a study may have of it"),
    _COLUMNS,
    get="found",
)  # fmt: skip

_SEAMS: Final = many(
    "seams",
    text("first", "file", lambda each: Name(each.first)),
    text("side", "its side", "side"),
    text("second", "next file", lambda each: Name(each.second)),
    number("gap_cells", "gap [cells]", "gap_cells", decimals=2, meaning="negative for an overlap"),
    number("shift_east_cells", "shift E-W", lambda each: each.shift_cells[0], decimals=2),
    number("shift_north_cells", "shift N-S", lambda each: each.shift_cells[1], decimals=2),
    number("step", "step", "step", decimals=2, null="not compared"),
    number("step_inside", "inside", "step_inside", decimals=2, null="not compared",
           meaning="what neighbouring cells differ by inside"),
    get="seams",
)  # fmt: skip

FORM: Final = Form(
    "ground_inspect",
    (
        whole("count", get=lambda report: len(report.found), meaning="files that were read"),
        _FILES,
        _SEAMS,
        texts("refused", get=lambda report: [words for _, words in report.refused],
              meaning="files that could not be read, and why"),
    ),
    files=(("page", "without --html"),),
)  # fmt: skip

_SHOWN: Final = (
    "name", "likely", "crs", "cell_east_west_m", "cell_north_south_m", "data_type", "void_percent", "lowest",
    "highest",
)  # fmt: skip
_PLACE: Final = ("name", "west_deg", "south_deg", "east_deg", "north_deg", "rows", "cells_a_row", "format")
_HEIGHTS: Final = ("name", "unit", "vertical_datum", "surface", "nodata", "total", "total_by_km2")


def document(report: InspectReport) -> Document:
    """Return the document of files that were looked at."""
    doubts = tuple(_all_doubts(report))
    entries = tuple(Name(line) for each in report.found for line in _entry(each))
    return Document(
        form=FORM,
        answer=report,
        title="files before they are used",
        headline=(*_whats(report), *(words for _, words in report.refused)),
        parts=(
            Words(doubts, "To look at", listed=True, brief=True)
            if doubts
            else Words(("Nothing in it is doubtful.",), brief=True),
            Words(entries, "What a study may say"),
            Table("Files", _columns(_SHOWN), report.found),
            Table("Place", _columns(_PLACE), report.found),
            Table("Numbers", _columns(_HEIGHTS), report.found),
            *(
                Table(tell("Columns of {name}", name=Name(each.path.name)), _COLUMNS.fields, each.columns)
                for each in report.found
                if isinstance(each, TableLook)
            ),
            *((Table("Seams", _SEAMS.fields, report.seams),) if report.seams else ()),
        ),
        made_by={"program": f"Combe {__version__}"},
        next_words=_for_study(entries),
    )


def _whats(report: InspectReport) -> Iterator[str]:
    """Yield what each file is, or all of them shortly where they are many."""
    if len(report.found) <= _MOST_TOLD_ALONE:
        yield from map(_what, report.found)
        return
    each = [tell("{name} {likely}", name=Name(each.path.name), likely=each.likely) for each in report.found]
    yield tell("{files}: {each}.", files=tell_number(len(each), "{count} file", "{count} files"),
               each=joined(", ", each))  # fmt: skip


def _for_study(entries: tuple[str, ...]) -> tuple[str, ...]:
    """Return the lines for a study, as long as a terminal has room for them at first."""
    if not 0 < len(entries) <= _MOST_LINES_AT_FIRST:
        return ()
    return ("For the study:", *(f"  {line}" for line in entries))


def _columns(keys: tuple[str, ...]) -> tuple[Field, ...]:
    return _FILES.only(*keys)


def _all_doubts(report: InspectReport) -> Iterator[str]:
    several = len(report.found) > 1
    for each in report.found:
        for words in _doubts(each):
            yield tell("{name}: {words}", name=Name(each.path.name), words=words) if several else words
    for seam in report.seams:
        yield from _seam_doubts(seam)


def _system(each: Found) -> str:
    return each.look.crs_name if isinstance(each, RasterFound) else each.crs_name


def _datum(each: Found) -> str:
    if not isinstance(each, RasterFound) or each.likely != "elevation":
        return ""
    return each.look.vertical_name or (each.known.vertical_datum if each.known else "")


def _surface(each: Found) -> str | None:
    if not isinstance(each, RasterFound) or each.likely != "elevation":
        return None
    if each.known is None or each.known.surface is None:
        return _NOT_TOLD
    told = "surface, with trees and roofs" if each.known.surface else "bare terrain"
    return tell("{told} ({name})", told=told, name=each.known.name)


@singledispatch
def _what(each: Any) -> str:
    raise NotImplementedError(each)


@_what.register
def _(each: RasterFound) -> str:
    look = each.look
    wide, high = look.cell_m
    size = tell("{rows} x {columns} cells", rows=look.rows, columns=look.columns)
    if math.isfinite(wide):
        size = tell("{size} of {wide:.3g} x {high:.3g} m", size=size, wide=wide, high=high)
    values = tell("{low} to {high}", low=spoken(look.lowest, 1), high=spoken(look.highest, 1))
    return tell(
        "{name}: {likely}, {because}; {size}, {system}, values {values}, {voids} voids.",
        name=Name(each.path.name),
        likely=each.likely,
        because=each.because,
        size=size,
        system=Name(look.crs_name) or "no system stated",
        values=values if math.isfinite(look.lowest) else "none",
        voids=_share(look.void_share),
    )


@_what.register
def _(each: TableLook) -> str:
    written = joined(", ", each.supposed)
    of = joined(" and ", each.geometries) if each.geometries else "text"
    return tell(
        "{name}: {likely}, by its columns; {rows}, {of}{written}, {system}.",
        name=Name(each.path.name),
        likely=each.likely,
        rows=tell_number(each.rows, "{count} row", "{count} rows"),
        of=of,
        written=tell(" ({written})", written=written) if written else "",
        system=Name(each.crs_name) or "system not stated",
    )


def _share(share: float) -> str:
    percent = 100.0 * share
    if percent == 0.0:
        return "no"
    if percent < _LEAST_PERCENT:
        return "under 0.01 %"
    return tell("{percent:.2f} %", percent=percent)


def _doubts(each: Found) -> Iterator[str]:
    if isinstance(each, TableLook):
        yield from _table_doubts(each)
        return
    yield from _place_doubts(each)
    for code in each.look.codes:
        yield tell(
            "{share} of its cells are {value:g}, which looks like no data but is not declared; if so: "
            "gdal_edit.py -a_nodata {value:g} FILE",
            share=_share(code.share),
            value=code.value,
        )
    doubts = {"elevation": _height_doubts, "canopy height": _canopy_doubts, "people": _people_doubts}
    if each.likely in doubts:
        yield from doubts[each.likely](each)
    if each.look.every > 1:
        yield tell(
            "Large: one row and column of {every} was looked at, so rare values may have been missed.",
            every=each.look.every,
        )


def _place_doubts(each: RasterFound) -> Iterator[str]:
    look = each.look
    if not look.crs_name:
        yield 'It states no reference system: name it, crs = "EPSG:…", where the section has that key.'
    if look.rotated:
        yield "Its rows do not run from west to east: it is rotated."
    if look.south_up:
        yield "Its first row is the southern one: it is stored south up."
    if not look.is_square and look.own_unit != "degree":
        yield tell(
            "Its cells are not square: {wide:.3g} x {high:.3g} m.", wide=look.cell_m[0], high=look.cell_m[1]
        )
    if look.bands > 1:
        yield tell(
            "It has {bands} bands, and is perhaps a picture; the first was looked at.", bands=look.bands
        )
    if look.void_share > 0.0:
        yield tell("{share} of its cells are declared void.", share=_share(look.void_share))


def _height_doubts(each: RasterFound) -> Iterator[str]:
    look = each.look
    if each.known is None or each.known.surface is None:
        yield "Whether heights hold trees and roofs is not told by the file: surface_model is to be written."
    if not _datum(each):
        yield "What heights are counted from is not told by the file: vertical_datum is to be written."
    if re_ellipsoidal(each.path.name):
        yield "Its name is that of heights above the ellipsoid, tens of metres off those above the sea."
    if look.lowest < _DEEP_M and look.negative_share > _MANY_ZEROS:
        yield tell(
            "{share} of its heights are below 0, down to {low} m: the sea bed? If so: sea_floor = true.",
            share=_share(look.negative_share),
            low=spoken(look.lowest, 0),
        )
    if look.zero_share > _MANY_ZEROS:
        yield tell(
            "{share} of its heights are exactly 0: the sea, or no data?", share=_share(look.zero_share)
        )
    if look.unit.casefold() in ("ft", "foot", "feet", "us survey foot", "us_survey_foot"):
        yield "Its heights are in feet, as it says."


def re_ellipsoidal(name: str) -> bool:
    """Tell whether a name is one of heights above the ellipsoid, as far as such names are known."""
    folded = name.casefold()
    return "ellips" in folded or folded.startswith("aw3d30_e")


def _canopy_doubts(each: RasterFound) -> Iterator[str]:
    if each.canopy_codes:
        yield tell(
            "It has {codes}: known maps of canopy have codes there (101 water, 102 snow, 103 no data; from "
            "memory). Read as heights they are a forest of 100 m: declare them as no data, or write 0.",
            codes=joined(", ", [f"{each:g}" for each in each.canopy_codes]),
        )
    yield "Heights of canopy are tops of trees; on a surface model, which has them already, they count twice."


def _people_doubts(each: RasterFound) -> Iterator[str]:
    look = each.look
    if not math.isfinite(look.total_by_km2):
        yield tell("Its numbers add up to {total}.", total=spoken(look.total))
        return
    yield tell(
        "Counts or a density? As people per cell they add up to {total}, as people per km² to {by_km2}; for "
        "the latter write density_per_km2 = true.",
        total=spoken(look.total),
        by_km2=spoken(look.total_by_km2),
    )
    if look.negative_share > 0.0:
        yield tell("{share} of its cells hold less than nobody.", share=_share(look.negative_share))


def _table_doubts(each: TableLook) -> Iterator[str]:
    if each.fault:
        yield tell("It cannot be read as it is: {fault}.", fault=each.fault)
    if "easting_m" in each.mapping:
        yield 'Its places are eastings and northings, of a system to be named, crs = "EPSG:…".'
    missing = [each for each in each.mapping.values() if not each]
    if each.likely == "table" or missing:
        yield "No place was found in its columns: is it a table of stations, people or readings at all?"


def _seam_doubts(seam: Seam) -> Iterator[str]:
    where = tell("{first} to {second}", first=Name(seam.first), second=Name(seam.second))
    if seam.has_gap:
        yield tell(
            "{where}: a gap of {cells:.2g} cells lies between them.", where=where, cells=seam.gap_cells
        )
    if seam.is_shifted:
        yield tell(
            "{where}: their cells do not fit, {x:.2g} cells off to the east, {y:.2g} to the south.",
            where=where,
            x=seam.shift_cells[0],
            y=seam.shift_cells[1],
        )
    if seam.has_step:
        yield tell(
            "{where}: heights jump by {step:.2g} along the edge, where neighbours inside differ by "
            "{inside:.2g}; are they of one datum?",
            where=where,
            step=seam.step,
            inside=seam.step_inside,
        )


def _entry(each: Found) -> Iterator[str]:
    """Yield the lines that a study may have of a file."""
    name = toml_value(each.path.name)
    if isinstance(each, TableLook):
        yield from _table_entry(each, name)
        return
    match each.likely:
        case "elevation":
            yield "[terrain]"
            yield f"tiles = [{name}]"
            yield f"vertical_datum = {toml_value(_datum(each) or 'unknown')}"
            surface = each.known.surface if each.known else None
            yield f"surface_model = {'true' if surface else 'false'}" + (
                "" if surface is not None else "  # look it up"
            )
            if not each.look.crs_name:
                yield 'crs = "EPSG:…"'
        case "land cover":
            yield "[clutter]"
            yield f"raster = {name}"
            yield (
                f"legend = {toml_value(each.legends[0])}" if each.legends else 'heights = "cover_heights.csv"'
            )
        case "canopy height":
            yield from ("[clutter]", f"raster = {name}", "canopy = true")
        case "zones":
            yield from ("[zones]", f"raster = {name}")
        case "people":
            yield from ("[people]", f"raster = {name}", "density_per_km2 = false  # or true: see above")
        case _:
            return


_SECTIONS: Final = {
    "people at points": ("people", "points"),
    "stations": ("network", "stations"),
    "survey points": ("survey", "points"),
    "points": ("coordination", "points"),
}


def _table_entry(each: TableLook, name: str) -> Iterator[str]:
    if each.likely == "districts":
        yield from ("[people]", f"districts = {name}")
        other = {ours: their for ours, their in each.mapping.items() if ours != their}
        if other:
            yield mapping_text(other, Layout(key="district_columns"))
        return
    if each.likely not in _SECTIONS:
        return
    section, key = _SECTIONS[each.likely]
    yield f"[{section}]"
    yield f"{key} = {name}"
    other = {ours: their for ours, their in each.mapping.items() if ours != their}
    if other:
        yield mapping_text(other, Layout())
    if "easting_m" in each.mapping:
        yield 'crs = "EPSG:…"'
