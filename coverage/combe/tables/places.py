"""Places of a table in its own system, as longitude and latitude."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np
import pyproj

from combe.errors import TableError

_WGS_84: Final = pyproj.CRS.from_epsg(4326)
_WRITE: Final = 'write for example "EPSG:25832"'


def crs_named(path: Path | str, name: str) -> pyproj.CRS:
    """Return a system by its name; TableError where there is none, or it is none of a map."""
    try:
        crs = pyproj.CRS.from_user_input(name)
    except pyproj.exceptions.CRSError:
        raise TableError(path, f"crs {name!r} is unknown", _WRITE) from None
    if not (crs.is_projected or crs.is_geographic):
        raise TableError(path, f"crs {name!r} has no places on a map", _WRITE)
    return crs


def to_degrees(crs: pyproj.CRS, x: Sequence[float], y: Sequence[float]) -> tuple[list[float], list[float]]:
    """Return longitudes and latitudes [degrees, WGS 84]; infinite where the system has no such place."""
    to_wgs_84 = pyproj.Transformer.from_crs(crs, _WGS_84, always_xy=True)
    lon, lat = to_wgs_84.transform(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
    return np.asarray(lon).tolist(), np.asarray(lat).tolist()
