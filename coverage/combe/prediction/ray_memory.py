"""What a ray remembers of the ground it has passed, and the answers drawn from it without looking back.

The memory is a tuple of arrays allocated once for many rays, and a few running numbers. Samples lie at
multiples of one step along the ray. The answers are those of :mod:`combe.propagation.summary` on them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.prediction.hull import farthest_along

FloatArray = npt.NDArray[np.float64]

FINE_BLOCK = 8
COARSE_BLOCK = 64
# Samples in a block whose highest point is kept, so that whole blocks can be passed over.

NEWTON_STEPS = 3


class CurvedGround(NamedTuple):
    """Samples of a ray with the Earth's curve taken off: y = h − c·x², with block maxima."""

    y: FloatArray
    fine: FloatArray
    coarse: FloatArray


@kernel
def new_curved_ground(samples: int) -> CurvedGround:
    """Allocate the memory for rays of at most ``samples`` samples."""
    return CurvedGround(
        np.empty(samples + 1),
        np.empty(samples // FINE_BLOCK + 2),
        np.empty(samples // COARSE_BLOCK + 2),
    )


@inner_kernel
def remember(ground: CurvedGround, j: int, y: float) -> None:
    """Keep sample ``j`` (counted from 1) and raise the maxima of its blocks."""
    ground.y[j] = y
    fine, coarse = j // FINE_BLOCK, j // COARSE_BLOCK
    if j % FINE_BLOCK == 0 or j == 1 or ground.fine[fine] < y:
        ground.fine[fine] = y
    if j % COARSE_BLOCK == 0 or j == 1 or ground.coarse[coarse] < y:
        ground.coarse[coarse] = y


@inner_kernel
def _cannot_beat(
    best: float, top: float, tilt: float, tx_m: float, first_km: float, last_km: float, d: float
) -> bool:
    """Tell whether no sample between two distances can have a larger X than ``best``.

    ``top`` is the largest y there. All X are negative in line of sight: X = over · w, w = √(d/(x(d − x))) ≥
    the w of the place nearest mid-path. Squares are compared, so no root is taken.
    """
    over_m = top - tx_m + max(tilt * first_km, tilt * last_km)
    if not (over_m < 0.0 and best < 0.0):
        return False
    middle = min(max(0.5 * d, first_km), last_km)
    return over_m * over_m * d >= best * best * middle * (d - middle)


@inner_kernel
def largest_fresnel_remembered(
    ground: CurvedGround,
    hull_x: FloatArray,
    hull_y: FloatArray,
    hull_count: int,
    samples: int,
    step_km: float,
    d: float,
    tx_m: float,
    rx_m: float,
    curvature: float,
    floor: float,
) -> tuple[float, int]:
    """Return (X, sample) of the largest ν on a line-of-sight path; (−inf, 0) if X is not above ``floor``.

    Exact: blocks are skipped only where a bound shows that they cannot hold a larger X. The first guess is
    the hull point that comes nearest to the line between the aerials.
    """
    tilt = curvature * d - (rx_m - tx_m) / d
    nearest = farthest_along(hull_x, hull_y, hull_count, tilt)
    over_m = hull_y[nearest] + tilt * hull_x[nearest] - tx_m
    if over_m < 0.0 and over_m * 2.0 <= floor * math.sqrt(d):
        return -math.inf, 0
    where = math.floor(hull_x[nearest] / step_km + 0.5)
    x = where * step_km
    best = (ground.y[where] + tilt * x - tx_m) * math.sqrt(d / (x * (d - x)))
    if best < floor:
        best, where = floor, 0
    for block in range(samples // COARSE_BLOCK + 1):
        start, stop = max(block * COARSE_BLOCK, 1), min((block + 1) * COARSE_BLOCK - 1, samples)
        if stop >= start and not _cannot_beat(
            best, ground.coarse[block], tilt, tx_m, start * step_km, stop * step_km, d
        ):
            best, where = _search_block(ground, start, stop, step_km, d, tilt, tx_m, best, where)
    return (best, where) if where > 0 else (-math.inf, 0)


@inner_kernel
def _search_block(
    ground: CurvedGround,
    start: int,
    stop: int,
    step_km: float,
    d: float,
    tilt: float,
    tx_m: float,
    best: float,
    where: int,
) -> tuple[float, int]:
    """Return the larger of (best, where) and the largest X, with its sample, of samples start to stop."""
    for fine in range(start // FINE_BLOCK, stop // FINE_BLOCK + 1):
        first, last = max(fine * FINE_BLOCK, start), min((fine + 1) * FINE_BLOCK - 1, stop)
        if _cannot_beat(best, ground.fine[fine], tilt, tx_m, first * step_km, last * step_km, d):
            continue
        for j in range(first, last + 1):
            x = j * step_km
            over_m = ground.y[j] + tilt * x - tx_m
            weight2 = d / (x * (d - x))
            if over_m * over_m * weight2 < best * best or over_m > 0.0 or best > 0.0:
                value = over_m * math.sqrt(weight2)
                if value > best:
                    best, where = value, j
    return best, where


@inner_kernel
def smooth_profile_stepped(
    samples: int,
    step_km: float,
    d: float,
    tx_effective_m: float,
    rx_effective_m: float,
    curvature: float,
    floor: float,
) -> tuple[float, float, float]:
    """Return (Stim, Srim, X) of the smooth profile at the ray's samples; X is −inf if not above ``floor``.

    Each rises and then falls with the place, so the best sample is next to the best place. For X that place
    is near the one positive root of a cubic (one by Descartes' rule, so X has one peak).
    """
    if samples < 1:
        return -math.inf, -math.inf, -math.inf
    tx_slope, rx_slope = -math.inf, -math.inf
    best_km = min(math.sqrt(tx_effective_m / curvature), d) if curvature > 0.0 else d
    j = min(max(int(best_km / step_km), 1), samples)
    for k in range(j, min(j + 1, samples) + 1):
        x = k * step_km
        tx_slope = max(tx_slope, curvature * (d - x) - tx_effective_m / x)
    best_km = max(d - math.sqrt(rx_effective_m / curvature), 0.0) if curvature > 0.0 else 0.0
    j = min(max(int(best_km / step_km), 1), samples)
    for k in range(j, min(j + 1, samples) + 1):
        x = k * step_km
        rx_slope = max(rx_slope, curvature * x - rx_effective_m / (d - x))
    fresnel = -math.inf
    if tx_slope < (rx_effective_m - tx_effective_m) / d:
        fresnel = _smooth_fresnel(samples, step_km, d, tx_effective_m, rx_effective_m, curvature, floor)
    return tx_slope, rx_slope, fresnel


@inner_kernel
def _smooth_fresnel(
    samples: int, step_km: float, d: float, tx_m: float, rx_m: float, curvature: float, floor: float
) -> float:
    """Return the largest X of the smooth profile, −inf where a bound shows that it is not above ``floor``.

    With w = x/(d − x), X peaks where c·d²·w(1 − w) + (ht − hr·w)(1 + w)² = 0. Newton's method comes near that
    place; from there the samples are climbed to the top, so the answer is exact whatever Newton did.
    """
    root = math.sqrt(d)
    if 0.5 * curvature * d * root - 2.0 * min(tx_m, rx_m) / root <= floor:
        return -math.inf
    a_term = curvature * d * d
    w = tx_m / rx_m
    for _ in range(NEWTON_STEPS):
        w1 = 1.0 + w
        value = a_term * w * (1.0 - w) + (tx_m - rx_m * w) * w1 * w1
        slope = a_term * (1.0 - 2.0 * w) + (2.0 * (tx_m - rx_m * w) - rx_m * w1) * w1
        w = max(w - value / slope, 0.25 * w)
    j = min(max(int(d * w / (1.0 + w) / step_km), 1), samples)
    best = _smooth_x(j, step_km, d, tx_m, rx_m, curvature)
    while j < samples:
        after = _smooth_x(j + 1, step_km, d, tx_m, rx_m, curvature)
        if after <= best:
            break
        best, j = after, j + 1
    while j > 1:
        before = _smooth_x(j - 1, step_km, d, tx_m, rx_m, curvature)
        if before <= best:
            break
        best, j = before, j - 1
    return best


@inner_kernel
def _smooth_x(j: int, step_km: float, d: float, tx_m: float, rx_m: float, curvature: float) -> float:
    """Return X of sample ``j`` of the smooth profile."""
    x = j * step_km
    over_m = curvature * x * (d - x) - (tx_m * (d - x) + rx_m * x) / d
    return over_m * math.sqrt(d / (x * (d - x)))
