"""Which share of each cell of another raster lies on each cell of the study grid.

Cells of another CRS are four-sided figures on the grid. Each is filled with evenly spread points, at least
eight to the side of a grid cell, and the share of a grid cell is the share of the points that fall on it.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import pyproj
from scipy.sparse import csr_array

from combe.compiling import kernel, kernel_part
from combe.decibels import FloatArray
from combe.terrain.grid import StudyGrid
from combe.terrain.projecting import transformer

Transform = tuple[float, float, float, float, float, float]
IntArray = npt.NDArray[np.int32]

POINTS_A_SIDE: Final = 8
_MOST_POINTS: Final = 4096
_STRIP_CELLS: Final = 1_000_000


class Corners(NamedTuple):
    """Where the corners of cells lie: grid rows and columns from its corner, each (rows + 1, columns + 1)."""

    row: FloatArray
    column: FloatArray


class Marks(NamedTuple):
    """Scratch: points on each grid cell, all 0 between two cells, and the grid cells that one cell met."""

    points: IntArray
    met: IntArray


class Portions(NamedTuple):
    """What was found: grid cells and shares of all cells, one after the other, and how many each has."""

    cells: IntArray
    shares: npt.NDArray[np.float32]
    counts: IntArray


@lru_cache(maxsize=2)
def cell_shares(grid: StudyGrid, crs: pyproj.CRS, transform: Transform, shape: tuple[int, int]) -> csr_array:
    """Return the shares of the cells of a raster on the cells of the grid.

    Parameters
    ----------
    crs, transform, shape
        Of the raster: x = a·column + b·row + c and y = d·column + e·row + f with ``transform`` (a … f), and
        (rows, columns).

    Returns
    -------
    sparse array (rows * columns of the raster, rows * columns of the grid)
        Rows add up to 1 for cells that lie wholly on the grid, to less at its edge, to 0 beyond.
    """
    rows, columns = shape
    strip = max(_STRIP_CELLS // columns, 1)
    parts = []
    for first in range(0, rows, strip):
        corners = _corners(grid, crs, transform, (first, min(first + strip, rows)), columns)
        parts.append(_shares_of_strip(grid, corners))
    cells, shares, counts = (np.concatenate(each) for each in zip(*parts, strict=True))
    starts = np.concatenate([[0], np.cumsum(counts)])
    return csr_array((shares, cells, starts), shape=(rows * columns, grid.rows * grid.columns))


def _corners(
    grid: StudyGrid, crs: pyproj.CRS, transform: Transform, rows: tuple[int, int], columns: int
) -> Corners:
    """Return the corners of some rows of cells."""
    a, b, c, d, e, f = transform
    column, row = np.meshgrid(np.arange(columns + 1.0), np.arange(rows[0], rows[1] + 1.0))
    x_m, y_m = transformer(crs, grid.crs).transform(a * column + b * row + c, d * column + e * row + f)
    return Corners((grid.north_m - y_m) / grid.cell_size_m, (x_m - grid.west_m) / grid.cell_size_m)


def _shares_of_strip(grid: StudyGrid, corners: Corners) -> Portions:
    """Return what the cells between the corners share with the grid."""
    counts = np.empty((corners.row.shape[0] - 1) * (corners.row.shape[1] - 1), dtype=np.int32)
    marks = Marks(*(np.zeros(grid.rows * grid.columns, dtype=np.int32) for _ in range(2)))
    # Most cells meet one or two of the grid's. Where they meet more, the first run counts how much room all
    # of them need, and the second has it: twice the work at worst, and no list that grows in a kernel.
    room = 2 * counts.size + marks.points.size
    while True:
        portions = Portions(np.empty(room, dtype=np.int32), np.empty(room, dtype=np.float32), counts)
        used = _write_shares(corners, grid.rows, grid.columns, marks, portions)
        if used <= room:
            return Portions(portions.cells[:used].copy(), portions.shares[:used].copy(), counts)
        room = used


@kernel_part
def _points_between(row: float, column: float, other_row: float, other_column: float) -> int:
    """Return how many points go along one side, from its ends."""
    points = math.ceil(POINTS_A_SIDE * math.hypot(other_row - row, other_column - column))
    return min(max(points, POINTS_A_SIDE), _MOST_POINTS)


@kernel_part
def _meets(north: float, south: float, west: float, east: float, grid_rows: int, grid_columns: int) -> bool:
    """Tell whether a cell between two diagonal corners may lie on the grid; not if one is not finite."""
    low, high = min(north, south), max(north, south)
    left, right = min(west, east), max(west, east)
    # Only two corners of four are asked. The other two of a cell turned against the grid lie outside their
    # frame, but by no more than its sides together.
    slack = (high - low) + (right - left)
    return (
        math.isfinite(slack)
        and high > -slack
        and right > -slack
        and low < grid_rows + slack
        and left < grid_columns + slack
    )


@kernel_part
def _between(u: float, v: float, corners: FloatArray, i: int, j: int) -> float:
    """Return one coordinate at a place between the four corners of cell (i, j), u and v from 0 to 1."""
    top: float = (1.0 - u) * corners[i, j] + u * corners[i, j + 1]
    bottom: float = (1.0 - u) * corners[i + 1, j] + u * corners[i + 1, j + 1]
    return (1.0 - v) * top + v * bottom


@kernel
def _write_shares(
    corners: Corners, grid_rows: int, grid_columns: int, marks: Marks, portions: Portions
) -> int:
    """Write grid cells and shares of all cells between the corners, and how many there are of each.

    Returns how many there are in all. What is beyond the room in ``portions`` is counted and not written.
    """
    row, column = corners
    used = 0
    for i in range(row.shape[0] - 1):
        for j in range(row.shape[1] - 1):
            place = i * (row.shape[1] - 1) + j
            portions.counts[place] = 0
            if not _meets(
                row[i, j], row[i + 1, j + 1], column[i, j], column[i + 1, j + 1], grid_rows, grid_columns
            ):
                continue
            across = _points_between(row[i, j], column[i, j], row[i, j + 1], column[i, j + 1])
            down = _points_between(row[i, j], column[i, j], row[i + 1, j], column[i + 1, j])
            met = 0
            for point in range(down * across):
                u, v = (point % across + 0.5) / across, (point // across + 0.5) / down
                at_row = math.floor(_between(u, v, row, i, j))
                at_column = math.floor(_between(u, v, column, i, j))
                if at_row < 0 or at_column < 0 or at_row >= grid_rows or at_column >= grid_columns:
                    continue
                cell = at_row * grid_columns + at_column
                if marks.points[cell] == 0:
                    marks.met[met] = cell
                    met += 1
                marks.points[cell] += 1
            # Points beyond the grid count below the line and not above it, so that shares at its edge add up
            # to less than 1. Only the marks that were set are wiped, for the grid may have millions of cells.
            for k in range(met):
                cell = marks.met[k]
                if used + k < portions.cells.size:
                    portions.cells[used + k] = cell
                    portions.shares[used + k] = marks.points[cell] / (down * across)
                marks.points[cell] = 0
            portions.counts[place] = met
            used += met
    return used
