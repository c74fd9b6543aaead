"""The geometry of the Bullington construction, free of the frequency: P.1812-8 §4.3.1, eq. (12) to (20).

A path is one equivalent knife edge. Its Fresnel parameter is ν = χ √(0.002/λ), where χ [m/√km] depends on the
ground alone; so one χ serves every frequency. Symbols: htc hrc terminal heights, Stim steepest slope [m/km]
from the transmitter, Srim the same from the receiver, Str slope of the straight line, dbp place of the
equivalent edge, a effective radius, Ce = 1/a, χ geometric part of ν.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel

FloatArray = npt.NDArray[np.float64]


@kernel
def edge_geometry(height_m: float, near_km: float, distance_km: float) -> float:
    """Return χ of an edge ``height_m`` above the line, ``near_km`` along a path (in eq. 15, 19)."""
    return height_m * math.sqrt(distance_km / (near_km * (distance_km - near_km)))


@kernel
def meeting_geometry(distance_km: float, tx_m: float, rx_m: float, tx_slope: float, rx_slope: float) -> float:
    """Return χ of the edge where the steepest slopes from both ends meet (eq. 18 and 19)."""
    near_km = (rx_m - tx_m + rx_slope * distance_km) / (tx_slope + rx_slope)
    line_m = (tx_m * (distance_km - near_km) + rx_m * near_km) / distance_km
    return edge_geometry(tx_m + tx_slope * near_km - line_m, near_km, distance_km)


@kernel
def steepest_from_tx(distance: FloatArray, height: FloatArray, tx_m: float, radius_km: float) -> float:
    """Return Stim [m/km] over the interior points (eq. 12)."""
    steepest, total = -math.inf, distance[-1]
    for i in range(1, distance.shape[0] - 1):
        x = distance[i]
        rise = height[i] + 500.0 * x * (total - x) / radius_km - tx_m
        steepest = max(steepest, rise / x)
    return steepest


@kernel
def steepest_from_rx(distance: FloatArray, height: FloatArray, rx_m: float, radius_km: float) -> float:
    """Return Srim [m/km] over the interior points (eq. 17)."""
    steepest, total = -math.inf, distance[-1]
    for i in range(1, distance.shape[0] - 1):
        x = distance[i]
        rise = height[i] + 500.0 * x * (total - x) / radius_km - rx_m
        steepest = max(steepest, rise / (total - x))
    return steepest


@kernel
def clearest_geometry(
    distance: FloatArray,
    height: FloatArray,
    tx_m: float,
    rx_m: float,
    radius_km: float,
) -> tuple[float, int]:
    """Return the largest χ over the interior points and the index of that point (eq. 15)."""
    largest, where, total = -math.inf, 1, distance[-1]
    for i in range(1, distance.shape[0] - 1):
        x = distance[i]
        line_m = (tx_m * (total - x) + rx_m * x) / total
        over = height[i] + 500.0 * x * (total - x) / radius_km - line_m
        geometry = edge_geometry(over, x, total)
        if geometry > largest:
            largest, where = geometry, i
    return largest, where


@kernel
def path_geometry(
    distance: FloatArray,
    height: FloatArray,
    tx_m: float,
    rx_m: float,
    radius_km: float,
) -> float:
    """Return χ [m/√km] of a profile for one effective radius (eq. 12 to 19).

    ``height`` is ground with its cover added at interior points, or nought for the smooth profile.
    """
    total = distance[-1]
    tx_slope = steepest_from_tx(distance, height, tx_m, radius_km)
    if tx_slope < (rx_m - tx_m) / total:
        return clearest_geometry(distance, height, tx_m, rx_m, radius_km)[0]
    rx_slope = steepest_from_rx(distance, height, rx_m, radius_km)
    return meeting_geometry(total, tx_m, rx_m, tx_slope, rx_slope)
