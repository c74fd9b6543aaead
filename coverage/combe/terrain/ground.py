"""The ground under a study grid, in the raster's own cells, ready to be sampled along millions of rays.

Warping the terrain to the study grid and sampling that again would smooth every crest twice. So rays sample
the raster itself: a coarse table gives, for any place of the grid, the row and column of the raster; between
its nodes both are interpolated, exact to a few centimetres of height since projections are so smooth.

Of several terrains each is sampled in its own cells so; the first that has a height counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel_part
from combe.decibels import FloatArray
from combe.terrain.blocks import BLOCK_CELLS, Block
from combe.terrain.cells import block_at
from combe.terrain.grid import StudyGrid, cells_to_lonlat_deg, to_cells
from combe.terrain.sampling import bilinear, bilinear_to_edge, lattice_position
from combe.terrain.tiles import Terrain

NODE_SPACING_M: Final = 1500.0
"""Distance between two nodes of the table; at most 64 and at least one cell of the study grid."""


class Layers(NamedTuple):
    """Terrains on lattices of their own, as kernels take them: those over the ground first, then those under.

    ``heights`` [m], shape (cells,), of all one after another; ``size`` (n, 3): where each begins there, its
    rows and columns; ``at`` (n, 2, r, c): its row and column at the nodes of the ground's table; ``over`` how
    many go before the ground. Single precision, which holds all but heights in feet or with a scale exactly,
    and those to half a millimetre.
    """

    heights: npt.NDArray[np.float32]
    size: npt.NDArray[np.int64]
    at: FloatArray
    over: int


NO_LAYERS: Final = Layers(np.empty(0, np.float32), np.empty((0, 3), np.int64), np.empty((0, 2, 0, 0)), 0)
"""What a ground of one terrain has."""


class Ground(NamedTuple):
    """Terrain under a study grid, as kernels take it.

    ``heights`` [m], shape (r, c), the part of the raster that the grid needs; ``row_at``, ``column_at``: its
    row and column at the nodes of the table, shape (m, n), node (0, 0) so many spacings before the first cell
    as ``north`` and ``west`` say; ``spacing`` [cells of the grid] between nodes. ``layers`` are terrains on
    lattices of their own.
    """

    heights: Block
    row_at: FloatArray
    column_at: FloatArray
    spacing: float
    north: float = 1.0
    west: float = 1.0
    layers: Layers = NO_LAYERS


@inner_kernel
def raster_place(ground: Ground, row: float, column: float) -> tuple[float, float]:
    """Return row and column of the raster at a place of the study grid [cells, 0 at the first centre].

    Beyond the table the nearest of its squares is continued.
    """
    return _place_in(ground, ground.row_at, ground.column_at, row, column)


@inner_kernel
def _place_in(
    ground: Ground, row_at: FloatArray, column_at: FloatArray, row: float, column: float
) -> tuple[float, float]:
    """Return row and column of a raster by its own table, which has the nodes of the ground's."""
    node_row, node_column = row / ground.spacing + ground.north, column / ground.spacing + ground.west
    # Held within the table, so that a place beyond it continues the nearest square. Cut off instead of
    # floored: below 0 both end at the first square.
    top = min(max(int(node_row), 0), row_at.shape[0] - 2)
    left = min(max(int(node_column), 0), row_at.shape[1] - 2)
    down, right = node_row - top, node_column - left
    upper_left, upper_right = (1.0 - down) * (1.0 - right), (1.0 - down) * right
    lower_left, lower_right = down * (1.0 - right), down * right
    raster_row = (
        upper_left * row_at[top, left]
        + upper_right * row_at[top, left + 1]
        + lower_left * row_at[top + 1, left]
        + lower_right * row_at[top + 1, left + 1]
    )
    raster_column = (
        upper_left * column_at[top, left]
        + upper_right * column_at[top, left + 1]
        + lower_left * column_at[top + 1, left]
        + lower_right * column_at[top + 1, left + 1]
    )
    return raster_row, raster_column


