"""Writes the study of one's own place: its cells, its television and its air, each value with its standing.

Such a study claims nothing that nobody told: no station, no people, no ground. Examples of stations stand in
it as comments. Which country a place lies in is not looked up, for a border drawn coarsely would be wrong
where relays stand.
"""

from __future__ import annotations

import json
import math
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import pyproj

from combe.errors import RangeError, nearest, quoted, require_range
from combe.geodesy import ellipsoid, turned
from combe.standards import (
    CHANNEL_RASTERS,
    MODES_FROM,
    REFRACTIVITY_FROM,
    TELEVISION_SYSTEMS,
    Country,
    Practice,
    SystemFamily,
    country_named,
)
from combe.study.climate import place_words
from combe.study.own_examples import examples_near
from combe.study.television_schema import USUAL_SYSTEM
from combe.terrain import FARTHEST_LATITUDE_DEG, FARTHEST_UTM_DEG, utm_crs

USUAL_RADIUS_KM: Final = 30.0
_RADII_KM: Final = (2.0, 200.0)
_CELLS_M: Final = (30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 240.0, 360.0, 500.0, 750.0)
_MOST_CELLS: Final = 700
"""Along a side: half a million cells are a quick first look, and finer ones can be asked for later."""

_BEYOND_DEG: Final = 0.1
"""How far the corners of a square grid reach over the parallel that its area ends at, and a little more."""

_COLUMN: Final = 40
_WIDTH: Final = 110
_MEMORY: Final = "from memory, check"
_SUGGESTED: Final = f"suggested, check: {REFRACTIVITY_FROM}"
_READ: Final = f"read in {MODES_FROM}"
_ASKED: Final = "as asked"
_CHOSEN: Final = "chosen here"
_UNKNOWN: Final = "not known"
_WRITE_IT: Final = "write it"


class Value(NamedTuple):
    """A value that a new study has, or has as a comment, and how it stands with it."""

    section: str
    key: str
    value: Any
    standing: str
    known: bool = True

    @property
    def line(self) -> str:
        """The line of the study."""
        written = f"{'' if self.known else '#'}{self.key} = {_toml(self.value)}"
        return f"{written.ljust(_COLUMN)}  # {self.standing}"


@dataclass(frozen=True)
class OwnStudy:
    """A study to be written: what it is called, its values, what to know beside them, and its text."""

    title: str
    values: tuple[Value, ...]
    remarks: tuple[str, ...]
    text: str


def own_study(
    longitude_deg: float,
    latitude_deg: float,
    radius_km: float = USUAL_RADIUS_KM,
    *,
    system: str | None = None,
    country: str | None = None,
) -> OwnStudy:
    """Return the study of a place.

    Parameters
    ----------
    longitude_deg, latitude_deg
        Its middle, WGS 84.
    radius_km
        How far it reaches to each side.
    system
        Television system; that of the country unless given, and DVB-T2 without either.
    country
        ISO 3166-1 code or name of the country whose habits are taken.

    Raises
    ------
    RangeError
        A place too near to a pole, a radius out of range, a system or country that is not in the tables, and
        a country without a system of the table where none is given.
    """
    row = None if country is None else country_named(country)
    family, practice, standing = _television(system, row)
    place = (float(turned(longitude_deg)), latitude_deg)
    grid = _grid(*place, radius_km)
    title = f"A study at {place_words(place)}"
    television = tuple(_television_values(family, practice, standing, row))
    air = tuple(_air_values(row))
    values = (Value("study", "title", title, "write your own"), *grid, *television, *air)
    remarks = tuple(_remarks(family, row, told=system is not None))
    examples = examples_near(place, grid[0].value, family, television[1].value, row)
    return OwnStudy(title, values, remarks, _text(place, radius_km, values, remarks, examples))


def _television(system: str | None, row: Country | None) -> tuple[SystemFamily, Practice | None, str]:
    """Return the system, what is known of its use in the country, and where it is from."""
    if system is not None and system not in TELEVISION_SYSTEMS:
        near = nearest(system, TELEVISION_SYSTEMS)
        advice = f"did you mean {quoted(near)}?" if near else ""
        raise RangeError("television system", quoted(system), ", ".join(TELEVISION_SYSTEMS), advice)
    if row is not None and system is None and not row.practices:
        known = ", ".join(TELEVISION_SYSTEMS)
        raise RangeError(
            f"television system of {row.name}",
            f"not known here ({row.note})",
            known,
            "name one as the system",
        )
    practices = row.practices if row else ()
    if system is None:
        if not practices:
            return (
                TELEVISION_SYSTEMS[USUAL_SYSTEM],
                None,
                "nobody told it: what Combe takes; write that of the place",
            )
        return TELEVISION_SYSTEMS[practices[0].system], practices[0], _MEMORY
    found = next((each for each in practices if each.system == system), None)
    return TELEVISION_SYSTEMS[system], found, _ASKED


