"""The ground under a study grid, in the raster's own cells, ready to be sampled along millions of rays.

Warping the terrain to the study grid and sampling that again would smooth every crest twice. So rays sample
the raster itself: a coarse table gives, for any place of the grid, the row and column of the raster; between
its nodes both are interpolated, exact to a few centimetres of height since projections are so smooth.

What lies on the ground, cover or zones, is another raster. Its values are brought into the ground's cells,
cell by cell and without interpolation.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel
from combe.decibels import FloatArray
from combe.terrain.blocks import BLOCK_CELLS, Block
from combe.terrain.grid import StudyGrid, cells_to_lonlat_deg, to_cells, to_lonlat_deg
from combe.terrain.projecting import to_lonlat
from combe.terrain.sampling import bilinear, block_at, lattice_heights, lattice_position
from combe.terrain.tiles import Terrain

NODE_SPACING_M: Final = 1500.0
"""Distance between two nodes of the table; at most 64 and at least one cell of the study grid."""


class Ground(NamedTuple):
    """Terrain under a study grid, as kernels take it.

    ``heights`` [m], shape (r, c), the part of the raster that the grid needs; ``row_at``, ``column_at``: its
    row and column at the nodes of the table, shape (m, n), node (0, 0) so many spacings before the first cell
    as ``north`` and ``west`` say; ``spacing`` [cells of the grid] between nodes.
    """

    heights: Block
    row_at: FloatArray
    column_at: FloatArray
    spacing: float
    north: float = 1.0
    west: float = 1.0


@inner_kernel
def raster_place(ground: Ground, row: float, column: float) -> tuple[float, float]:
    """Return row and column of the raster at a place of the study grid [cells, 0 at the first centre].

    Beyond the table the nearest of its squares is continued.
    """
    node_row, node_column = row / ground.spacing + ground.north, column / ground.spacing + ground.west
    # Held within the table, so that a place beyond it continues the nearest square. Cut off instead of
    # floored: below 0 both end at the first square.
    top = min(max(int(node_row), 0), ground.row_at.shape[0] - 2)
    left = min(max(int(node_column), 0), ground.row_at.shape[1] - 2)
    down, right = node_row - top, node_column - left
    upper_left, upper_right = (1.0 - down) * (1.0 - right), (1.0 - down) * right
    lower_left, lower_right = down * (1.0 - right), down * right
    raster_row = (
        upper_left * ground.row_at[top, left]
        + upper_right * ground.row_at[top, left + 1]
        + lower_left * ground.row_at[top + 1, left]
        + lower_right * ground.row_at[top + 1, left + 1]
    )
    raster_column = (
        upper_left * ground.column_at[top, left]
        + upper_right * ground.column_at[top, left + 1]
        + lower_left * ground.column_at[top + 1, left]
        + lower_right * ground.column_at[top + 1, left + 1]
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
    raster_row, raster_column = lattice_position(terrain, *cells_to_lonlat_deg(grid, row, column))
    top, bottom = _reach(raster_row, terrain.rows)
    left, right = _reach(raster_column, terrain.columns)
    heights = _read(terrain, top, bottom, left, right)
    north, west = -down[0] / spacing, -across[0] / spacing
    return Ground(heights, raster_row - top, raster_column - left, float(spacing), float(north), float(west))


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


_ROWS_AT_A_TIME: Final = 256


def nearest_values(raster: Terrain, lon_deg: FloatArray, lat_deg: FloatArray) -> FloatArray:
    """Return the value of the cell at each place [degrees, WGS 84], NaN beyond the raster's outer edge.

    Each cell stands for itself: nothing is interpolated. Of the shape of ``lon_deg`` and ``lat_deg``, which
    are alike.
    """
    row, column = (place.ravel() for place in lattice_position(raster, lon_deg, lat_deg))
    row, column = _nearest(row, raster.rows), _nearest(column, raster.columns)
    # At whole rows and columns a neighbour has no weight and is not looked at, so this is the cell itself.
    return lattice_heights(raster, row, column).reshape(lon_deg.shape)


def fill_ground_cells(
    terrain: Terrain,
    grid: StudyGrid,
    values_at: Callable[[FloatArray, FloatArray], npt.NDArray[Any]],
    dtype: type[np.generic],
    ground: Ground | None = None,
    finer: int = 1,
) -> npt.NDArray[Any]:
    """Return the values at the centres of the terrain's cells under a study grid, or of parts of these.

    Parameters
    ----------
    values_at
        Gives the values at places (lon, lat) [degrees, WGS 84], of their shape.
    dtype
        Type of the values.
    ground
        ``ground_under(terrain, grid)``, where it is at hand.
    finer
        Into how many parts each cell of the terrain is divided, downwards and across.

    Returns
    -------
    array
        Of the shape of the ground's ``heights``, or ``finer`` times its rows and columns.
    """
    ground = ground_under(terrain, grid) if ground is None else ground
    top, left = _corner(terrain, grid, ground)
    rows, columns = (finer * size for size in ground.heights.shape)
    values = np.empty((rows, columns), dtype=dtype)
    x = terrain.west + (left + (np.arange(columns) + 0.5) / finer) * terrain.cell_x
    for first in range(0, rows, _ROWS_AT_A_TIME):
        last = min(first + _ROWS_AT_A_TIME, rows)
        y = terrain.north - (top + (np.arange(first, last) + 0.5) / finer) * terrain.cell_y
        across, down = np.meshgrid(x, y)
        lon, lat = (across, down) if terrain.lonlat else to_lonlat(terrain.crs, across, down)
        values[first:last] = values_at(lon, lat)
    return values


def _corner(terrain: Terrain, grid: StudyGrid, ground: Ground) -> tuple[int, int]:
    """Return the row and column of the terrain at which the ground's heights begin."""
    down, across = (
        (0.5 - nodes * ground.spacing) * grid.cell_size_m for nodes in (ground.north, ground.west)
    )
    # The ground does not say at which cell its heights begin. One node of its table is known in both counts,
    # and the difference is that cell.
    node = to_lonlat_deg(grid, grid.west_m + across, grid.north_m - down)
    row, column = lattice_position(terrain, *node)
    return round(float(row - ground.row_at[0, 0])), round(float(column - ground.column_at[0, 0]))


def _nearest(position: FloatArray, size: int) -> FloatArray:
    """Return the nearest cell centre; NaN beyond the raster's outer edge."""
    inside = (position >= -0.5) & (position < size - 0.5)
    # floor(x + ½) and not round(x), which goes to the even one and would give cells strips of unequal width.
    # The clip catches what rounding carries over the last edge.
    return np.where(inside, np.clip(np.floor(position + 0.5), 0, size - 1), np.nan)
