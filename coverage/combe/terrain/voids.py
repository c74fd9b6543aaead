"""Cells of a terrain without a height: filled where a study says so, and never otherwise.

A fill weighs the known heights around a void by the inverse of their distance [cells], up to a stated reach
(GDAL's FillNodata, without smoothing). It is an invention of ground, so what is filled can always be told
from what was measured: :func:`without_fills` is the terrain as its files have it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
import numpy.typing as npt
from rasterio.fill import fillnodata

from combe.errors import RangeError
from combe.terrain.blocks import Block, BlockCache
from combe.terrain.headers import Lattice, ground_sides_m
from combe.terrain.tiles import Terrain

FARTHEST_FILL_CELLS: Final = 100
"""Most cells that a fill may look for known ground: what is wider wants another tile."""

INVERSE_DISTANCE: Final = "inverse distance"

_NOT_FILLED: Final = -99_999.0
_HAIR: Final = 0.01


def with_fill(terrain: Terrain, within_m: float) -> Terrain:
    """Return a terrain of one lattice whose voids are filled from known ground up to ``within_m`` away [m].

    Raises
    ------
    RangeError
        A distance under the size of a cell, or over a hundred cells.
    """
    side_m = _longer_side_m(terrain)
    if not 1.0 <= within_m / side_m + _HAIR <= FARTHEST_FILL_CELLS + 2.0 * _HAIR:
        raise RangeError(
            f"fill_within_m of {terrain.tiles[0].name}",
            f"{within_m:g} m",
            f"{side_m:.0f} to {FARTHEST_FILL_CELLS * side_m:.0f} m, 1 to {FARTHEST_FILL_CELLS} of its cells",
        )
    return replace(terrain, fill_within_m=within_m, blocks=BlockCache())


def without_fills(terrain: Terrain) -> Terrain:
    """Return a terrain as its files have it, with all its voids."""
    if not has_fills(terrain):
        return terrain
    over, under = (
        tuple(each for each in group if not each.fill_within_m) for group in (terrain.over, terrain.under)
    )
    return replace(terrain, over=over, under=under, fill_within_m=0.0, blocks=BlockCache())


def has_fills(terrain: Terrain) -> bool:
    """Tell whether any void of a terrain may be filled."""
    return any(each.fill_within_m > 0.0 for each in (*terrain.over, terrain, *terrain.under))


def fill_reach_cells(terrain: Terrain) -> int:
    """Return how far a fill looks [cells]; in no direction farther than it may."""
    # A hair more: 100 m of a projection may be 100.04 m on the ground, and round numbers are asked for.
    return int(terrain.fill_within_m / _longer_side_m(terrain) + _HAIR)


def _longer_side_m(terrain: Terrain) -> float:
    names = ("crs", "west", "north", "cell_x", "cell_y", "rows", "columns")
    wide_m, high_m = ground_sides_m(Lattice(**{name: getattr(terrain, name) for name in names}))
    return float(np.nanmax(np.fmax(wide_m, high_m)))


def fill_voids(heights: Block, within: npt.NDArray[np.bool_], reach_cells: int) -> Block:
    """Return heights with their voids filled, of those ``within`` a tile and near enough to known ground."""
    void = np.isnan(heights) & within
    if not void.any():
        return heights
    known = ~np.isnan(heights)
    # GDAL leaves what it cannot reach as it was given, and that must be told from any height.
    marked = np.where(known, heights, _NOT_FILLED)
    found = fillnodata(marked, known.astype(np.uint8), float(reach_cells), 0)
    return np.where(void & (found != _NOT_FILLED), found, heights).astype(heights.dtype)


def in_a_tile(terrain: Terrain, row: int, column: int, rows: int, columns: int) -> npt.NDArray[np.bool_]:
    """Tell which of some cells of the mosaic lie in a tile, with or without a height."""
    inside = np.zeros((rows, columns), dtype=np.bool_)
    for tile in terrain.tiles:
        top, left = max(tile.first_row - row, 0), max(tile.first_column - column, 0)
        bottom, right = tile.first_row + tile.rows - row, tile.first_column + tile.columns - column
        inside[top : max(bottom, 0), left : max(right, 0)] = True
    return inside