@inner_kernel
def ground_along(
    ground: Ground, row: float, column: float, row_step: float, column_step: float, heights_m: FloatArray
) -> None:
    """Fill ``heights_m`` (n,) with the ground at n places, the first one step on from (row, column).

    The table is asked at both ends only; between them the raster is crossed in a straight line.
    """
    count = heights_m.size
    row0, column0 = raster_place(ground, row, column)
    # Over the handful of samples asked for at once, a straight line of the grid is one of the raster too.
    row1, column1 = raster_place(ground, row + count * row_step, column + count * column_step)
    down, right = (row1 - row0) / count, (column1 - column0) / count
    raster_m = ground.heights
    for k in range(count):
        heights_m[k] = bilinear(raster_m, row0 + (k + 1) * down, column0 + (k + 1) * right)
    if ground.layers.size.shape[0] > 0:
        _lay_over_and_under(ground, row, column, row_step, column_step, heights_m)


class _Course(NamedTuple):
    """A straight line over a raster [its cells]: where it begins, and its step."""

    row: float
    column: float
    down: float
    right: float


@kernel_part
def _lay_over_and_under(
    ground: Ground, row: float, column: float, row_step: float, column_step: float, heights_m: FloatArray
) -> None:
    """Put the heights of the layers over, and under, those that the ground's own raster has along a line.

    The heights are those of :func:`combe.terrain.sampling.sample_heights` at the same places.
    """
    layers, count = ground.layers, heights_m.size
    end_row, end_column = row + count * row_step, column + count * column_step
    # From the last to the first, so that the first has the last word.
    for layer in range(layers.over - 1, -1, -1):
        course = _course_on(ground, layer, row, column, end_row, end_column, count)
        take_known(heights_of(layers, layer), course, True, False, heights_m)
    for layer in range(layers.over, layers.size.shape[0]):
        course = _course_on(ground, layer, row, column, end_row, end_column, count)
        take_known(heights_of(layers, layer), course, False, False, heights_m)
    total = 0.0
    for k in range(count):
        total += heights_m[k]
    # One sum tells of any void, for NaN stays NaN.
    if not math.isnan(total):
        return
    for layer in range(layers.size.shape[0] + 1):
        if layer == layers.over:
            course = _course_on(ground, -1, row, column, end_row, end_column, count)
            take_known(ground.heights, course, False, True, heights_m)
        if layer < layers.size.shape[0]:
            course = _course_on(ground, layer, row, column, end_row, end_column, count)
            take_known(heights_of(layers, layer), course, False, True, heights_m)


@kernel_part
def _course_on(
    ground: Ground, layer: int, row: float, column: float, end_row: float, end_column: float, count: int
) -> _Course:
    """Return a line of the grid on a layer, or on the ground's own raster for −1."""
    if layer < 0:
        row0, column0 = raster_place(ground, row, column)
        row1, column1 = raster_place(ground, end_row, end_column)
    else:
        row_at, column_at = ground.layers.at[layer, 0], ground.layers.at[layer, 1]
        row0, column0 = _place_in(ground, row_at, column_at, row, column)
        row1, column1 = _place_in(ground, row_at, column_at, end_row, end_column)
    return _Course(row0, column0, (row1 - row0) / count, (column1 - column0) / count)


@kernel_part
def heights_of(layers: Layers, layer: int) -> npt.NDArray[np.float32]:
    """Return the heights of a layer, shape (rows, columns)."""
    first, rows, columns = layers.size[layer, 0], layers.size[layer, 1], layers.size[layer, 2]
    return layers.heights[first : first + rows * columns].reshape((rows, columns))


@kernel_part
def take_known(heights: Block, course: _Course, anyway: bool, to_edge: bool, out: FloatArray) -> None:
    """Take the heights along a line where there are any: into what is missing, or ``anyway``."""
    for k in range(out.size):
        if anyway or math.isnan(out[k]):
            row, column = course.row + (k + 1) * course.down, course.column + (k + 1) * course.right
            height = bilinear_to_edge(heights, row, column) if to_edge else bilinear(heights, row, column)
            out[k] = out[k] if math.isnan(height) else height


