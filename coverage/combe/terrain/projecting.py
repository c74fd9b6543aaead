"""Turns longitude and latitude into a CRS and back, with one transformer per thread and pair."""

from __future__ import annotations

import threading
from typing import Final

import numpy as np
import numpy.typing as npt
import pyproj

from combe.decibels import FloatArray

LONLAT: Final = pyproj.CRS.from_epsg(4326)
"""WGS 84 longitude and latitude [degrees]; always used in this order."""

_local = threading.local()


def transformer(source: pyproj.CRS, target: pyproj.CRS) -> pyproj.Transformer:
    """Return a transformer in (x or longitude, y or latitude) order; cached, since making one is slow.

    PROJ objects may not be shared by threads, so each thread keeps its own.
    """
    known: dict[tuple[str, str], pyproj.Transformer] = _local.__dict__.setdefault("known", {})
    key = (source.srs, target.srs)
    if key not in known:
        known[key] = pyproj.Transformer.from_crs(source, target, always_xy=True)
    return known[key]


def is_lonlat(crs: pyproj.CRS) -> bool:
    """Tell whether the CRS is WGS 84 longitude and latitude, in whichever axis order."""
    return bool(crs.equals(LONLAT, ignore_axis_order=True))


def from_lonlat(
    crs: pyproj.CRS, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return x, y in ``crs`` of places [degrees], any shape; infinite where the CRS cannot show the place."""
    lon, lat = np.asarray(lon_deg, dtype=np.float64), np.asarray(lat_deg, dtype=np.float64)
    x, y = transformer(LONLAT, crs).transform(lon, lat)
    return np.asarray(x), np.asarray(y)


def to_lonlat(crs: pyproj.CRS, x: npt.ArrayLike, y: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return longitude and latitude [degrees] of places in ``crs``, any shape."""
    east, north = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    lon, lat = transformer(crs, LONLAT).transform(east, north)
    return np.asarray(lon), np.asarray(lat)
