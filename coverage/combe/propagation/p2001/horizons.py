"""Horizons of a path for the median Earth: Recommendation ITU-R P.2001-4 §3.7.

Symbols: hts hrs aerials above sea level, ae median effective radius, θi elevation of a profile point, θtim
θrim their largest, θtr elevation of the other end, ν diffraction parameter, dlt dlr θt θr horizons.

Three things are as the Recommendation's own code has them, because they decide which point is *the* horizon
on even ground and over the sea, where many are equal: slopes in mrad without an arctangent; the last point
wins where several are equal, from both ends; and ν is worked out with its factor of wavelength and in the
written order, since rounding tells two mirror points apart. P.1812 chooses otherwise in all three.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import also_in_kernels, kernel
from combe.propagation.p2001.conditions import Conditions

FloatArray = npt.NDArray[np.float64]


class Horizons(NamedTuple):
    """Where each end sees its horizon; on a line-of-sight path both see the point of largest ν."""

    line_of_sight: bool
    tx_index: int
    rx_index: int
    tx_km: float
    rx_km: float
    tx_mrad: float
    rx_mrad: float


@kernel
def _last_steepest(
    distance: FloatArray, ground: FloatArray, eye_km: float, eye_m: float, radius_km: float
) -> tuple[float, int]:
    """Return slope [mrad] and index of the steepest point between as an end sees it, the last of equals."""
    steepest, where = -math.inf, 0
    for i in range(1, distance.size - 1):
        away = abs(distance[i] - eye_km)
        slope = (ground[i] - eye_m) / away - 500.0 * away / radius_km  # (3.7.1, 3.7.8)
        if slope >= steepest:
            steepest, where = slope, i
    return steepest, where


@kernel
def _last_nearest(
    distance: FloatArray, ground: FloatArray, tx_m: float, rx_m: float, radius_km: float, wavelength_m: float
) -> int:
    """Return the index of the intermediate point of largest ν, the last of equals (3.7.3)."""
    largest, where, total = -math.inf, 0, distance[-1]
    for i in range(1, distance.size - 1):
        x = distance[i]
        y = total - x
        over_m = ground[i] + 500.0 * x * y / radius_km - (tx_m * y + rx_m * x) / total
        nu = over_m * math.sqrt(0.002 * total / (wavelength_m * x * y))
        if nu >= largest:
            largest, where = nu, i
    return where


@also_in_kernels
def horizons(
    distance: FloatArray, ground: FloatArray, tx_m: float, rx_m: float, conditions: Conditions
) -> Horizons:
    """Return the horizons of a profile; ``tx_m`` and ``rx_m`` above sea level (3.7.1 to 3.7.10)."""
    total, radius_km = float(distance[-1]), conditions.median_radius_km
    tx_mrad, tx_at = _last_steepest(distance, ground, 0.0, tx_m, radius_km)
    to_rx = (rx_m - tx_m) / total - 500.0 * total / radius_km  # (3.7.2)
    if tx_mrad < to_rx:
        at = _last_nearest(distance, ground, tx_m, rx_m, radius_km, conditions.wavelength_m)
        near = float(distance[at])
        return Horizons(True, at, at, near, total - near, to_rx, -to_rx - 1000.0 * total / radius_km)
    rx_mrad, rx_at = _last_steepest(distance, ground, total, rx_m, radius_km)
    return Horizons(
        line_of_sight=False,
        tx_index=tx_at,
        rx_index=rx_at,
        tx_km=float(distance[tx_at]),
        rx_km=total - float(distance[rx_at]),
        tx_mrad=tx_mrad,
        rx_mrad=rx_mrad,
    )


@also_in_kernels
def least_angle_rad(horizon_mrad: float) -> float:
    """Return θtpos or θrpos [rad], the horizon's elevation if it is above the level (3.7.11)."""
    return 1e-3 * max(horizon_mrad, 0.0)


@also_in_kernels
def angular_distance_rad(distance_km: float, conditions: Conditions) -> float:
    """Return θe [rad], the path as an angle at the centre of the median Earth (3.5.4)."""
    return distance_km / conditions.median_radius_km
