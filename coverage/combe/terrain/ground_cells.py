"""Values of another raster in the cells of the ground under a study grid: what lies on it, cover or zones.

They are brought there cell by cell, and a cell of classes without interpolation.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.terrain.grid import StudyGrid, to_lonlat_deg
from combe.terrain.ground import Ground, ground_under
from combe.terrain.projecting import to_lonlat
from combe.terrain.sampling import lattice_heights, lattice_position
from combe.terrain.tiles import Terrain

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


def ground_cell_places(
    terrain: Terrain,
    grid: StudyGrid,
    ground: Ground,
    row: npt.NDArray[Any],
    column: npt.NDArray[Any],
) -> tuple[FloatArray, FloatArray]:
    """Return longitude and latitude [degrees] of the middles of some of the ground's cells."""
    top, left = _corner(terrain, grid, ground)
    x = terrain.west + (left + column + 0.5) * terrain.cell_x
    y = terrain.north - (top + row + 0.5) * terrain.cell_y
    return (x, y) if terrain.lonlat else to_lonlat(terrain.crs, x, y)


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
