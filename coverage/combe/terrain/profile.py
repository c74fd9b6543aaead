"""Draws the terrain profile along the geodesic between two places."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.geodesy import distance_km, geodesic_points
from combe.terrain.sampling import gap_error, sample_heights
from combe.terrain.tiles import Terrain

MOST_SAMPLES: Final = 1_000_000


@dataclass(frozen=True)
class TerrainProfile:
    """Equally spaced terrain heights from place 1 to place 2, all of shape (n,), both ends included."""

    distance_km: FloatArray
    height_m: FloatArray
    lon_deg: FloatArray
    lat_deg: FloatArray

    def __post_init__(self) -> None:
        shapes = {a.shape for a in (self.distance_km, self.height_m, self.lon_deg, self.lat_deg)}
        if len(shapes) != 1 or self.distance_km.ndim != 1 or self.distance_km.size < 2:
            raise RangeError("arrays of a terrain profile", sorted(shapes), "one shape (n,), n >= 2")


def geodesic_profile(
    terrain: Terrain,
    lon1_deg: float,
    lat1_deg: float,
    lon2_deg: float,
    lat2_deg: float,
    *,
    step_m: float | None = None,
) -> TerrainProfile:
    """Return the profile along the geodesic from place 1 to place 2 [degrees, WGS 84].

    Parameters
    ----------
    step_m
        Longest spacing [m]; the terrain's cell size unless given, and never more than that.

    Raises
    ------
    TerrainGapError
        A void or no tile on the way; it names the tile, the place and the kilometre.
    RangeError
        Both places are one, a step of 0 or less, or more than a million samples.
    """
    count = _count(1000.0 * distance_km(lon1_deg, lat1_deg, lon2_deg, lat2_deg), terrain.cell_size_m, step_m)
    lon, lat, along_km = geodesic_points(lon1_deg, lat1_deg, lon2_deg, lat2_deg, count)
    height = sample_heights(terrain, lon, lat)
    gaps = np.flatnonzero(np.isnan(height))
    if gaps.size:
        first = int(gaps[0])
        what = f"{along_km[first]:.3f} km from the start of the path"
        raise gap_error(terrain, float(lon[first]), float(lat[first]), what)
    return TerrainProfile(along_km, height, lon, lat)


def _count(length_m: float, cell_size_m: float, step_m: float | None) -> int:
    """Return the number of samples, both ends included."""
    if step_m is not None and not step_m > 0.0:
        raise RangeError("step_m", step_m, "more than 0")
    if not length_m > 0.0:
        raise RangeError("length of the path", f"{length_m} m", "more than 0", "the ends are two places")
    step = cell_size_m if step_m is None else min(step_m, cell_size_m)
    count = math.ceil(length_m / step) + 1
    if count > MOST_SAMPLES:
        raise RangeError("samples of a profile", count, f"up to {MOST_SAMPLES}", "take a longer step")
    return count
