"""How many people a block of hills can serve at most: a bound that no hill of the block exceeds.

A target is left out of the bound only if no hill of the block can serve it. All ways from the target to the
block run through one corridor. At a share s of the way they cross a window of it, s times the block's size;
each way has a sample there, whose ground is not below the lowest of the window. The block's highest aerial
makes the lowest obstacles, its nearest and farthest hills bound the distances, and the slopes so found are
not steeper than those of any way; what slopes cost is for bound.py. Windows are looked up in tables of
minima.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.planning.siting.bound import BIN_KM
from combe.planning.siting.problem import Problem
from combe.planning.siting.score import Demand
from combe.prediction import SHORTEST_KM, Aerials, Places, Setting, steps_between
from combe.terrain import Block

_ROUNDING_M = 1e-6


class Spread(NamedTuple):
    """What holds for all hills of a block: raster and grid rows and columns, scales, highest ground."""

    top: float
    bottom: float
    left: float
    right: float
    raster_top: float
    raster_bottom: float
    raster_left: float
    raster_right: float
    least_scale: float
    largest_scale: float
    highest_m: float


class Range(NamedTuple):
    """No hill of a block is nearer to a target, and none is farther away [km]."""

    near_km: float
    far_km: float


class Corner(NamedTuple):
    """A target: where it is on the raster, its aerial [m], and how far the block's highest one is over it."""

    row: float
    column: float
    target_m: float
    rise_m: float


def least_heights(raster: Block, levels: int = 6) -> FloatArray:
    """Return minima of the raster [m], shape (levels, r, c): over 2^k cells down and right of each cell.

    Unknown ground counts as bottomless.
    """
    rows, columns = raster.shape
    table = np.full((levels, rows, columns), -np.inf, dtype=np.float64)
    table[0] = np.where(np.isnan(raster), -np.inf, raster)
    for k in range(1, levels):
        half = 1 << (k - 1)
        below = table[k - 1]
        if rows <= half or columns <= half:
            break
        lowest = np.full((rows, columns), -np.inf)
        # Four squares of half the side make one of the whole.
        inner = np.minimum(below[:-half, :-half], below[half:, half:])
        inner = np.minimum(inner, np.minimum(below[:-half, half:], below[half:, :-half]))
        lowest[: rows - half, : columns - half] = inner
        table[k] = lowest
    return table


@inner_kernel
def lowest_in(table: FloatArray, top: int, bottom: int, left: int, right: int) -> float:
    """Return what no cell of a window, its edges included, lies below; −inf beyond the raster."""
    if top < 0 or left < 0 or bottom >= table.shape[1] or right >= table.shape[2]:
        return -math.inf
    # Squares of one size cover the window, the last of a row or column moved back over its neighbour: a
    # minimum may count a cell twice.
    side = min(bottom - top, right - left) + 1
    level = 0
    while level + 1 < table.shape[0] and (2 << level) <= side:
        level += 1
    span = 1 << level
    lowest = math.inf
    row = top
    while row <= bottom:
        i = min(row, bottom + 1 - span)
        column = left
        while column <= right:
            lowest = min(lowest, table[level, i, min(column, right + 1 - span)])
            column += span
        row += span
    return lowest


@kernel
def spread_of(hills: Places, first: int, last: int) -> Spread:
    """Return the spread of hills first to last."""
    top, left, low = math.inf, math.inf, math.inf
    bottom, right, high, highest = -math.inf, -math.inf, -math.inf, -math.inf
    raster_top, raster_left, raster_bottom, raster_right = math.inf, math.inf, -math.inf, -math.inf
    for i in range(first, last):
        top, bottom = min(top, hills.row[i]), max(bottom, hills.row[i])
        left, right = min(left, hills.column[i]), max(right, hills.column[i])
        raster_top = min(raster_top, hills.raster_row[i])
        raster_bottom = max(raster_bottom, hills.raster_row[i])
        raster_left = min(raster_left, hills.raster_column[i])
        raster_right = max(raster_right, hills.raster_column[i])
        low, high = min(low, hills.scale[i]), max(high, hills.scale[i])
        highest = max(highest, hills.ground_m[i])
    return Spread(
        top, bottom, left, right, raster_top, raster_bottom, raster_left, raster_right, low, high, highest
    )