def _grid(longitude_deg: float, latitude_deg: float, radius_km: float) -> tuple[Value, Value, Value]:
    """Return area, projection and cells around a place."""
    require_range("radius of the study [km]", radius_km, *_RADII_KM)
    north, east = (
        ellipsoid().fwd(longitude_deg, latitude_deg, bearing, radius_km * 1000.0) for bearing in (0.0, 90.0)
    )
    tall = abs(north[1] - latitude_deg)
    # At the parallel nearest to the pole a kilometre is most degrees wide, and the area is to hold it all.
    farthest = abs(latitude_deg) + tall
    most = FARTHEST_LATITUDE_DEG - _BEYOND_DEG
    if not farthest <= most:
        allowed = (
            f"{tall - most:.2f} to {most - tall:.2f} with {radius_km:g} km to each side, for maps end there"
        )
        raise RangeError("latitude of the study", f"{latitude_deg:g}", allowed)
    wide = float(turned(east[0] - longitude_deg))
    west = longitude_deg - wide
    # An area across the antimeridian runs on past 180.
    west += 360.0 if west < -180.0 else 0.0
    area = [west, latitude_deg - tall, west + 2.0 * wide, latitude_deg + tall]
    crs, words = _projection(longitude_deg, latitude_deg)
    cell = next(size for size in _CELLS_M if 2000.0 * radius_km / size <= _MOST_CELLS)
    return (
        Value("grid", "area_deg", [round(each, 4) for each in area], f"{radius_km:g} km to each side"),
        Value("grid", "crs", crs, words),
        Value("grid", "cell_size_m", cell, _CHOSEN),
    )


def _projection(longitude_deg: float, latitude_deg: float) -> tuple[str, str]:
    """Return a metric system that fits a place, and its name."""
    if abs(latitude_deg) > FARTHEST_UTM_DEG:
        text = f"+proj=tmerc +lon_0={longitude_deg:.0f} +datum=WGS84 +units=m"
        return text, "beyond the UTM zones: transverse Mercator along the meridian of the place"
    crs = utm_crs(longitude_deg, latitude_deg)
    return f"EPSG:{crs.to_epsg()}", f"{pyproj.CRS(crs).name}, the zone of the place"


def _television_values(
    family: SystemFamily, practice: Practice | None, standing: str, row: Country | None
) -> Iterator[Value]:
    yield Value("television", "system", family.name, standing)
    yield _raster(family, row)
    yield from _mode_values(family, practice, row)
    height_m = row.receive_height_m if row else 10.0
    yield Value("television", "receive_height_m", height_m, _MEMORY if row else "usual for roofs, check")


def _raster(family: SystemFamily, row: Country | None) -> Value:
    """Return the raster: that of the country where the system fits into it, else that of the system."""
    if row is not None and _fits(family, row):
        return Value("television", "channel_raster", row.channel_raster, _band_words(row))
    words = "that of the system" if row is None else f"that of the system; in {row.name} {row.channel_raster}"
    return Value("television", "channel_raster", family.channel_raster, words)


def _fits(family: SystemFamily, row: Country) -> bool:
    """Tell whether a system lies as wide and at the same places in the channels of a country."""
    own, there = CHANNEL_RASTERS[family.channel_raster], CHANNEL_RASTERS[row.channel_raster]
    return (own.width_mhz, own.signal_offset_mhz) == (there.width_mhz, there.signal_offset_mhz)


def _band_words(row: Country) -> str:
    if row.uhf_channels is None:
        return f"{_MEMORY}; which UHF channels are left to television is not known"
    low, high = row.uhf_channels
    return f"UHF channels {low} to {high}; {_MEMORY}"


def _mode_values(family: SystemFamily, practice: Practice | None, row: Country | None) -> Iterator[Value]:
    """Yield the mode of a digital system; what of it is not known stands as a comment."""
    if family.analogue_name is not None:
        return
    mode = practice.mode if practice else None
    usual = dict(zip(("modulation", "code_rate"), family.usual_mode, strict=False))
    place = f" of {row.name}" if row else ""
    for key, without in usual.items():
        known = getattr(mode, key) if mode else ""
        if mode is None or not known:
            words = f"{_UNKNOWN}{place}: {_WRITE_IT}; without it this, Combe's usual"
            yield Value("television", key, without, words, known=False)
        else:
            yield Value(
                "television",
                key,
                known,
                "; ".join(filter(None, (_mode_standing(mode.confidence), mode.note))),
            )


