"""Places at which a field is asked for: points of a layer, and places along its lines and outlines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final, NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.geodesy import ellipsoid
from combe.terrain.features import Feature, Features
from combe.terrain.projecting import to_lonlat

MOST_PLACES: Final = 10_000
"""Places that one question may have; each is an exact path from every station."""

LONGEST_PLACE_NAME: Final = 60
_SPACING_KM: Final = (0.01, 100.0)
_SAME_M: Final = 0.01


class PlaceAlong(NamedTuple):
    """A place: the feature it is of, and how far along its line [km]; None for a point of its own."""

    name: str
    longitude_deg: float
    latitude_deg: float
    along_km: float | None = None

    @property
    def words(self) -> str:
        """What it is called: the feature, and where along it."""
        return self.name if self.along_km is None else f"{self.name}, {self.along_km:.1f} km"


def places_along(features: Features, spacing_km: float, called: str = "place") -> tuple[PlaceAlong, ...]:
    """Return the points of a layer, and places along its lines and the outlines of its polygons.

    Parameters
    ----------
    features
        Points, lines and polygons, also many in one; in any reference system.
    spacing_km
        From one place of a line to the next, along its geodesics [km], 0.01 to 100. A line begins and ends
        with a place; a ring ends where it began.
    called
        What a feature without a ``name`` is called; its number is added where there are several.

    Raises
    ------
    RangeError
        A spacing out of range, or more places than are allowed.
    """
    require_range("spacing_km", spacing_km, *_SPACING_KM)
    found: list[PlaceAlong] = []
    for number, feature in enumerate(features.features, start=1):
        name = _name_of(feature) or (f"{called} {number}" if len(features.features) > 1 else called)
        for place in _places_of(feature.geometry, features.crs, name, 1000.0 * spacing_km):
            found.append(place)
            if len(found) > MOST_PLACES:
                advice = "take a larger spacing_km, or fewer points"
                raise RangeError("number of places", f"over {MOST_PLACES}", f"to {MOST_PLACES}", advice)
    return tuple(found)


def _name_of(feature: Feature) -> str:
    """Return the name that a feature has in its file, as far as it can stand in a table."""
    given = feature.properties.get("name")
    shown = " ".join("".join(each if each.isprintable() else " " for each in str(given)).split())
    return shown[:LONGEST_PLACE_NAME] if isinstance(given, str) else ""


def _places_of(shape: BaseGeometry, crs: Any, name: str, spacing_m: float) -> Iterator[PlaceAlong]:
    if shape.geom_type == "Point":
        lon, lat = _lonlat(shape, crs)
        yield PlaceAlong(name, float(lon[0]), float(lat[0]))
    elif shape.geom_type in ("LineString", "LinearRing"):
        yield from _along(*_lonlat(shape, crs), name, spacing_m)
    elif shape.geom_type == "Polygon":
        for ring in (shape.exterior, *shape.interiors):  # type: ignore[attr-defined]
            yield from _along(*_lonlat(ring, crs), name, spacing_m)
    else:
        for part in shape.geoms:  # type: ignore[attr-defined]
            yield from _places_of(part, crs, name, spacing_m)


def _lonlat(shape: BaseGeometry, crs: Any) -> tuple[FloatArray, FloatArray]:
    corners = shapely.get_coordinates(shape)
    lon, lat = to_lonlat(crs, corners[:, 0], corners[:, 1])
    if not (np.isfinite(lon).all() and np.isfinite(lat).all()):
        raise RangeError("corner of a line", "nowhere on Earth", "a place in its own reference system")
    return lon, lat


def _along(lon: FloatArray, lat: FloatArray, name: str, spacing_m: float) -> Iterator[PlaceAlong]:
    """Yield the places of one line: at 0, at each whole spacing, and at its end unless that is its start."""
    azimuth, _, length_m = ellipsoid().inv(lon[:-1], lat[:-1], lon[1:], lat[1:])
    ends_m = np.concatenate(([0.0], np.cumsum(length_m)))
    whole_m = float(ends_m[-1])
    wanted = (float(each) for each in np.arange(0.0, whole_m, spacing_m))
    closed = lon[0] == lon[-1] and lat[0] == lat[-1]
    for at_m in _with_end(wanted, whole_m, closed=bool(closed)):
        leg = min(int(np.searchsorted(ends_m, at_m, side="right")) - 1, length_m.size - 1)
        there = ellipsoid().fwd(lon[leg], lat[leg], azimuth[leg], at_m - ends_m[leg])
        yield PlaceAlong(name, float(there[0]), float(there[1]), at_m / 1000.0)


def _with_end(wanted_m: Iterable[float], whole_m: float, *, closed: bool) -> Iterator[float]:
    last_m = 0.0
    for last_m in wanted_m:
        yield last_m
    if not closed and whole_m - last_m > _SAME_M:
        yield whole_m
