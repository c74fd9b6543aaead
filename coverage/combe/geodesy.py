"""Distances, bearings and places on the WGS 84 ellipsoid (pyproj.Geod; Karney's geodesic)."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt
import pyproj

FloatArray = npt.NDArray[np.float64]


@cache
def ellipsoid() -> pyproj.Geod:
    """Return the WGS 84 ellipsoid."""
    return pyproj.Geod(ellps="WGS84")


def turned(lon_deg: npt.ArrayLike, near_deg: float = 0.0, turn: float = 360.0) -> FloatArray:
    """Return longitudes by whole turns nearest to ``near_deg``; those that are so already are unchanged.

    Near 0 these are -180 to 180. ``turn`` is a full turn in the unit of all three. What is not finite is NaN.
    """
    lon = np.asarray(lon_deg, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        near: FloatArray = lon - turn * np.round((lon - near_deg) / turn)
    return near


def distance_km(lon1_deg: float, lat1_deg: float, lon2_deg: float, lat2_deg: float) -> float:
    """Return the geodesic distance [km] between two places [degrees]."""
    return float(ellipsoid().inv(lon1_deg, lat1_deg, lon2_deg, lat2_deg)[2]) / 1000.0


def bearing_deg(lon1_deg: float, lat1_deg: float, lon2_deg: float, lat2_deg: float) -> float:
    """Return the bearing [degrees clockwise from true north, 0 to under 360] at place 1 towards place 2."""
    bearing = float(ellipsoid().inv(lon1_deg, lat1_deg, lon2_deg, lat2_deg)[0]) % 360.0
    return 0.0 if bearing == 360.0 else bearing


def geodesic_points(
    lon1_deg: float, lat1_deg: float, lon2_deg: float, lat2_deg: float, count: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return ``count`` equally spaced places of a geodesic, both ends included.

    Returns
    -------
    lon_deg, lat_deg, distance_km
        Arrays of shape (count,), the distance counted from place 1.
    """
    azimuth, _, length_m = ellipsoid().inv(lon1_deg, lat1_deg, lon2_deg, lat2_deg)
    along_m = np.linspace(0.0, length_m, count)
    lon, lat, _ = ellipsoid().fwd(
        np.full(count, lon1_deg), np.full(count, lat1_deg), np.full(count, azimuth), along_m
    )
    lon, lat = np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)
    lon[0], lat[0], lon[-1], lat[-1] = lon1_deg, lat1_deg, lon2_deg, lat2_deg
    return lon, lat, along_m / 1000.0
