"""The path summary: the dozen numbers of a terrain profile from which diffraction losses are priced.

A loss model does not need the profile itself. An exact path makes its summary in one pass over the profile
(here); the area sweep makes the same summary step by step. Both are priced by the same kernels. Every number
here is free of frequency, so one summary prices all services of a station.

Symbols (P.526-16 §4.5, P.1812-8 §4.3 and Attachment 1): d path length [km]; di, hi distance [km] and height
[m] of an intermediate point; hts, hrs heights of the aerials above sea level [m]; c = 500/ae curvature
[m/km²]; Stim, Srim steepest slopes seen from the ends [m/km]; ν = X √(0.002/λ), X the geometric part kept.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel, kernel_part

FloatArray = npt.NDArray[np.float64]


class PathSummary(NamedTuple):
    """What delta-Bullington needs of a path (all heights in m, slopes in m/km, X in m·km^-1/2)."""

    distance_km: float
    tx_height_m: float
    """hts, transmitting aerial above sea level."""
    rx_height_m: float
    """hrs, receiving aerial above sea level."""
    tx_slope: float
    """Stim, steepest slope from the transmitter, Earth's curve included."""
    rx_slope: float
    """Srim, steepest slope from the receiver, Earth's curve included."""
    fresnel: float
    """X of the point of largest ν; −inf on paths beyond the horizon or without intermediate points."""
    tx_effective_m: float
    """Transmitting aerial over the smooth surface of the diffraction model."""
    rx_effective_m: float
    """Receiving aerial over the smooth surface of the diffraction model."""
    smooth_tx_slope: float
    """As ``tx_slope``, for the smooth profile."""
    smooth_rx_slope: float
    """As ``rx_slope``, for the smooth profile."""
    smooth_fresnel: float
    """As ``fresnel``, for the smooth profile."""


@kernel
def horizon_slopes(
    distance_km: FloatArray, height_m: FloatArray, tx_m: float, rx_m: float, curvature: float
) -> tuple[float, float]:
    """Return (Stim, Srim) [m/km] of the intermediate points, Earth's curve included (P.1812-8 eq. 14, 18).

    ``tx_m``, ``rx_m`` above sea level; −inf where there is no intermediate point.
    """
    d = distance_km[-1]
    tx_slope, rx_slope = -math.inf, -math.inf
    for i in range(1, distance_km.size - 1):
        x = distance_km[i]
        # The bulge is counted from the chord between the ends, so a slope compares with that of the chord,
        # (rx_m - tx_m)/d, and the ray stays straight.
        bulged_m = height_m[i] + curvature * x * (d - x)
        tx_slope = max(tx_slope, (bulged_m - tx_m) / x)
        rx_slope = max(rx_slope, (bulged_m - rx_m) / (d - x))
    return tx_slope, rx_slope


@kernel
def largest_fresnel(
    distance_km: FloatArray, height_m: FloatArray, tx_m: float, rx_m: float, curvature: float
) -> tuple[float, int]:
    """Return (X, index) of the intermediate point of largest ν (P.1812-8 eq. 16); (−inf, 0) if none.

    ν = X √(0.002/λ), X = (hi + c di (d − di) − (hts (d − di) + hrs di)/d) √(d / (di (d − di))).
    """
    d = distance_km[-1]
    best, where = -math.inf, 0
    for i in range(1, distance_km.size - 1):
        x = distance_km[i]
        y = d - x
        # √(d/(x y)) is the part of ν that does not hold the wavelength; so the point found is the same for
        # all services.
        over_m = height_m[i] + curvature * x * y - (tx_m * y + rx_m * x) / d
        value = over_m * math.sqrt(d / (x * y))
        if value > best:
            best, where = value, i
    return best, where


@kernel
def smooth_surface(distance_km: FloatArray, height_m: FloatArray) -> tuple[float, float]:
    """Return (hst, hsr) [m]: ends of the least-squares line through the profile (P.1812-8 Att. 1)."""
    v1, v2 = 0.0, 0.0
    for i in range(1, distance_km.size):
        x0, x1 = distance_km[i - 1], distance_km[i]
        h0, h1 = height_m[i - 1], height_m[i]
        # Over a straight piece these are exact: v1 adds up 2 ∫h dx and v2 6 ∫x h dx, whatever the spacing
        # of the points.
        v1 += (x1 - x0) * (h1 + h0)
        v2 += (x1 - x0) * (h1 * (2.0 * x1 + x0) + h0 * (x1 + 2.0 * x0))
    return smooth_ends(v1, v2, distance_km[-1])


@kernel_part
def smooth_ends(v1: float, v2: float, d: float) -> tuple[float, float]:
    """Return (hst, hsr) [m] from the two sums of the least-squares line over a path of ``d`` km."""
    # The line that leaves the least ∫(h - line)² dx has the ends 4/d ∫h - 6/d² ∫x h and 6/d² ∫x h - 2/d ∫h.
    return (2.0 * v1 * d - v2) / (d * d), (v2 - v1 * d) / (d * d)


