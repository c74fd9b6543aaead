"""What of a file is doubtful, in words: for whoever knows it to decide."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from combe.answers.ground_found import RasterFound, TableLook
from combe.digits import spoken
from combe.words import Name, joined, tell

if TYPE_CHECKING:
    from combe.answers.ground_found import Found
    from combe.terrain import Seam

_LEAST_PERCENT: Final = 0.01
_DEEP_M: Final = -20.0
_MANY_ZEROS: Final = 0.02


def datum_of(each: Found) -> str:
    """Return what heights are counted from, by the file or by its name; empty where neither tells."""
    if not isinstance(each, RasterFound) or each.likely != "elevation":
        return ""
    return each.look.vertical_name or (each.known.vertical_datum if each.known else "")


def share_words(share: float) -> str:
    """Return a share in percent, and any that is not 0 as more than that."""
    percent = 100.0 * share
    if percent == 0.0:
        return "no"
    if percent < _LEAST_PERCENT:
        return "under 0.01 %"
    return tell("{percent:.2f} %", percent=percent)


def doubts_of(each: Found) -> Iterator[str]:
    """Yield what has to be looked at in a file."""
    if isinstance(each, TableLook):
        yield from _table_doubts(each)
        return
    yield from _place_doubts(each)
    for code in each.look.codes:
        yield tell(
            "{share} of its cells are {value:g}, which looks like no data but is not declared; if so: "
            "gdal_edit.py -a_nodata {value:g} FILE",
            share=share_words(code.share),
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
        yield tell("{share} of its cells are declared void.", share=share_words(look.void_share))


def _height_doubts(each: RasterFound) -> Iterator[str]:
    look = each.look
    if each.known is None or each.known.surface is None:
        yield "Whether heights hold trees and roofs is not told by the file: surface_model is to be written."
    if not datum_of(each):
        yield "What heights are counted from is not told by the file: vertical_datum is to be written."
    if _is_ellipsoidal(each.path.name):
        yield "Its name is that of heights above the ellipsoid, tens of metres off those above the sea."
    if look.lowest < _DEEP_M and look.negative_share > _MANY_ZEROS:
        yield tell(
            "{share} of its heights are below 0, down to {low} m: the sea bed? If so: sea_floor = true.",
            share=share_words(look.negative_share),
            low=spoken(look.lowest, 0),
        )
    if look.zero_share > _MANY_ZEROS:
        yield tell(
            "{share} of its heights are exactly 0: the sea, or no data?", share=share_words(look.zero_share)
        )
    if look.unit.casefold() in ("ft", "foot", "feet", "us survey foot", "us_survey_foot"):
        yield "Its heights are in feet, as it says."


def _is_ellipsoidal(name: str) -> bool:
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
        yield tell("{share} of its cells hold less than nobody.", share=share_words(look.negative_share))


def _table_doubts(each: TableLook) -> Iterator[str]:
    if each.fault:
        yield tell("It cannot be read as it is: {fault}.", fault=Name(each.fault))
    if "easting_m" in each.mapping:
        yield 'Its places are eastings and northings, of a system to be named, crs = "EPSG:…".'
    missing = [each for each in each.mapping.values() if not each]
    if each.likely == "table" or missing:
        yield "No place was found in its columns: is it a table of stations, people or readings at all?"


def seam_doubts(seam: Seam) -> Iterator[str]:
    """Yield what does not fit where two rasters meet."""
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
