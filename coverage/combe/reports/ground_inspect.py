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
from combe.reports.ground_doubts import datum_of, doubts_of, seam_doubts, share_words
from combe.reports.ground_entries import entry_of
from combe.version import __version__
from combe.words import Name, joined, tell, tell_number

if TYPE_CHECKING:
    from combe.answers.ground_found import Found, InspectReport

_NOT_TOLD: Final = "not told by the file"
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
    text("vertical_datum", "heights from", lambda each: Name(datum_of(each)) or None, null="not stated"),
    text("surface", "trees and roofs", lambda each: _surface(each), null="no elevation"),
    number("nodata", "no data", _of_raster("nodata"), null="none declared"),
    number("void_percent", "voids", _percent("void_share"), decimals=2, null=_NONE),
    number("lowest", "lowest", _of_raster("lowest"), null="no number"),
    number("highest", "highest", _of_raster("highest"), null="no number"),
    number("total", "sum", _of_raster("total"), null=_NONE),
    number("total_by_km2", "sum by km²", _of_raster("total_by_km2"), null="no raster, or without a place"),
    flag("rotated", get=_of_raster("rotated"), null=_NONE),
    flag("south_up", get=_of_raster("south_up"), null=_NONE),
    texts("doubts", get=lambda each: list(doubts_of(each)), meaning="what has to be looked at"),
    texts("entry", get=lambda each: list(entry_of(each)), meaning="lines that a study may have of it"),
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
    entries = tuple(Name(line) for each in report.found for line in entry_of(each))
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
        for words in doubts_of(each):
            yield tell("{name}: {words}", name=Name(each.path.name), words=words) if several else words
    for seam in report.seams:
        yield from seam_doubts(seam)


def _system(each: Found) -> str:
    return each.look.crs_name if isinstance(each, RasterFound) else each.crs_name


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
        voids=share_words(look.void_share),
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
        system=Name(each.crs_name) or ("places in degrees" if each.lonlat else "system not stated"),
    )