@kernel
def obstruction(
    distance_km: FloatArray, height_m: FloatArray, tx_m: float, rx_m: float
) -> tuple[float, float, float]:
    """Return (hobs [m], αobt, αobr [m/km]): obstruction over the straight line, no curvature (Att. 1)."""
    d = distance_km[-1]
    highest, tx_angle, rx_angle = -math.inf, -math.inf, -math.inf
    for i in range(1, distance_km.size - 1):
        x = distance_km[i]
        over_m = height_m[i] - (tx_m * (d - x) + rx_m * x) / d
        highest = max(highest, over_m)
        tx_angle = max(tx_angle, over_m / x)
        rx_angle = max(rx_angle, over_m / (d - x))
    return highest, tx_angle, rx_angle


@kernel
def lowered_smooth_ends(
    tx_smooth_m: float,
    rx_smooth_m: float,
    tx_ground_m: float,
    rx_ground_m: float,
    obstruction_m: float,
    tx_angle: float,
    rx_angle: float,
) -> tuple[float, float]:
    """Return (hstd, hsrd) [m]: smooth ends let down by the obstruction, never above the ground (Att. 1)."""
    if obstruction_m > 0.0:
        # The steeper the obstruction is seen from an end, the nearer it is, and the more this end gives
        # way.
        # Both angles are above 0 here, for the highest point rises over the line seen from either end.
        share = tx_angle / (tx_angle + rx_angle)
        tx_smooth_m -= obstruction_m * share
        rx_smooth_m -= obstruction_m * (1.0 - share)
    # A surface above the ground would leave an aerial lower over it than it was built.
    return min(tx_smooth_m, tx_ground_m), min(rx_smooth_m, rx_ground_m)


@kernel
def smooth_profile(
    distance_km: FloatArray, tx_effective_m: float, rx_effective_m: float, curvature: float
) -> tuple[float, float, float]:
    """Return (Stim, Srim, X) of the same points on ground of height 0, for the second Bullington."""
    d = distance_km[-1]
    tx_slope, rx_slope, fresnel = -math.inf, -math.inf, -math.inf
    for i in range(1, distance_km.size - 1):
        x = distance_km[i]
        y = d - x
        # The points of the real profile, set to height 0: what wide spacing misses of the bulge it misses
        # in both losses, and their difference keeps clear of it.
        tx_slope = max(tx_slope, curvature * y - tx_effective_m / x)
        rx_slope = max(rx_slope, curvature * x - rx_effective_m / y)
        over_m = curvature * x * y - (tx_effective_m * y + rx_effective_m * x) / d
        fresnel = max(fresnel, over_m * math.sqrt(d / (x * y)))
    if tx_slope >= (rx_effective_m - tx_effective_m) / d:
        fresnel = -math.inf
    return tx_slope, rx_slope, fresnel


@kernel
def summarise(
    distance_km: FloatArray,
    height_m: FloatArray,
    tx_above_ground_m: float,
    rx_above_ground_m: float,
    curvature: float,
) -> PathSummary:
    """Return the summary of a profile in one pass.

    ``distance_km`` (n,) from the transmitter, ascending from 0; ``height_m`` (n,) above sea level;
    ``curvature`` 500/ae [m/km²] for an effective radius ae [km].
    """
    d = distance_km[-1]
    tx_m = height_m[0] + tx_above_ground_m
    rx_m = height_m[-1] + rx_above_ground_m
    tx_slope, rx_slope = horizon_slopes(distance_km, height_m, tx_m, rx_m, curvature)
    fresnel = -math.inf
    # Only in line of sight is the point of largest ν asked for; beyond the horizon the two slopes say all.
    if tx_slope < (rx_m - tx_m) / d:
        fresnel, _ = largest_fresnel(distance_km, height_m, tx_m, rx_m, curvature)
    tx_smooth, rx_smooth = smooth_surface(distance_km, height_m)
    highest, tx_angle, rx_angle = obstruction(distance_km, height_m, tx_m, rx_m)
    tx_smooth, rx_smooth = lowered_smooth_ends(
        tx_smooth, rx_smooth, height_m[0], height_m[-1], highest, tx_angle, rx_angle
    )
    smooth_tx, smooth_rx, smooth_fresnel = smooth_profile(
        distance_km, tx_m - tx_smooth, rx_m - rx_smooth, curvature
    )
    return PathSummary(
        d,
        tx_m,
        rx_m,
        tx_slope,
        rx_slope,
        fresnel,
        tx_m - tx_smooth,
        rx_m - rx_smooth,
        smooth_tx,
        smooth_rx,
        smooth_fresnel,
    )
