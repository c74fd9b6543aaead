"""What a ray remembers of one skyline: the ground it has passed, bent by one effective Earth radius.

A skyline keeps y = g − c·x² of every sample (g height, x distance, c = 500/ae; c = 0 for the unbent ground),
its upper convex hull, and the maxima of blocks of samples. From these every question of
:mod:`combe.propagation.summary` is answered for a cell further on without looking back: slopes in O(log n),
the largest ν by passing over blocks that cannot hold it. Samples are counted from 1 and lie at multiples of
one step.

The hull is a stack in two rows of the table, x ascending, slopes descending. Every point is pushed once and
popped at most once: a ray of n samples costs O(n) in all. (One table, not several arrays: handing arrays on
costs more than the work on them.)
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from combe.compiling import inner_kernel
from combe.decibels import FloatArray

FINE_BLOCK = 8
COARSE_BLOCK = 64
# Samples in a block whose highest point is kept, so that whole blocks can be passed over.

HULL_X, HULL_Y, BENT_Y, FINE_TOP, COARSE_TOP = 0, 1, 2, 3, 4
# Rows of a skyline's table: the points of its hull, y by sample, and the maximum of y by block.


class SkylineState(NamedTuple):
    """Running numbers of a skyline: points on the hull, steepest slope from the transmitter, its sample."""

    hull_count: int
    tx_slope: float
    """Largest (g − hts)/x − c·x [m/km]."""
    tx_sample: int


class Terminals(NamedTuple):
    """Ends of a path: distance [km], ground and aerials [m above sea level]."""

    distance_km: float
    tx_ground_m: float
    rx_ground_m: float
    tx_m: float
    rx_m: float


class Reach(NamedTuple):
    """What lies of a ray before a cell: so many samples, a step [km] apart."""

    samples: int
    step_km: float


class Bend(NamedTuple):
    """The Earth's curve c [m/km²] of one effective radius, and the X below which no edge costs anything."""

    curvature: float
    floor: float


class _Line(NamedTuple):
    """The line between two aerials over bent ground: its slope, its height at the station, its length."""

    tilt: float
    tx_m: float
    d: float


@inner_kernel
def push(table: FloatArray, count: int, x: float, y: float) -> int:
    """Add a point right of all others; return the new number of points on the hull."""
    while count >= 2:
        x0, y0 = table[HULL_X, count - 2], table[HULL_Y, count - 2]
        # Slopes compared by cross products: the last point goes unless it lies over the chord.
        if (table[HULL_Y, count - 1] - y0) * (x - x0) > (y - y0) * (table[HULL_X, count - 1] - x0):
            break
        count -= 1
    table[HULL_X, count] = x
    table[HULL_Y, count] = y
    return count + 1


@inner_kernel
def steepest_at(table: FloatArray, count: int, x: float, y: float) -> int:
    """Return the index where (Y − y)/(x − X) is largest: the edge seen looking back from (x, y).

    The values rise and then fall along the hull, so a binary search finds the tangent point.
    """
    low, high = 0, count - 1
    while low < high:
        middle = (low + high) // 2
        here = (table[HULL_Y, middle] - y) * (x - table[HULL_X, middle + 1])
        after = (table[HULL_Y, middle + 1] - y) * (x - table[HULL_X, middle])
        if here < after:
            low = middle + 1
        else:
            high = middle
    return low


@inner_kernel
def farthest_along(table: FloatArray, count: int, slope: float) -> int:
    """Return the index of the hull point where Y + slope · X is largest."""
    low, high = 0, count - 1
    while low < high:
        middle = (low + high) // 2
        if (
            table[HULL_Y, middle] + slope * table[HULL_X, middle]
            < table[HULL_Y, middle + 1] + slope * table[HULL_X, middle + 1]
        ):
            low = middle + 1
        else:
            high = middle
    return low


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
    # From the station the bulge over a path of d lifts a point by c·(d - x) per km; the part c·d is the
    # same for all points, so it is added by the cell and the maximum can run.
    slope = (height_m - tx_m) / x - curvature * x
    if slope > state.tx_slope:
        return SkylineState(count, slope, j)
    return SkylineState(count, state.tx_slope, state.tx_sample)


@inner_kernel
def _remember(sky: FloatArray, j: int, y: float) -> None:
    """Keep a sample and raise the maxima of its blocks."""
    sky[BENT_Y, j] = y
    fine, coarse = j // FINE_BLOCK, j // COARSE_BLOCK
    # The first sample of a block overwrites what an earlier ray left there.
    if j % FINE_BLOCK == 0 or j == 1 or sky[FINE_TOP, fine] < y:
        sky[FINE_TOP, fine] = y
    if j % COARSE_BLOCK == 0 or j == 1 or sky[COARSE_TOP, coarse] < y:
        sky[COARSE_TOP, coarse] = y