def ground_under(terrain: Terrain, grid: StudyGrid, places: Sequence[tuple[float, float]] = ()) -> Ground:
    """Return the terrain under a study grid for sampling by kernels.

    Parameters
    ----------
    places
        Longitude and latitude [degrees] of places beyond the grid, such as stations, from which rays come:
        the terrain on the way is read too.

    Raises
    ------
    RasterError
        A tile that can no longer be read.
    """
    spacing = min(max(round(NODE_SPACING_M / grid.cell_size_m), 1), 64)
    down, across = (
        spacing * np.arange(-before, after + 1.0) for before, after in _nodes(grid, spacing, places)
    )
    column, row = np.meshgrid(across, down)
    nodes = cells_to_lonlat_deg(grid, row, column)
    raster_row, raster_column = lattice_position(terrain, *nodes)
    top, bottom = _reach(raster_row, terrain.rows)
    left, right = _reach(raster_column, terrain.columns)
    heights = _read(terrain, top, bottom, left, right)
    north, west = -down[0] / spacing, -across[0] / spacing
    return Ground(
        heights,
        raster_row - top,
        raster_column - left,
        float(spacing),
        float(north),
        float(west),
        _layers_under(terrain, *nodes),
    )


def _layers_under(terrain: Terrain, lon_deg: FloatArray, lat_deg: FloatArray) -> Layers:
    """Return the terrains over and under one, as far as they reach among nodes [degrees]."""
    over, parts = 0, list[tuple[Block, FloatArray, FloatArray]]()
    for number, each in enumerate((*terrain.over, *terrain.under)):
        part = _part_under(each, lon_deg, lat_deg)
        if part is not None:
            parts.append(part)
            over += number < len(terrain.over)
    if not parts:
        return NO_LAYERS
    ends = np.cumsum([heights.size for heights, _, _ in parts])
    return Layers(
        np.concatenate([heights.ravel() for heights, _, _ in parts]).astype(np.float32, copy=False),
        np.array(
            [(end - each[0].size, *each[0].shape) for end, each in zip(ends, parts, strict=True)], np.int64
        ),
        np.array([places for _, *places in parts]),
        over,
    )


def _part_under(
    terrain: Terrain, lon_deg: FloatArray, lat_deg: FloatArray
) -> tuple[Block, FloatArray, FloatArray] | None:
    """Return heights of a terrain and its rows and columns at nodes; None where it lies elsewhere."""
    row, column = (
        np.where(np.isfinite(each), each, np.nan) for each in lattice_position(terrain, lon_deg, lat_deg)
    )
    if np.isnan(row).all() or np.isnan(column).all():
        return None
    if not (np.nanmin(row) < terrain.rows and np.nanmax(row) > -1.0):
        return None
    if not (np.nanmin(column) < terrain.columns and np.nanmax(column) > -1.0):
        return None
    top, bottom = _reach(row, terrain.rows)
    left, right = _reach(column, terrain.columns)
    return _read(terrain, top, bottom, left, right), row - top, column - left


