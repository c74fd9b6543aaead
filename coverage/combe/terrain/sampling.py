"""Terrain heights at places: blocks of the mosaic in metres, between cell centres, along a geodesic.

A block is read from every tile that meets it, NaN where no tile holds a height. A raster cell's height
belongs to its centre, in the raster's own registration. Between four centres the height is bilinear; where
one that counts is a void, or beyond the outermost centres, it is NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from rasterio.windows import Window

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.errors import RangeError, RasterError, TerrainGapError
from combe.geodesy import distance_km, geodesic_points
from combe.terrain.blocks import BLOCK_CELLS, Block
from combe.terrain.projecting import from_lonlat
from combe.terrain.raster import read_numbers, safe_open
from combe.terrain.tiles import Terrain, Tile, terrain_bounds_deg, tile_name_at

LOWEST_HEIGHT_M: Final = -500.0
HIGHEST_HEIGHT_M: Final = 9000.0
"""No dry land lies outside these; a number beyond them is a void that the file forgot to declare."""


def block_at(terrain: Terrain, block_row: int, block_column: int) -> Block:
    """Return a block of heights [m], shape at most (BLOCK_CELLS + 1, BLOCK_CELLS + 1), kept in memory.

    Its first cell is row ``block_row * BLOCK_CELLS``, column ``block_column * BLOCK_CELLS`` of the mosaic.
    It reaches one row and column into the next block, so that places up to there can be interpolated.
    """
    return terrain.blocks.get(
        (block_row, block_column),
        lambda: _read_block(terrain, block_row * BLOCK_CELLS, block_column * BLOCK_CELLS),
    )


def _read_block(terrain: Terrain, row: int, column: int) -> Block:
    """Read a block that starts at a cell of the mosaic from each tile that meets it."""
    rows = min(BLOCK_CELLS + 1, terrain.rows - row)
    columns = min(BLOCK_CELLS + 1, terrain.columns - column)
    # Single precision only where it holds every height exactly: half the memory, and the same heights to the
    # bit.
    narrow = all(tile.narrow for tile in terrain.tiles)
    heights = np.full((rows, columns), np.nan, dtype=np.float32 if narrow else np.float64)
    for tile in terrain.tiles:
        _fill_from(tile, heights, row, column)
    # Kept blocks are shared by threads; whoever wrote into one would move the ground under all others.
    heights.setflags(write=False)
    return heights


def _fill_from(tile: Tile, heights: Block, row: int, column: int) -> None:
    """Put the tile's heights where the block has none yet."""
    top, bottom = max(row, tile.first_row), min(row + heights.shape[0], tile.first_row + tile.rows)
    left = max(column, tile.first_column)
    right = min(column + heights.shape[1], tile.first_column + tile.columns)
    if top >= bottom or left >= right:
        return
    part = heights[top - row : bottom - row, left - column : right - column]
    missing = np.isnan(part)
    # The first tile that has a height wins, so a later one is read only where something is still missing.
    if missing.any():
        window = Window(left - tile.first_column, top - tile.first_row, right - left, bottom - top)
        part[missing] = _read_window(tile, window)[missing]


def _read_window(tile: Tile, window: Window) -> FloatArray:
    """Read a window of one tile as metres; voids, declared or evident, are NaN."""
    if tile.held is not None:
        top, left = int(window.row_off), int(window.col_off)
        heights = tile.held[top : top + int(window.height), left : left + int(window.width)].copy()
    else:
        heights = _read_file(tile, window)
    heights[~((heights >= LOWEST_HEIGHT_M) & (heights <= HIGHEST_HEIGHT_M))] = np.nan
    return heights


def _read_file(tile: Tile, window: Window) -> FloatArray:
    """Read a window of a tile's file as metres."""
    with safe_open(tile.path) as dataset:
        # Only headers were read when the terrain was opened. A file exchanged since would be read at wrong
        # places.
        if (dataset.height, dataset.width) != (tile.rows, tile.columns):
            raise RasterError(tile.path, "it changed since it was opened", "start again")
        heights: FloatArray = read_numbers(dataset, window) * tile.metres_a_unit
    return heights


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
    # Asked this way round, a place that is NaN lies outside too.
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
    # Blocks are numbered row by row and taken one after the other: each is read once, however its places are
    # strewn.
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
    # A place on a node that a change of CRS moves off by rounding would ask for one neighbour more, which may
    # be a void, or beyond the last row, and would be NaN for nothing.
    nearest = np.round(position)
    return np.where(np.abs(position - nearest) < SNAP_CELLS, nearest, position)


MOST_SAMPLES: Final = 1_000_000


@dataclass(frozen=True)
class TerrainProfile:
    """Equally spaced terrain heights from place 1 to place 2, all of shape (n,), both ends included."""

    distance_km: FloatArray
    height_m: FloatArray
    lon_deg: FloatArray
    lat_deg: FloatArray

    def __post_init__(self) -> None:
        shapes = {a.shape for a in (self.distance_km, self.height_m, self.lon_deg, self.lat_deg)}
        if len(shapes) != 1 or self.distance_km.ndim != 1 or self.distance_km.size < 2:
            raise RangeError("arrays of a terrain profile", sorted(shapes), "one shape (n,), n >= 2")


def geodesic_profile(
    terrain: Terrain,
    lon1_deg: float,
    lat1_deg: float,
    lon2_deg: float,
    lat2_deg: float,
    *,
    step_m: float | None = None,
) -> TerrainProfile:
    """Return the profile along the geodesic from place 1 to place 2 [degrees, WGS 84].

    Parameters
    ----------
    step_m
        Longest spacing [m]; the terrain's cell size unless given, and never more than that.

    Raises
    ------
    TerrainGapError
        A void or no tile on the way; it names the tile, the place and the kilometre.
    RangeError
        Both places are one, a step of 0 or less, or more than a million samples.
    """
    count = _count(1000.0 * distance_km(lon1_deg, lat1_deg, lon2_deg, lat2_deg), terrain.cell_size_m, step_m)
    lon, lat, along_km = geodesic_points(lon1_deg, lat1_deg, lon2_deg, lat2_deg, count)
    height = sample_heights(terrain, lon, lat)
    gaps = np.flatnonzero(np.isnan(height))
    if gaps.size:
        first = int(gaps[0])
        what = f"{along_km[first]:.3f} km from the start of the path"
        raise gap_error(terrain, float(lon[first]), float(lat[first]), what)
    return TerrainProfile(along_km, height, lon, lat)


def _count(length_m: float, cell_size_m: float, step_m: float | None) -> int:
    """Return the number of samples, both ends included."""
    if step_m is not None and not step_m > 0.0:
        raise RangeError("step_m", step_m, "more than 0")
    if not length_m > 0.0:
        raise RangeError("length of the path", f"{length_m} m", "more than 0", "the ends are two places")
    step = cell_size_m if step_m is None else min(step_m, cell_size_m)
    # Rounded up: all steps are alike, the last too, and none is longer than asked.
    count = math.ceil(length_m / step) + 1
    if count > MOST_SAMPLES:
        raise RangeError("samples of a profile", count, f"up to {MOST_SAMPLES}", "take a longer step")
    return count