@inner_kernel
def _distances_km(block: Spread, targets: Places, j: int, cell_km: float) -> Range:
    """Return what no hill of the block is nearer, and none farther, than [km]."""
    row, column, scale = targets.row[j], targets.column[j], targets.scale[j]
    near_rows = max(block.top - row, row - block.bottom, 0.0)
    near_columns = max(block.left - column, column - block.right, 0.0)
    far_rows = max(abs(block.top - row), abs(block.bottom - row))
    far_columns = max(abs(block.left - column), abs(block.right - column))
    near = math.sqrt(near_rows * near_rows + near_columns * near_columns)
    far = math.sqrt(far_rows * far_rows + far_columns * far_columns)
    near_km = near * cell_km * 0.5 * (block.least_scale + scale)
    far_km = far * cell_km * 0.5 * (block.largest_scale + scale)
    # A hair wider than computed, lest rounding leave out a hill on the edge.
    return Range(max(near_km * (1.0 - 1e-12), SHORTEST_KM), max(far_km * (1.0 + 1e-12), SHORTEST_KM))


@inner_kernel
def _loosest(slopes_allowed: FloatArray, k: int, away: Range) -> float:
    """Return the slope product that excludes service k at every distance of a range."""
    loosest = -1.0
    last = min(int(away.far_km / BIN_KM), slopes_allowed.shape[1] - 1)
    # A block spans several bins; what excludes the service in all of them excludes every hill.
    for m in range(int(away.near_km / BIN_KM), last + 1):
        loosest = max(loosest, slopes_allowed[k, m])
    return loosest


@inner_kernel
def _hidden(s: Setting, table: FloatArray, block: Spread, corner: Corner, away: Range, limit: float) -> bool:
    """Tell whether the ground in the corridor hides the target from every aerial of the block."""
    near_km, far_km, target_m, rise_m = away.near_km, away.far_km, corner.target_m, corner.rise_m
    count = steps_between(near_km, s.step_km)
    row, column = corner.row, corner.column
    up, down = block.raster_top - row, block.raster_bottom - row
    left, right = block.raster_left - column, block.raster_right - column
    bulge = 500.0 / s.bound_radius_km * near_km * near_km
    a, b = 0.0, 0.0
    # Between the shares s0 and s1 every way has a sample, for no way to the block has fewer steps.
    for n in range(1, count - 1):
        s0, s1 = n / count, (n + 1) / count
        lowest_m = lowest_in(
            table,
            math.floor(row + min(s0 * up, s1 * up)),
            math.ceil(row + max(s0 * down, s1 * down)),
            math.floor(column + min(s0 * left, s1 * left)),
            math.ceil(column + max(s0 * right, s1 * right)),
        )
        # The lowest ground of the corridor over the highest line through it: no way to the block has less.
        over_m = lowest_m - target_m - max(s0 * rise_m, s1 * rise_m) - _ROUNDING_M
        over_m += bulge * min(s0 * (1.0 - s0), s1 * (1.0 - s1))
        if over_m > 0.0:
            # Slopes from both ends, over the longest way there may be; so none is steeper than the true
            # one.
            a, b = max(a, over_m / ((1.0 - s0) * far_km)), max(b, over_m / (s1 * far_km))
            if a * b > limit:
                return True
    return False


@kernel
def most_people(
    s: Setting,
    table: FloatArray,
    block: Spread,
    targets: Places,
    people: FloatArray,
    demand: Demand,
    aerials: Aerials,
) -> float:
    """Return how many people no hill of the block can serve more than."""
    total = 0.0
    for j in range(targets.row.size):
        away = _distances_km(block, targets, j, s.cell_km)
        if away.near_km > demand.reach_km:
            continue
        # One lacking service that cannot be had is enough: the hardest is asked.
        limit = _loosest(demand.slopes_allowed, demand.hardest[j], away)
        if limit < 0.0:
            continue
        target_m = targets.ground_m[j] + aerials.q_above_m
        rise_m = block.highest_m + aerials.p_above_m - target_m
        corner = Corner(targets.raster_row[j], targets.raster_column[j], target_m, rise_m)
        if math.isinf(limit) or not _hidden(s, table, block, corner, away, limit):
            total += people[j]
    return total


def block_people(problem: Problem, table: FloatArray, first: int, last: int) -> float:
    """Return the bound for hills first to last of a problem; ``table`` from :func:`least_heights`."""
    return float(
        most_people(
            problem.setting,
            table,
            spread_of(problem.hills, first, last),
            problem.targets,
            problem.people,
            problem.demand,
            problem.aerials,
        )
    )