def _mode_standing(confidence: str) -> str:
    return f"{_READ}; check" if confidence == "read" else _MEMORY


def _air_values(row: Country | None) -> Iterator[Value]:
    """Yield the air; what of it is not known stands as a comment."""
    ask = f"{_UNKNOWN}: {_WRITE_IT} (maps of ITU-R P.453)"
    for key, usual in (("delta_n", 45.0), ("n0", 325.0)):
        known = None if row is None else getattr(row, key)
        if known is None:
            yield Value("air", key, usual, f"{ask}; without it this", known=False)
        else:
            yield Value("air", key, known, _SUGGESTED)
    if row is not None and row.climate is not None:
        yield Value("air", "climate", row.climate, "suggested for most of the country, from memory; check")
    else:
        names = "temperate, continental, maritime, humid tropical or desert"
        yield Value("air", "climate", "temperate", f"{_UNKNOWN}: {_WRITE_IT}, {names}", known=False)


def _remarks(family: SystemFamily, row: Country | None, *, told: bool) -> Iterator[str]:
    """Yield what else is known of television there."""
    if row is None:
        if not told:
            yield f"Neither --country nor --system was told: {family.name} stands until you write another."
        return
    habits = row.polarization or f"{_UNKNOWN}; {_WRITE_IT} at each station"
    yield f"Polarization in {row.name}: {habits}{f' ({_MEMORY})' if row.polarization else ''}."
    for each in row.practices:
        if each.system != family.name:
            yield f"{'Formerly' if each.former else 'Also there'}: {_practice_words(each)}."
        elif each.mode is not None and each.mode.transform:
            words = f"{_timing(each)} ({_mode_standing(each.mode.confidence)})"
            yield f"For networks on one frequency: {words}."
    if not any(each.system == family.name for each in row.practices):
        yield f"{family.name} is not the system of {row.name} in this table."
    if row.note:
        yield f"{row.name}: {row.note} ({_MEMORY})."


def _practice_words(practice: Practice) -> str:
    mode = practice.mode
    if mode is None:
        return f"{practice.system}, mode {_UNKNOWN}"
    parts = (f"{mode.modulation} {mode.code_rate}".strip(), _timing(practice), mode.note)
    return ", ".join(filter(None, (practice.system, *parts))) + f" ({_mode_standing(mode.confidence)})"


def _timing(practice: Practice) -> str:
    mode = practice.mode
    if mode is None:
        return ""
    guard = f"guard interval {mode.guard_interval}" if mode.guard_interval else ""
    return ", ".join(filter(None, (mode.transform, guard)))


_HEAD: Final = """\
# A Combe study of {radius:g} km around {place}. It claims nothing yet: no ground, no people, no station.
# Behind each value stands how sure it is. A line that begins with # and no blank is a key that is not in use:
# take the # out, and write what holds.
#
# Next, in this folder:
#   combe ground fetch study.toml    the ground and the people of the area
#   combe check study.toml           what is still missing
# Then a station: there are examples below. All keys: combe guide study
"""

_GROUND: Final = """\
# [terrain], [people] and [clutter] come by combe ground fetch study.toml, or by hand for your own rasters.
"""

_STATIONS: Final = """\
# Stations: examples near the place, all numbers to be replaced. Hundreds of stations go into a table:
# combe guide tables
"""


def _text(
    place: tuple[float, float],
    radius_km: float,
    values: tuple[Value, ...],
    remarks: tuple[str, ...],
    examples: str,
) -> str:
    parts = [_HEAD.format(radius=radius_km, place=place_words(place))]
    for section in dict.fromkeys(each.section for each in values):
        lines = [f"[{section}]", *(each.line for each in values if each.section == section)]
        if section == "television":
            lines += [
                line for words in remarks for line in textwrap.wrap(f"# {words}", 110, subsequent_indent="# ")
            ]
        parts.append("\n".join(lines) + "\n")
    return "\n".join([*parts, _GROUND, f"{_STATIONS}{examples}"])


def _comment(words: str) -> list[str]:
    return textwrap.wrap(words, _WIDTH, initial_indent="# ", subsequent_indent="# ")


def _toml(value: Any) -> str:
    if isinstance(value, float) and math.isfinite(value):
        return repr(value)
    return json.dumps(value, ensure_ascii=False)
