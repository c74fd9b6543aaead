"""The digital maps of Recommendation ITU-R P.2001-4 as arrays: their forms, and the climate of a place.

The maps themselves may not be passed on, and none is here; who has them gives them as arrays. Their form was
read in a written-out copy of the public code of Working Party 3M, not in the maps:

- the first row is the northernmost, and rows go south;
- bilinear maps begin at latitude +90 and longitude 0 and go east to 360, the same meridian again;
- TropoClim begins at latitude +89.75 and longitude −179.75, and the nearest of its points counts, the
  northern and the western of two as near.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError, require_range
from combe.propagation.p2001.climate import Climate

FloatArray = npt.NDArray[np.float64]

ZONE_MAP: Final = "troposcatter_climate"
"""The map of whole numbers, of which the nearest point counts."""

RAIN_MAPS: Final = ("rain_six_hours_percent", "rain_mm_per_year", "convective_rain_share")
"""The maps that may be left out, all three together."""


class MapForm(NamedTuple):
    """How many rows and columns a map has, and how far apart they are [degrees]."""

    rows: int
    columns: int
    step_deg: float


def _form(name: str) -> MapForm:
    if name == ZONE_MAP:
        return MapForm(360, 720, 0.5)
    return MapForm(161, 321, 1.125) if name in RAIN_MAPS else MapForm(121, 241, 1.5)


MAP_FORMS: Final = MappingProxyType({each.name: _form(each.name) for each in fields(Climate)})
"""Forms of the maps by the number of :class:`Climate` that they tell."""


@dataclass(frozen=True, eq=False)
class DigitalMaps:
    """The maps of P.2001-4, of which a climate is read at a place.

    Parameters
    ----------
    values
        A map for each number of :class:`Climate` by its name, each of the shape that :data:`MAP_FORMS` says
        and in the unit of that number. The three of rain may be left out; one or two of them do not count.

    Raises
    ------
    RangeError
        For a map that is missing or unknown, has another shape, or holds what cannot be.
    """

    values: Mapping[str, FloatArray]

    def __post_init__(self) -> None:
        """Check the maps, and keep copies that cannot be changed."""
        for name in MAP_FORMS:
            if name not in self.values and name not in RAIN_MAPS:
                raise RangeError("maps", f"given without {name}", ", ".join(MAP_FORMS))
        kept = {}
        for name, given in self.values.items():
            if name not in MAP_FORMS:
                raise RangeError("name of a map", repr(name), ", ".join(MAP_FORMS))
            values = np.array(given, dtype=np.float64)
            check_map(name, values)
            values.flags.writeable = False
            kept[name] = values
        object.__setattr__(self, "values", MappingProxyType(kept))

    @property
    def rain_known(self) -> bool:
        """Whether the three maps of rain are there."""
        return all(name in self.values for name in RAIN_MAPS)

    def at(self, longitude_deg: float, latitude_deg: float) -> Climate:
        """Return the climate of a place.

        Parameters
        ----------
        longitude_deg, latitude_deg
            Place [degrees], east and north positive; -180 to 360 and -90 to 90.

        Raises
        ------
        RangeError
            For no place on Earth, or a number that no climate can have there.
        """
        require_range("longitude_deg", longitude_deg, -180.0, 360.0)
        require_range("latitude_deg", latitude_deg, -90.0, 90.0)
        read = [name for name in MAP_FORMS if name not in RAIN_MAPS or self.rain_known]
        numbers = {name: self._read(name, longitude_deg, latitude_deg) for name in read if name != ZONE_MAP}
        zone = int(nearest_value(self.values[ZONE_MAP], longitude_deg, latitude_deg))
        return Climate(**numbers, troposcatter_climate=zone)

    def _read(self, name: str, longitude_deg: float, latitude_deg: float) -> float:
        return bilinear_value(self.values[name], MAP_FORMS[name].step_deg, longitude_deg, latitude_deg)


def check_map(name: str, values: FloatArray) -> None:
    """Raise RangeError where a map has not its shape, or holds what is no number, or no zone."""
    form = MAP_FORMS[name]
    if values.shape != (form.rows, form.columns):
        given = " x ".join(str(size) for size in values.shape)
        raise RangeError(f"shape of the map {name}", given, f"{form.rows} x {form.columns}")
    wrong, allowed = ~np.isfinite(values), "finite numbers"
    if name == ZONE_MAP:
        wrong, allowed = ~np.isin(values, range(7)), "0 (sea), 1, 2, 3, 4, 5 or 6"
    if wrong.any():
        row, column = (int(at[0]) for at in np.nonzero(wrong))
        where = f"{values[row, column]:g} in row {row + 1}, column {column + 1}"
        raise RangeError(f"map {name}", where, allowed)


def bilinear_value(values: FloatArray, step_deg: float, longitude_deg: float, latitude_deg: float) -> float:
    """Return the value of a place between the four points of a map around it.

    At the south pole and at longitude 360 the next row or column would lie beyond the map; it has no weight
    there, and any may stand for it.
    """
    y, x = (90.0 - latitude_deg) / step_deg, (longitude_deg % 360.0) / step_deg
    row, column = math.trunc(y), math.trunc(x)
    down, right = y - row, x - column
    below, beside = (row + 1) % values.shape[0], (column + 1) % values.shape[1]
    north = values[row, column] + right * (values[row, beside] - values[row, column])
    south = values[below, column] + right * (values[below, beside] - values[below, column])
    return float(north + down * (south - north))


def nearest_value(values: FloatArray, longitude_deg: float, latitude_deg: float) -> float:
    """Return the value of the point of TropoClim that is nearest to a place."""
    form = MAP_FORMS[ZONE_MAP]
    east_deg = longitude_deg - 360.0 if longitude_deg > 180.0 else longitude_deg
    half = 0.5 * form.step_deg
    row = _nearest((90.0 - half - latitude_deg) / form.step_deg, form.rows)
    column = _nearest((east_deg + 180.0 - half) / form.step_deg, form.columns)
    return float(values[row, column])


def _nearest(place: float, count: int) -> int:
    """Return the nearest whole number from 0 to below ``count``, the lower of two as near."""
    return min(max(math.ceil(place - 0.5), 0), count - 1)
