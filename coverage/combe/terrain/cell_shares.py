"""Which share of each cell of another raster lies on each cell of the study grid.

Cells of another CRS are four-sided figures on the grid. Each is filled with evenly spread points, at least
eight to the side of a grid cell, and the share of a grid cell is the share of the points that fall on it.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt
import pyproj
from scipy.sparse import csr_array

from combe.compiling import kernel
from combe.decibels import FloatArray
from combe.terrain.grid import StudyGrid
from combe.terrain.projecting import transformer

Transform = tuple[float, float, float, float, float, float]
IntArray = npt.NDArray[np.int32]

POINTS_A_SIDE: Final = 8
_MOST_POINTS: Final = 4096
_STRIP_CELLS: Final = 1_000_000
_ROOM: Final = 1024


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
    tally = np.zeros(grid.rows * grid.columns, dtype=np.int32)
    parts = []
    for first in range(0, rows, strip):
        corner_row, corner_column = _corners(grid, crs, transform, (first, min(first + strip, rows)), columns)
        parts.append(_shares(corner_row, corner_column, grid.rows, grid.columns, tally))
    cells, shares, counts = (np.concatenate(each) for each in zip(*parts, strict=True))
    starts = np.concatenate([[0], np.cumsum(counts)])
    return csr_array((shares, cells, starts), shape=(rows * columns, grid.rows * grid.columns))


def _corners(
    grid: StudyGrid, crs: pyproj.CRS, transform: Transform, rows: tuple[int, int], columns: int
) -> tuple[FloatArray, FloatArray]:
    """Return where the corners of some rows of cells lie: grid rows and columns from its corner."""
    a, b, c, d, e, f = transform
    column, row = np.meshgrid(np.arange(columns + 1.0), np.arange(rows[0], rows[1] + 1.0))
    x_m, y_m = transformer(crs, grid.crs).transform(a * column + b * row + c, d * column + e * row + f)
    return (grid.north_m - y_m) / grid.cell_size_m, (x_m - grid.west_m) / grid.cell_size_m


@kernel
def _points_along(ends: FloatArray) -> int:
    """Return how many points go along two opposite sides, ``ends`` (2, 2, 2): side, end, (row, column)."""
    longest = 0.0
    for side in range(2):
        longest = max(
            longest, math.hypot(ends[side, 1, 0] - ends[side, 0, 0], ends[side, 1, 1] - ends[side, 0, 1])
        )
    return min(max(math.ceil(POINTS_A_SIDE * longest), POINTS_A_SIDE), _MOST_POINTS)


@kernel
def _meets(corners: FloatArray, grid_rows: int, grid_columns: int) -> bool:
    """Tell whether a cell with these corners (2, 2, 2) may lie on the grid at all."""
    if not np.all(np.isfinite(corners)):
        return False
    south, east = np.max(corners[:, :, 0]), np.max(corners[:, :, 1])
    north, west = np.min(corners[:, :, 0]), np.min(corners[:, :, 1])
    return bool(south > 0.0 and east > 0.0 and north < grid_rows and west < grid_columns)


@kernel
def _tally_points(
    corners: FloatArray,
    down: int,
    across: int,
    grid_rows: int,
    grid_columns: int,
    tally: IntArray,
    met: IntArray,
) -> int:
    """Count the points of one cell on each grid cell in ``tally``; return how many are in ``met``."""
    found = 0
    for i in range(down):
        v = (i + 0.5) / down
        for j in range(across):
            u = (j + 0.5) / across
            row = math.floor(
                (1.0 - v) * ((1.0 - u) * corners[0, 0, 0] + u * corners[0, 1, 0])
                + v * ((1.0 - u) * corners[1, 0, 0] + u * corners[1, 1, 0])
            )
            column = math.floor(
                (1.0 - v) * ((1.0 - u) * corners[0, 0, 1] + u * corners[0, 1, 1])
                + v * ((1.0 - u) * corners[1, 0, 1] + u * corners[1, 1, 1])
            )
            if row < 0 or column < 0 or row >= grid_rows or column >= grid_columns:
                continue
            cell = row * grid_columns + column
            if tally[cell] == 0:
                met[found] = cell
                found += 1
            tally[cell] += 1
    return found


@kernel
def _shares(
    corner_row: FloatArray, corner_column: FloatArray, grid_rows: int, grid_columns: int, tally: IntArray
) -> tuple[IntArray, npt.NDArray[np.float32], IntArray]:
    """Return grid cells and shares of all cells between the corners, and how many there are of each."""
    rows, columns = corner_row.shape[0] - 1, corner_row.shape[1] - 1
    counts = np.zeros(rows * columns, dtype=np.int32)
    cells, shares = np.empty(_ROOM, dtype=np.int32), np.empty(_ROOM, dtype=np.float32)
    met = np.empty(tally.size, dtype=np.int32)
    corners = np.empty((2, 2, 2))
    used = 0
    for row in range(rows):
        for column in range(columns):
            corners[:, :, 0] = corner_row[row : row + 2, column : column + 2]
            corners[:, :, 1] = corner_column[row : row + 2, column : column + 2]
            if not _meets(corners, grid_rows, grid_columns):
                continue
            across = _points_along(corners)
            down = _points_along(corners.transpose((1, 0, 2)))
            found = _tally_points(corners, down, across, grid_rows, grid_columns, tally, met)
            if used + found > cells.size:
                cells = np.concatenate((cells, np.empty(cells.size + found, dtype=np.int32)))
                shares = np.concatenate((shares, np.empty(shares.size + found, dtype=np.float32)))
            for k in range(found):
                cells[used + k] = met[k]
                shares[used + k] = tally[met[k]] / (down * across)
                tally[met[k]] = 0
            counts[row * columns + column] = found
            used += found
    return cells[:used], shares[:used], counts