def ground_reach(ground: Ground) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return first and last row, and first and last column [cells], between which the ground was read."""
    rows, columns = ground.row_at.shape
    return (
        (-ground.north * ground.spacing, (rows - 1 - ground.north) * ground.spacing),
        (-ground.west * ground.spacing, (columns - 1 - ground.west) * ground.spacing),
    )


def _nodes(grid: StudyGrid, spacing: int, places: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return how many nodes lie before the first row, and up to the last; and the same of the columns."""
    lon, lat = np.array(places, dtype=np.float64).reshape(-1, 2).T
    row, column = to_cells(grid, lon, lat)
    return [
        (
            # One node more than the farthest place on each side, since a place is asked between two.
            max(1.0, math.ceil(-min(at, default=0.0) / spacing) + 1.0),
            max(size // spacing + 2.0, math.ceil(max(at, default=0.0) / spacing) + 1.0),
        )
        for at, size in ((row.tolist(), grid.rows), (column.tolist(), grid.columns))
    ]


def _reach(position: FloatArray, size: int) -> tuple[int, int]:
    """Return first and last + 1 row or column of the raster that the table reaches, at least one."""
    # One cell more on either side: bilinear interpolation looks at the neighbours, and between nodes the
    # table is not exact. Nodes that the raster's CRS cannot show are passed over.
    first = min(max(math.floor(np.nanmin(position)) - 1, 0), size - 1)
    return first, min(max(math.ceil(np.nanmax(position)) + 2, first + 1), size)


def _read(terrain: Terrain, top: int, bottom: int, left: int, right: int) -> Block:
    """Return the raster's heights [m] of rows and columns, from as many blocks as they need."""
    first_block = block_at(terrain, top // BLOCK_CELLS, left // BLOCK_CELLS)
    heights = np.full((bottom - top, right - left), np.nan, dtype=first_block.dtype)
    for block_row in range(top // BLOCK_CELLS, (bottom - 1) // BLOCK_CELLS + 1):
        for block_column in range(left // BLOCK_CELLS, (right - 1) // BLOCK_CELLS + 1):
            block = block_at(terrain, block_row, block_column)
            row0, column0 = block_row * BLOCK_CELLS, block_column * BLOCK_CELLS
            row1, column1 = min(row0 + block.shape[0], bottom), min(column0 + block.shape[1], right)
            row2, column2 = max(row0, top), max(column0, left)
            heights[row2 - top : row1 - top, column2 - left : column1 - left] = block[
                row2 - row0 : row1 - row0, column2 - column0 : column1 - column0
            ]
    return heights


@inner_kernel
def nearest(ground: Ground, cells: npt.NDArray[Any], row: float, column: float) -> float:
    """Return the value of ``cells`` nearest to a place; NaN beyond them.

    ``cells`` has the shape of the ground's heights, or so many times their rows and columns.
    """
    raster_row, raster_column = raster_place(ground, row, column)
    finer = cells.shape[0] // ground.heights.shape[0]
    # Places count from the centre of the first cell, cells from its outer edge: half a cell lies between
    # them.
    return cell_value(cells, (raster_row + 0.5) * finer, (raster_column + 0.5) * finer)


@inner_kernel
def cell_value(cells: npt.NDArray[Any], row: float, column: float) -> float:
    """Return the value of the cell at a place [cells, 0 at the outer edge] as a float; NaN outside."""
    i, j = math.floor(row), math.floor(column)
    if i < 0 or j < 0 or i >= cells.shape[0] or j >= cells.shape[1]:
        return math.nan
    return float(cells[i, j])


@inner_kernel
def nearest_along(
    ground: Ground,
    cells: npt.NDArray[Any],
    row: float,
    column: float,
    row_step: float,
    column_step: float,
    out: FloatArray,
) -> None:
    """Fill ``out`` (n,) with the values of ``cells`` nearest to n places, as :func:`ground_along` does."""
    count = out.size
    row0, column0 = raster_place(ground, row, column)
    row1, column1 = raster_place(ground, row + count * row_step, column + count * column_step)
    down, right = (row1 - row0) / count, (column1 - column0) / count
    finer = cells.shape[0] // ground.heights.shape[0]
    for k in range(count):
        at_row, at_column = row0 + (k + 1) * down + 0.5, column0 + (k + 1) * right + 0.5
        out[k] = cell_value(cells, at_row * finer, at_column * finer)


@inner_kernel
def highest_along(
    ground: Ground,
    cells: npt.NDArray[Any],
    row: float,
    column: float,
    row_step: float,
    column_step: float,
    parts: int,
    out: FloatArray,
) -> None:
    """Fill ``out`` (n,) with the highest of ``cells`` in the stretch of each of n places; NaN if any is NaN.

    The places are those of :func:`nearest_along`; a stretch reaches half a step to both sides of its place,
    and is looked at in so many parts.
    """
    count = out.size
    row0, column0 = raster_place(ground, row + 0.5 * row_step, column + 0.5 * column_step)
    # From half a step before the first place to half a step beyond the last: stretches meet without gap and
    # without overlap, so no edge is passed over or counted twice.
    far = count + 0.5
    row1, column1 = raster_place(ground, row + far * row_step, column + far * column_step)
    finer = cells.shape[0] // ground.heights.shape[0]
    scale = finer / (count * parts)
    down, right = (row1 - row0) * scale, (column1 - column0) * scale
    row0, column0 = (row0 + 0.5) * finer, (column0 + 0.5) * finer
    for k in range(count):
        highest = -math.inf
        for part in range(k * parts, (k + 1) * parts):
            value = cell_value(cells, row0 + (part + 0.5) * down, column0 + (part + 0.5) * right)
            # What is not known stays so: nothing compares as greater than NaN.
            highest = value if value > highest or math.isnan(value) else highest
        out[k] = highest