@inner_kernel
def tx_slope_seen(state: SkylineState, d: float, curvature: float) -> float:
    """Return Stim [m/km] for a receiver ``d`` km away; −inf without samples (P.1812-8 eq. 14).

    (g + c·x(d − x) − hts)/x is c·d over what the ray keeps, so the steepest sample is the same for every d.
    """
    return state.tx_slope + curvature * d


@inner_kernel
def rx_slope_seen(
    sky: FloatArray, state: SkylineState, d: float, rx_m: float, curvature: float
) -> tuple[float, float]:
    """Return Srim [m/km] of a receiver ``d`` km away, and how far from the station [km] that edge lies."""
    # With y = g − c·x² for the ground and for the eye, slopes over the bent ground are slopes of chords.
    eye = rx_m - curvature * d * d
    k = steepest_at(sky, state.hull_count, d, eye)
    x = sky[HULL_X, k]
    return (sky[HULL_Y, k] - eye) / (d - x) - curvature * d, x


@inner_kernel
def _cannot_beat(best: float, top: float, line: _Line, first_km: float, last_km: float) -> bool:
    """Tell whether no sample between two distances can have a larger X than ``best``.

    ``top`` is the largest y there. All X are negative in line of sight: X = over · w, w = √(d/(x(d − x))) ≥
    the w of the place nearest mid-path. Squares are compared, so no root is taken.
    """
    d = line.d
    over_m = top - line.tx_m + max(line.tilt * first_km, line.tilt * last_km)
    if not (over_m < 0.0 and best < 0.0):
        return False
    middle = min(max(0.5 * d, first_km), last_km)
    return over_m * over_m * d >= best * best * middle * (d - middle)


@inner_kernel
def largest_fresnel_seen(
    sky: FloatArray, state: SkylineState, reach: Reach, ends: Terminals, bend: Bend
) -> tuple[float, int]:
    """Return (X, sample) of the largest ν on a line-of-sight path; (−inf, 0) if X is not above the floor.

    Exact: blocks are skipped only where a bound shows that they cannot hold a larger X. The first guess is
    the hull point that comes nearest to the line between the aerials.
    """
    d, tx_m, step_km = ends.distance_km, ends.tx_m, reach.step_km
    # Over the line between the aerials a point is g + c·x·(d - x) - line high; with y = g - c·x² that is y
    # + tilt·x - hts.
    tilt = bend.curvature * d - (ends.rx_m - tx_m) / d
    nearest = farthest_along(sky, state.hull_count, tilt)
    over_m = sky[HULL_Y, nearest] + tilt * sky[HULL_X, nearest] - tx_m
    # w is least mid-path, where it is 2/√d: if even the highest point with it stays under the floor, all do.
    if over_m < 0.0 and over_m * 2.0 <= bend.floor * math.sqrt(d):
        return -math.inf, 0
    where = math.floor(sky[HULL_X, nearest] / step_km + 0.5)
    x = where * step_km
    # What comes nearest to the line has, more often than not, the largest ν: a good first guess passes over
    # most blocks.
    best = (sky[BENT_Y, where] + tilt * x - tx_m) * math.sqrt(d / (x * (d - x)))
    if best < bend.floor:
        best, where = bend.floor, 0
    line = _Line(tilt, tx_m, d)
    for block in range(reach.samples // COARSE_BLOCK + 1):
        start, stop = max(block * COARSE_BLOCK, 1), min((block + 1) * COARSE_BLOCK - 1, reach.samples)
        top = sky[COARSE_TOP, block]
        if stop >= start and not _cannot_beat(best, top, line, start * step_km, stop * step_km):
            best, where = _search_block(sky, (start, stop), step_km, line, best, where)
    return (best, where) if where > 0 else (-math.inf, 0)


@inner_kernel
def _search_block(
    sky: FloatArray, block: tuple[int, int], step_km: float, line: _Line, best: float, where: int
) -> tuple[float, int]:
    """Return the larger of (best, where) and the largest X, with its sample, of the samples of a block."""
    start, stop = block
    for fine in range(start // FINE_BLOCK, stop // FINE_BLOCK + 1):
        first, last = max(fine * FINE_BLOCK, start), min((fine + 1) * FINE_BLOCK - 1, stop)
        if _cannot_beat(best, sky[FINE_TOP, fine], line, first * step_km, last * step_km):
            continue
        for j in range(first, last + 1):
            x = j * step_km
            over_m = sky[BENT_Y, j] + line.tilt * x - line.tx_m
            weight2 = line.d / (x * (line.d - x))
            # Both negative: the smaller square is the larger X. So most samples cost no root.
            if over_m * over_m * weight2 < best * best or over_m > 0.0 or best > 0.0:
                value = over_m * math.sqrt(weight2)
                if value > best:
                    best, where = value, j
    return best, where
