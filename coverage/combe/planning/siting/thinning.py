"""Makes a wide search small: tops of blocks for hills, some places for all people, coarser ground between."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.planning.siting.coarse_to_fine import z_order
from combe.planning.siting.problem import Problem, without_harm
from combe.planning.siting.unserved import Unserved
from combe.prediction import IntArray, Places

Mask = npt.NDArray[np.bool_]


def block_tops(allowed: Mask, heights_m: FloatArray, side: int) -> IntArray:
    """Return of each block of cells the highest that is allowed, by flat index, lowest index first."""
    rows, columns = allowed.shape
    down, across = -(-rows // side), -(-columns // side)
    padded = np.full((down * side, across * side), -np.inf)
    padded[:rows, :columns] = np.where(allowed, heights_m, -np.inf)
    blocks = padded.reshape(down, side, across, side).swapaxes(1, 2).reshape(down, across, side * side)
    # The first of equal heights, so that the top of a block is also the top of the part it lies in.
    top = np.argmax(blocks, axis=2)
    row = np.arange(down)[:, None] * side + top // side
    column = np.arange(across)[None, :] * side + top % side
    known = np.isfinite(np.take_along_axis(blocks, top[..., None], axis=2)[..., 0])
    return np.sort((row * columns + column)[known]).astype(np.int64)


def thinned(unserved: Unserved, columns: int, count: int) -> Unserved:
    """Return about so many places that stand for all: each for about as many people as any other.

    Places that lack the same services are followed along a curve that keeps neighbours together, and cut into
    stretches of equal people; the place in the middle of a stretch stands for all its people.
    """
    if unserved.cells.size <= count:
        return unserved
    row, column = np.divmod(unserved.cells, columns)
    _, lack = np.unique(unserved.lacks, axis=0, return_inverse=True)
    lack = np.asarray(lack).ravel()
    order = np.lexsort((z_order(row, column), lack))
    people = unserved.people[order]
    middle = np.cumsum(people) - 0.5 * people
    part = np.minimum((middle / people.sum() * count).astype(np.int64), count - 1) + count * lack[order]
    _, first, member = np.unique(part, return_index=True, return_inverse=True)
    stands_for = np.bincount(np.asarray(member).ravel(), weights=people).astype(np.float64)
    chosen = order[(first + np.append(first[1:], order.size) - 1) // 2]
    by_cell = np.argsort(unserved.cells[chosen])
    chosen = chosen[by_cell]
    return Unserved(
        unserved.cells[chosen], stands_for[by_cell], unserved.lacks[chosen], unserved.people_in_all
    )


def coarsened(problem: Problem, coarser: int) -> Problem:
    """Return the same question over ground of coarser cells, in steps as much longer; harm is left out.

    Over ground cover and zones the cells stay, for they lie on the raster, and only the steps grow.
    """
    bare, setting = without_harm(problem), problem.setting
    longer = setting._replace(step_km=setting.step_km * coarser)
    surface = setting.surface
    if coarser == 1 or surface.cover.size > 0 or surface.zones.size > 0:
        return replace(bare, setting=longer)
    rows, columns = (each // coarser for each in surface.raster.shape)
    if min(rows, columns) < 2:
        return replace(bare, setting=longer)
    ground = surface.raster[: rows * coarser, : columns * coarser]
    mean = ground.reshape(rows, coarser, columns, coarser).mean(axis=(1, 3), dtype=np.float64)
    setting = longer._replace(surface=surface._replace(raster=mean.astype(surface.raster.dtype)))
    hills, targets = (_over_coarser(each, coarser, mean.shape) for each in (bare.hills, bare.targets))
    return replace(bare, setting=setting, hills=hills, targets=targets)


def _over_coarser(places: Places, coarser: int, shape: tuple[int, ...]) -> Places:
    """Return places over a raster of coarser cells, those on its rim moved to its outer centres."""
    row, column = (
        np.clip((each + 0.5) / coarser - 0.5, 0.0, size - 1.0)
        for each, size in zip((places.raster_row, places.raster_column), shape, strict=True)
    )
    return places._replace(raster_row=row, raster_column=column)


def spread_out(hills: Places, value: FloatArray, count: int, apart_cells: float, crowd: int) -> IntArray:
    """Return up to ``count`` hills, best first, no more than ``crowd`` of those near to one that is better.

    Hills nearer than ``apart_cells`` [cells] to a better one are the same hill to a planner, but which of
    them is best shows only at a closer look.
    """
    order = np.lexsort((np.arange(value.size), -value))[: int(np.count_nonzero(value > 0.0))]
    heads, crowds, taken = np.empty((order.size, 2)), np.zeros(order.size, dtype=np.int64), list[int]()
    known = 0
    for hill in map(int, order):
        if len(taken) == count:
            break
        here = hills.row[hill], hills.column[hill]
        away2 = np.sum((heads[:known] - here) ** 2, axis=1)
        near = int(np.argmin(away2)) if known else 0
        if not known or away2[near] >= apart_cells * apart_cells:
            near, heads[known], known = known, here, known + 1
        if crowds[near] < crowd:
            crowds[near] += 1
            taken.append(hill)
    return np.array(taken, dtype=np.int64)


def grid_places(cells: IntArray, columns: int) -> Places:
    """Return cells as places that know their row and column, which is all that their distance takes."""
    row, column = (each.astype(np.float64) for each in np.divmod(cells, columns))
    none = np.zeros(0)
    return Places(row, column, none, none, none, none, none, none)


def in_blocks(cells: IntArray, shape: tuple[int, ...], side: int) -> Mask:
    """Return the blocks in which some cells lie, over the grid."""
    rows, columns = shape
    marked = np.zeros((-(-rows // side), -(-columns // side)), dtype=np.bool_)
    row, column = np.divmod(cells, columns)
    marked[row // side, column // side] = True
    return np.repeat(np.repeat(marked, side, axis=0), side, axis=1)[:rows, :columns]
