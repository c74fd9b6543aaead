"""Horizon distances and angles of a path: Recommendation ITU-R P.1812-8, Attachment 1 §4.

Symbols: hts hrs terminal heights above sea level, ae median effective radius, θt θr horizon elevation angles,
dlt dlr horizon distances. Angles are compared as slopes [m/km], and turned into mrad at the end, so that the
largest slope can be kept without arctangents. Ground cover does not count here.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel_part
from combe.propagation.summary import largest_fresnel

FloatArray = npt.NDArray[np.float64]


@kernel_part
def angle_mrad(slope_m_km: float) -> float:
    """Return the elevation angle [mrad] of a slope [m/km] (eq. 76: 1000 arctan)."""
    return 1000.0 * math.atan(slope_m_km / 1000.0)


@kernel_part
def sight_slope(rise_m: float, distance_km: float, radius_km: float) -> float:
    """Return the slope [m/km] at which a point ``rise_m`` above the eye is seen over the curved Earth."""
    # The ground falls away by d²/(2 ae) under the tangent; in m and km, 500 d²/ae.
    return rise_m / distance_km - 500.0 * distance_km / radius_km


@kernel_part
def _horizon_from_tx(
    distance: FloatArray, ground: FloatArray, tx_m: float, radius_km: float
) -> tuple[float, int]:
    """Return the largest sight slope from the transmitter and its index, the nearest of equals."""
    largest, where = -math.inf, 1
    for i in range(1, distance.shape[0] - 1):
        slope = sight_slope(ground[i] - tx_m, distance[i], radius_km)
        if slope > largest:
            largest, where = slope, i
    return largest, where


@kernel_part
def _horizon_from_rx(
    distance: FloatArray, ground: FloatArray, rx_m: float, radius_km: float
) -> tuple[float, int]:
    """Return the largest sight slope from the receiver and its index, the nearest of equals."""
    largest, where, total = -math.inf, 1, distance[-1]
    for i in range(distance.shape[0] - 2, 0, -1):
        slope = sight_slope(ground[i] - rx_m, total - distance[i], radius_km)
        if slope > largest:
            largest, where = slope, i
    return largest, where


@kernel_part
def horizons(
    distance: FloatArray, ground: FloatArray, tx_m: float, rx_m: float, radius_km: float
) -> tuple[float, float, int, int]:
    """Return the horizon slopes [m/km] at both ends and the indices of both horizons (eq. 76 to 81).

    On a line-of-sight path each end looks at the other, and both horizons are the point of the largest ν.
    """
    total = distance[-1]
    to_rx = sight_slope(rx_m - tx_m, total, radius_km)
    # Beyond the horizon each end looks at its own highest point; if one end does not see the other, the
    # other does not see it either.
    tx_slope, tx_index = _horizon_from_tx(distance, ground, tx_m, radius_km)
    if tx_slope > to_rx:
        rx_slope, rx_index = _horizon_from_rx(distance, ground, rx_m, radius_km)
        return tx_slope, rx_slope, tx_index, rx_index
    # One point is both horizons: dlt and dlr add up to d, and focusing and ducts have their distances here
    # too.
    _, middle = largest_fresnel(distance, ground, tx_m, rx_m, 500.0 / radius_km)
    return to_rx, sight_slope(tx_m - rx_m, total, radius_km), middle, middle
