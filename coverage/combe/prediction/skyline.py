"""What a ray remembers of one skyline: the ground it has passed, bent by one effective Earth radius.

A skyline keeps y = g − c·x² of every sample (g height, x distance, c = 500/ae; c = 0 for the unbent ground),
its upper convex hull, and the maxima of blocks of samples. From these every question of
:mod:`combe.propagation.summary` is answered for a cell further on without looking back: slopes in O(log n),
the largest ν by passing over blocks that cannot hold it. Samples are counted from 1 and lie at multiples of
one step.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel
from combe.prediction.hull import HULL_X, HULL_Y, farthest_along, push, steepest_at

FloatArray = npt.NDArray[np.float64]

FINE_BLOCK = 8
COARSE_BLOCK = 64
# Samples in a block whose highest point is kept, so that whole blocks can be passed over.


BENT_Y, FINE_TOP, COARSE_TOP = 2, 3, 4
# Rows of a skyline's table, after the two of its hull: y by sample, its maximum by block.


class SkylineState(NamedTuple):
    """Running numbers of a skyline: points on the hull, steepest slope from the transmitter, its sample."""

    hull_count: int
    tx_slope: float
    """Largest (g − hts)/x − c·x [m/km]."""
    tx_sample: int


@inner_kernel
def new_skyline(samples: int) -> FloatArray:
    """Allocate a skyline's table for rays of at most ``samples`` samples; shape (5, samples + 1)."""
    return np.empty((5, samples + 1))


@inner_kernel
def empty_state() -> SkylineState:
    """Return the state of a skyline without samples."""
    return SkylineState(0, -math.inf, 0)


@inner_kernel
def see(
    sky: FloatArray, state: SkylineState, j: int, x: float, height_m: float, tx_m: float, curvature: float
) -> SkylineState:
    """Return the state after sample ``j`` at ``x`` km, ``height_m`` high."""
    y = height_m - curvature * x * x
    _remember(sky, j, y)
    count = push(sky, state.hull_count, x, y)
    slope = (height_m - tx_m) / x - curvature * x
    if slope > state.tx_slope:
        return SkylineState(count, slope, j)
    return SkylineState(count, state.tx_slope, state.tx_sample)


@inner_kernel
def _remember(sky: FloatArray, j: int, y: float) -> None:
    """Keep a sample and raise the maxima of its blocks."""
    sky[BENT_Y, j] = y
    fine, coarse = j // FINE_BLOCK, j // COARSE_BLOCK
    if j % FINE_BLOCK == 0 or j == 1 or sky[FINE_TOP, fine] < y:
        sky[FINE_TOP, fine] = y
    if j % COARSE_BLOCK == 0 or j == 1 or sky[COARSE_TOP, coarse] < y:
        sky[COARSE_TOP, coarse] = y


@inner_kernel
def tx_slope_seen(state: SkylineState, d: float, curvature: float) -> float:
    """Return Stim [m/km] for a receiver ``d`` km away; −inf without samples."""
    return state.tx_slope + curvature * d


@inner_kernel
def rx_slope_seen(
    sky: FloatArray, state: SkylineState, d: float, rx_m: float, curvature: float
) -> tuple[float, float]:
    """Return Srim [m/km] of a receiver ``d`` km away, and how far from the station [km] that edge lies."""
    eye = rx_m - curvature * d * d
    k = steepest_at(sky, state.hull_count, d, eye)
    x = sky[HULL_X, k]
    return (sky[HULL_Y, k] - eye) / (d - x) - curvature * d, x


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
def largest_fresnel_seen(
    sky: FloatArray,
    state: SkylineState,
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
    nearest = farthest_along(sky, state.hull_count, tilt)
    over_m = sky[HULL_Y, nearest] + tilt * sky[HULL_X, nearest] - tx_m
    if over_m < 0.0 and over_m * 2.0 <= floor * math.sqrt(d):
        return -math.inf, 0
    where = math.floor(sky[HULL_X, nearest] / step_km + 0.5)
    x = where * step_km
    best = (sky[BENT_Y, where] + tilt * x - tx_m) * math.sqrt(d / (x * (d - x)))
    if best < floor:
        best, where = floor, 0
    for block in range(samples // COARSE_BLOCK + 1):
        start, stop = max(block * COARSE_BLOCK, 1), min((block + 1) * COARSE_BLOCK - 1, samples)
        if stop >= start and not _cannot_beat(
            best, sky[COARSE_TOP, block], tilt, tx_m, start * step_km, stop * step_km, d
        ):
            best, where = _search_block(sky, start, stop, step_km, d, tilt, tx_m, best, where)
    return (best, where) if where > 0 else (-math.inf, 0)


@inner_kernel
def _search_block(
    sky: FloatArray,
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
        if _cannot_beat(best, sky[FINE_TOP, fine], tilt, tx_m, first * step_km, last * step_km, d):
            continue
        for j in range(first, last + 1):
            x = j * step_km
            over_m = sky[BENT_Y, j] + tilt * x - tx_m
            weight2 = d / (x * (d - x))
            if over_m * over_m * weight2 < best * best or over_m > 0.0 or best > 0.0:
                value = over_m * math.sqrt(weight2)
                if value > best:
                    best, where = value, j
    return best, where
