"""From a box of degrees to the tiles of a data set that meet it, and what their names are made of.

Every count is a floor and never a cut towards zero, for a cut sends whatever lies west or south to the wrong
tile. A box may reach past 180°: its tiles there are those of the other side, and lie a turn further east.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Final, Literal

import numpy as np
import pyproj

from combe.errors import RangeError
from combe.terrain import transformer

Box = tuple[float, float, float, float]
"""(west, south, east, north); in degrees east may pass 180."""

Corner = Literal["south-west", "north-west"]

LONLAT: Final = "EPSG:4326"
MOST_TILES: Final = 400
"""More files than this are no study, but a slip of the pen."""

_ALONG_AN_EDGE: Final = 41
_FARTHEST_LATITUDE_DEG: Final = 90.0
_TOUCHING: Final = 1e-9
"""Part of a tile by which a box may reach over an edge and count as ending there: rounding, not ground."""


@dataclass(frozen=True)
class Tile:
    """A tile of a data set.

    Attributes
    ----------
    words
        What stands in its name: ``lat``, ``lon`` without sign, ``NS``, ``EW``, ``row``, ``column``, ``ISO``.
    bounds
        Where it lies, in the reference system of the tiling; None where only its file knows.
    turn
        How far what its file says has to be moved east to lie in the box, 0 or a full turn.
    """

    words: Mapping[str, str | int] = field(hash=False)
    bounds: Box | None
    turn: float = 0.0


@dataclass(frozen=True)
class DegreeTiles:
    """Square tiles of whole degrees, named after a corner."""

    size_deg: int
    corner: Corner = "south-west"
    crs: str = LONLAT

    def tiles(self, box: Box) -> list[Tile]:
        """Return the tiles that a box meets, from the south-west."""
        size = self.size_deg
        west, south, east, north = box
        columns, rows = _range(west / size, east / size), _range(south / size, north / size)
        lowest, beyond = int(-_FARTHEST_LATITUDE_DEG // size), int(_FARTHEST_LATITUDE_DEG // size)
        found = product((row for row in rows if lowest <= row < beyond), columns)
        return _few([self._tile(row * size, column * size) for row, column in found])

    def _tile(self, south: int, west: int) -> Tile:
        size = self.size_deg
        here = (west + 180) % 360 - 180
        named = south + size if self.corner == "north-west" else south
        words: dict[str, str | int] = {
            "lat": abs(named), "lon": abs(here),
            "NS": "N" if named >= 0 else "S", "EW": "E" if here >= 0 else "W",
        }  # fmt: skip
        bounds = (float(west), float(south), float(west + size), float(south + size))
        return Tile(
            words | {"ns": str(words["NS"]).lower(), "ew": str(words["EW"]).lower()},
            bounds,
            float(west - here),
        )


@dataclass(frozen=True)
class RowTiles:
    """Square tiles counted by row and column, from 1, from the north-west corner of the world in a system."""

    crs: str
    west: float
    north: float
    size: float

    def tiles(self, box: Box) -> list[Tile]:
        """Return the tiles that a box of degrees meets, from the north-west."""
        west, south, east, north = self._projected(box)
        rows = _range((self.north - north) / self.size, (self.north - south) / self.size)
        columns = _range((west - self.west) / self.size, (east - self.west) / self.size)
        return _few([self._tile(row, column) for row in rows for column in columns])

    def _projected(self, box: Box) -> Box:
        """Return what a box covers in the system of the tiling: no rectangle there, so edges count too."""
        if self.crs == LONLAT:
            return box
        if box[2] > 180.0:
            raise RangeError(
                "east of the box", box[2], "180 or less", "take tiles in degrees for a box across 180°"
            )
        return projected(self.crs, box)

    def _tile(self, row: int, column: int) -> Tile:
        around = round(360.0 / self.size) if self.crs == LONLAT else 0
        turns = column // around if around else 0
        west, north = self.west + column * self.size, self.north - row * self.size
        words = {"row": row + 1, "column": column + 1 - turns * around}
        return Tile(words, (west, north - self.size, west + self.size, north), 360.0 * turns)


@dataclass(frozen=True)
class CountryTiles:
    """A file for each country; which countries a box lies in is for the user to say, by ISO 3166-1 codes."""

    countries: tuple[str, ...] = ()
    crs: str = LONLAT

    def tiles(self, box: Box) -> list[Tile]:
        """Return the files of the countries that were named."""
        del box
        if not self.countries:
            raise RangeError(
                "number of countries", 0, "1 or more", "name each by its ISO code: --country KEN"
            )
        return [Tile({"ISO": code.upper(), "iso": code.lower()}, None) for code in self.countries]


@dataclass(frozen=True)
class OneFile:
    """A single file for all of it."""

    crs: str = LONLAT

    def tiles(self, box: Box) -> list[Tile]:
        """Return the file."""
        del box
        return [Tile({}, None)]


Tiling = DegreeTiles | RowTiles | CountryTiles | OneFile


def projected(crs: str, box: Box) -> Box:
    """Return what a box of degrees covers in a system: no rectangle there, so all along its edges."""
    system = pyproj.CRS(crs)
    if system.is_geographic:
        return box
    west, south, east, north = box
    share = np.linspace(0.0, 1.0, _ALONG_AN_EDGE)
    across, up = west + share * (east - west), south + share * (north - south)
    lon = np.concatenate([across, across, np.full_like(up, west), np.full_like(up, east)])
    lat = np.concatenate([np.full_like(across, south), np.full_like(across, north), up, up])
    x, y = transformer(pyproj.CRS(LONLAT), system).transform(lon, lat)
    return float(np.min(x)), float(np.min(y)), float(np.max(x)), float(np.max(y))


def padded(box: Box, pad_deg: float) -> Box:
    """Return a box that reaches further on all sides, to the poles at most."""
    west, south, east, north = box
    farthest = _FARTHEST_LATITUDE_DEG
    return west - pad_deg, max(south - pad_deg, -farthest), east + pad_deg, min(north + pad_deg, farthest)


def checked_box(west: float, south: float, east: float, north: float) -> Box:
    """Return a box whose east passes 180 where it was written as lying west of its west.

    Raises
    ------
    RangeError
        No such place, no extent, or half the world.
    """
    for name, value, most in (
        ("west", west, 180.0),
        ("south", south, 90.0),
        ("east", east, 360.0),
        ("north", north, 90.0),
    ):
        if not -most <= value <= most:
            raise RangeError(f"{name} of the box", value, f"{-most:g} to {most:g} degrees", "write W,S,E,N")
    east = east + 360.0 if east < west else east
    if not (south < north and west < east):
        raise RangeError(
            "box", f"{west:g},{south:g},{east:g},{north:g}", "south below north, west before east"
        )
    if east - west > 180.0:
        raise RangeError("width of the box", f"{east - west:g}°", "half the way round the world at most")
    return west, south, east, north


def _range(first: float, last: float) -> range:
    """Return the whole numbers of the tiles between two places; one that is only touched is not met."""
    return range(
        math.floor(first + _TOUCHING), max(math.ceil(last - _TOUCHING), math.floor(first + _TOUCHING) + 1)
    )


def _few(tiles: list[Tile]) -> list[Tile]:
    if len(tiles) > MOST_TILES:
        raise RangeError("number of tiles", len(tiles), f"{MOST_TILES} at most", "ask for a smaller area")
    return tiles
