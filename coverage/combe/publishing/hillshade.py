"""Shades a terrain as if lit from several sides, for the base of a map."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

_LIGHTS: Final = ((315.0, 0.50), (270.0, 0.18), (0.0, 0.18), (225.0, 0.14))
"""Azimuth of each light [degrees from grid north] and its share; north-west leads, as map readers expect."""

_ALTITUDE_DEG: Final = 42.0


def hillshade(
    heights_m: npt.NDArray[np.floating], cell_size_m: float, *, exaggeration: float = 1.6
) -> npt.NDArray[np.uint8]:
    """Return the shading of a terrain: 1 (dark) to 255 (bright), 0 where the height is not known.

    Parameters
    ----------
    heights_m
        Heights [m], shape (rows, columns), row 0 north, NaN for voids.
    cell_size_m
        Side of a cell [m].
    exaggeration
        Factor on the slopes.

    Notes
    -----
    Lambert's cosine law on the central-difference slope, a weighted mean of four lights (our own choice).
    """
    heights = np.asarray(heights_m, dtype=np.float64)
    known = np.isfinite(heights)
    if not known.any():
        return np.zeros(heights.shape, dtype=np.uint8)
    east, north = _slopes(np.where(known, heights, heights[known].mean()), cell_size_m)
    light = _light(east * exaggeration, north * exaggeration)
    return np.where(known, 1 + np.round(254 * np.clip(light, 0.0, 1.0)), 0).astype(np.uint8)


def _slopes(heights_m: FloatArray, cell_size_m: float) -> tuple[FloatArray, FloatArray]:
    """Return the rise per metre towards the east and towards the north."""
    padded = np.pad(heights_m, 1, mode="edge")
    east = (padded[1:-1, 2:] - padded[1:-1, :-2]) / (2 * cell_size_m)
    north = (padded[:-2, 1:-1] - padded[2:, 1:-1]) / (2 * cell_size_m)
    return east, north


def _light(east: FloatArray, north: FloatArray) -> FloatArray:
    """Return the light, 0 to 1, on a surface of the given slopes."""
    low, high = np.cos(np.radians(_ALTITUDE_DEG)), np.sin(np.radians(_ALTITUDE_DEG))
    length = np.sqrt(1.0 + east**2 + north**2)
    total = np.zeros_like(east)
    for azimuth_deg, share in _LIGHTS:
        towards_east, towards_north = np.sin(np.radians(azimuth_deg)), np.cos(np.radians(azimuth_deg))
        facing = high - low * (towards_east * east + towards_north * north)
        total += share * np.clip(facing / length, 0.0, 1.0)
    return total
