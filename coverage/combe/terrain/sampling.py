"""Terrain heights at places: between cell centres, along a geodesic.

A raster cell's height belongs to its centre, in the raster's own registration. Between four centres the
height is bilinear; where one that counts is a void, or beyond the outermost centres, it is NaN. Of several
terrains the first that has a height counts, and where none has, the first whose cell the place lies in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.errors import RangeError, TerrainGapError
from combe.geodesy import distance_km, geodesic_points
from combe.terrain.blocks import BLOCK_CELLS, Block
from combe.terrain.cells import block_at
from combe.terrain.projecting import from_lonlat
from combe.terrain.tiles import Terrain, all_tiles, terrain_bounds_deg, terrain_sources, tile_name_at

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


@inner_kernel
def bilinear_to_edge(heights: Block, row: float, column: float) -> float:
    """Return the height at a place within a cell whose height is known, as a kernel; else NaN.

    As :func:`bilinear`, but neighbours without a height, or beyond the last row, count for nothing: a raster
    reaches to the outer edge of its outermost cells. Two rasters that meet have no gap between them then.
    """
    last_row, last_column = heights.shape[0] - 1, heights.shape[1] - 1
    if not (-0.5 <= row <= last_row + 0.5 and -0.5 <= column <= last_column + 0.5):
        return math.nan
    near_row, near_column = min(math.floor(row + 0.5), last_row), min(math.floor(column + 0.5), last_column)
    if math.isnan(heights[near_row, near_column]):
        return math.nan
    row, column = min(max(row, 0.0), float(last_row)), min(max(column, 0.0), float(last_column))
    top, left = int(row), int(column)
    down, right = row - top, column - left
    total, weights = 0.0, 0.0
    for i in range(2):
        for j in range(2):
            weight = (down if i == 1 else 1.0 - down) * (right if j == 1 else 1.0 - right)
            if weight > 0.0:
                height = heights[top + i, left + j]
                if not math.isnan(height):
                    total += weight * height
                    weights += weight
    return total / weights


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


@kernel
def bilinear_to_edge_many(
    heights: Block,
    first_row: float,
    first_column: float,
    row: FloatArray,
    column: FloatArray,
    out: FloatArray,
) -> None:
    """Do as :func:`bilinear_many`, up to the outer edges of known cells."""
    for i in range(row.shape[0]):
        out[i] = bilinear_to_edge(heights, row[i] - first_row, column[i] - first_column)


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
    return heights_at(terrain, lon, lat)


def heights_at(terrain: Terrain, lon: FloatArray, lat: FloatArray) -> FloatArray:
    """Return the heights [m] at places [degrees] of one shape, the first of several terrains that has one."""
    row, column = lattice_position(terrain, lon, lat)
    if not (terrain.over or terrain.under):
        return lattice_heights(terrain, row.ravel(), column.ravel()).reshape(lon.shape)
    out, lon_deg, lat_deg = np.full(lon.size, np.nan), lon.ravel(), lat.ravel()
    # Between cell centres first, of whichever terrain; only what is left after all is read up to the edges.
    for to_edge in (False, True):
        for each in (*terrain.over, terrain, *terrain.under):
            missing = np.flatnonzero(np.isnan(out))
            if missing.size:
                place = lattice_position(each, lon_deg[missing], lat_deg[missing])
                out[missing] = lattice_heights(each, *place, to_edge=to_edge)
    return out.reshape(lon.shape)


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
    tile = tiles_at(terrain, lon_deg, lat_deg)
    place = f"longitude {lon_deg:.6f}, latitude {lat_deg:.6f}" + (f" ({what})" if what else "")
    if tile == "none":
        return TerrainGapError(
            tile, place, f"{reach(terrain)}; add the tile that covers it or move the place"
        )
    return TerrainGapError(
        tile, place, "the tile is void there or ends; fill it, add the next tile or move the place"
    )


def tiles_at(terrain: Terrain, lon_deg: float, lat_deg: float) -> str:
    """Return the names of the tiles of all terrains in which a place lies, or ``"none"``."""
    found = []
    for each in terrain_sources(terrain):
        row, column = lattice_position(each, np.float64(lon_deg), np.float64(lat_deg))
        found.append(tile_name_at(each, float(row), float(column)))
    return ", ".join(name for name in found if name != "none") or "none"


def reach(terrain: Terrain) -> str:
    """Say how far the terrain reaches, with the names of up to three tiles, for an error."""
    west, south, east, north = terrain_bounds_deg(terrain)
    names = [tile.name for tile in all_tiles(terrain)]
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


def lattice_heights(
    terrain: Terrain, row: FloatArray, column: FloatArray, *, to_edge: bool = False
) -> FloatArray:
    """Return heights [m] (n,) at places (n,) of the lattice, block by block.

    ``to_edge`` reads up to the outer edges of known cells, not to their centres alone.
    """
    out = np.full(row.shape, np.nan)
    more = 0.5 if to_edge else 0.0
    inside = (row >= -more) & (row <= terrain.rows - 1.0 + more)
    inside &= (column >= -more) & (column <= terrain.columns - 1.0 + more)
    if not inside.any():
        return out
    # Terrain of a single block needs no sorting of its places.
    if terrain.rows <= BLOCK_CELLS and terrain.columns <= BLOCK_CELLS:
        many = bilinear_to_edge_many if to_edge else bilinear_many
        many(block_at(terrain, 0, 0), 0.0, 0.0, row, column, out)
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
        out[here] = _heights_in_block(terrain, block_row, block_column, row[here], column[here], to_edge)
    return out


def _heights_in_block(
    terrain: Terrain,
    block_row: int,
    block_column: int,
    row: FloatArray,
    column: FloatArray,
    to_edge: bool,
) -> FloatArray:
    """Return heights [m] of places that all lie in one block."""
    out = np.empty(row.shape)
    heights = block_at(terrain, block_row, block_column)
    many = bilinear_to_edge_many if to_edge else bilinear_many
    many(heights, float(block_row * BLOCK_CELLS), float(block_column * BLOCK_CELLS), row, column, out)
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
