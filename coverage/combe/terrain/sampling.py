"""Interpolates terrain heights between cell centres, in the raster's own registration.

A raster cell's height belongs to its centre. Between four centres the height is bilinear; where one that
counts is a void, or beyond the outermost centres, it is NaN.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.errors import TerrainGapError
from combe.terrain.blocks import BLOCK_CELLS, Block
from combe.terrain.mosaic import block_at
from combe.terrain.projecting import from_lonlat
from combe.terrain.tiles import Terrain, terrain_bounds_deg, tile_name_at

SNAP_CELLS: Final = 1e-8
"""A place this near to a cell centre [cells] is taken as on it, since a CRS change cannot be exact."""


@inner_kernel
def bilinear(heights: Block, row: float, column: float) -> float:
    """Return the height at a place between cell centres, as a kernel.

    Parameters
    ----------
    heights
        Shape (rows, columns) [m], NaN at voids.
    row, column
        The place, counted from the centre of the first cell [cells].

    Returns
    -------
    float
        Height [m]; NaN beyond the outermost centres, or if a neighbour of weight above 0 is NaN.
    """
    last_row, last_column = heights.shape[0] - 1, heights.shape[1] - 1
    if not (0.0 <= row <= last_row and 0.0 <= column <= last_column):
        return math.nan
    top, left = int(row), int(column)
    down, right = row - top, column - left
    # On a node its neighbour has no weight and must not be looked at: it may be a void, or beyond the last
    # row.
    below = top + 1 if down > 0.0 else top
    beyond = left + 1 if right > 0.0 else left
    upper: float = (1.0 - right) * heights[top, left] + right * heights[top, beyond]
    lower: float = (1.0 - right) * heights[below, left] + right * heights[below, beyond]
    return (1.0 - down) * upper + down * lower


@kernel
def bilinear_many(
    heights: Block,
    first_row: float,
    first_column: float,
    row: FloatArray,
    column: FloatArray,
    out: FloatArray,
) -> None:
    """Fill ``out`` with the heights at places (n,) of a lattice on which the array begins at ``first_*``."""
    for i in range(row.shape[0]):
        out[i] = bilinear(heights, row[i] - first_row, column[i] - first_column)


def sample_heights(terrain: Terrain, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike) -> FloatArray:
    """Return the terrain heights [m] at places [degrees, WGS 84].

    Parameters
    ----------
    lon_deg, lat_deg
        Floats or arrays that broadcast to one shape.

    Returns
    -------
    array of that shape
        NaN at voids and beyond the outermost cell centres. Only the blocks needed are read.

    Raises
    ------
    RasterError
        A tile that can no longer be read.
    """
    lon, lat = np.broadcast_arrays(
        np.asarray(lon_deg, dtype=np.float64), np.asarray(lat_deg, dtype=np.float64)
    )
    row, column = lattice_position(terrain, lon, lat)
    return lattice_heights(terrain, row.ravel(), column.ravel()).reshape(lon.shape)


def height_at(terrain: Terrain, lon_deg: float, lat_deg: float, what: str = "") -> float:
    """Return the terrain height [m] at one place [degrees, WGS 84].

    Raises
    ------
    TerrainGapError
        A void or no tile there; it names the tile, the place and ``what`` stands there.
    """
    height = float(sample_heights(terrain, lon_deg, lat_deg))
    if math.isnan(height):
        raise gap_error(terrain, lon_deg, lat_deg, what)
    return height


def gap_error(terrain: Terrain, lon_deg: float, lat_deg: float, what: str = "") -> TerrainGapError:
    """Return the error for a place without a height: its tile, void or beyond the edge, what to do."""
    row, column = lattice_position(terrain, np.float64(lon_deg), np.float64(lat_deg))
    tile = tile_name_at(terrain, float(row), float(column))
    place = f"longitude {lon_deg:.6f}, latitude {lat_deg:.6f}" + (f" ({what})" if what else "")
    if tile == "none":
        return TerrainGapError(
            tile, place, f"{reach(terrain)}; add the tile that covers it or move the place"
        )
    return TerrainGapError(
        tile, place, "the tile is void there or ends; fill it, add the next tile or move the place"
    )


def reach(terrain: Terrain) -> str:
    """Say how far the terrain reaches, with the names of up to three tiles, for an error."""
    west, south, east, north = terrain_bounds_deg(terrain)
    names = [tile.name for tile in terrain.tiles]
    listed = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    area = f"longitude {west:.5f} to {east:.5f}, latitude {south:.5f} to {north:.5f}"
    return f"the terrain ({listed}) covers {area}"


def lattice_position(
    terrain: Terrain, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return row and column [cells, 0 at the centre of the north-west cell] of places [degrees].

    A place that the terrain's CRS cannot show is NaN or infinite.
    """
    if terrain.lonlat:
        x, y = np.asarray(lon_deg, dtype=np.float64), np.asarray(lat_deg, dtype=np.float64)
    else:
        x, y = from_lonlat(terrain.crs, lon_deg, lat_deg)
    with np.errstate(invalid="ignore"):
        if terrain.crs.is_geographic:
            middle = terrain.west + terrain.columns * terrain.cell_x / 2.0
            # A longitude is the same one turn on: taken in the turn that lies nearest to the raster.
            x = x - 360.0 * np.round((x - middle) / 360.0)
        column = (x - terrain.west) / terrain.cell_x - 0.5
        row = (terrain.north - y) / terrain.cell_y - 0.5
        return _snap(row), _snap(column)


def lattice_heights(terrain: Terrain, row: FloatArray, column: FloatArray) -> FloatArray:
    """Return heights [m] (n,) at places (n,) of the lattice, block by block."""
    out = np.full(row.shape, np.nan)
    inside = (row >= 0.0) & (row <= terrain.rows - 1.0) & (column >= 0.0) & (column <= terrain.columns - 1.0)
    if not inside.any():
        return out
    # Terrain of a single block needs no sorting of its places.
    if terrain.rows <= BLOCK_CELLS and terrain.columns <= BLOCK_CELLS:
        bilinear_many(block_at(terrain, 0, 0), 0.0, 0.0, row, column, out)
        return out
    across = terrain.columns // BLOCK_CELLS + 1
    number = np.full(row.shape, -1, dtype=np.int64)
    number[inside] = (
        row[inside].astype(np.int64) // BLOCK_CELLS * across + column[inside].astype(np.int64) // BLOCK_CELLS
    )
    for block in np.unique(number[inside]).tolist():
        here = np.flatnonzero(number == block)
        block_row, block_column = divmod(block, across)
        out[here] = _heights_in_block(terrain, block_row, block_column, row[here], column[here])
    return out


def _heights_in_block(
    terrain: Terrain, block_row: int, block_column: int, row: FloatArray, column: FloatArray
) -> FloatArray:
    """Return heights [m] of places that all lie in one block."""
    out = np.empty(row.shape)
    heights = block_at(terrain, block_row, block_column)
    bilinear_many(
        heights, float(block_row * BLOCK_CELLS), float(block_column * BLOCK_CELLS), row, column, out
    )
    return out


def _snap(position: FloatArray) -> FloatArray:
    """Put places that miss a cell centre by rounding alone onto it."""
    nearest = np.round(position)
    return np.where(np.abs(position - nearest) < SNAP_CELLS, nearest, position)
