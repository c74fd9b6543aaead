"""Reads cells of a mosaic as metres: blocks of it from every tile that meets them, with voids or filled.

A number that no dry land can have is a void, whatever the file declares. Blocks are kept in memory.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from rasterio.windows import Window

from combe.decibels import FloatArray
from combe.errors import RasterError
from combe.terrain.blocks import BLOCK_CELLS, Block
from combe.terrain.headers import Tile
from combe.terrain.raster import read_numbers, safe_open
from combe.terrain.tiles import Terrain
from combe.terrain.voids import fill_reach_cells, fill_voids, in_a_tile

LOWEST_HEIGHT_M: Final = -500.0
HIGHEST_HEIGHT_M: Final = 9000.0
"""No dry land lies outside these; a number beyond them is a void that the file forgot to declare."""

DEEPEST_SEA_M: Final = -11_000.0
"""No sea is deeper (the deepest known place is at 10 900 m and some, from memory)."""

USUAL_VOID: Final = -9999.0
"""A number that often marks a void without being declared; as the bed of a sea it would be one alone."""


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
    """Read a block that starts at a cell of the mosaic."""
    rows = min(BLOCK_CELLS + 1, terrain.rows - row)
    columns = min(BLOCK_CELLS + 1, terrain.columns - column)
    if terrain.fill_within_m > 0.0:
        heights = filled_cells(terrain, row, column, rows, columns)
    else:
        heights = read_cells(terrain, row, column, rows, columns)
    # Kept blocks are shared by threads; whoever wrote into one would move the ground under all others.
    heights.setflags(write=False)
    return heights


def read_cells(terrain: Terrain, row: int, column: int, rows: int, columns: int) -> Block:
    """Read cells of the mosaic from each tile that meets them [m]; NaN for voids, and beyond all tiles."""
    # Single precision only where it holds every height exactly: half the memory, and the same heights to the
    # bit.
    narrow = all(tile.narrow for tile in terrain.tiles)
    heights = np.full((rows, columns), np.nan, dtype=np.float32 if narrow else np.float64)
    for tile in terrain.tiles:
        _fill_from(tile, heights, row, column)
    return heights


def filled_cells(terrain: Terrain, row: int, column: int, rows: int, columns: int) -> Block:
    """Read cells of the mosaic as :func:`read_cells`, with the voids filled that the terrain says to fill."""
    reach = fill_reach_cells(terrain)
    # So much more on all sides as a fill looks: it is the same then, whatever part is read.
    top, left = max(row - reach, 0), max(column - reach, 0)
    bottom, right = min(row + rows + reach, terrain.rows), min(column + columns + reach, terrain.columns)
    heights = read_cells(terrain, top, left, bottom - top, right - left)
    within = in_a_tile(terrain, top, left, *heights.shape)
    whole = fill_voids(heights, within, reach)
    return np.ascontiguousarray(whole[row - top : row - top + rows, column - left : column - left + columns])


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
    held = tile.make() if tile.make is not None else tile.held
    if held is not None:
        top, left = int(window.row_off), int(window.col_off)
        heights = held[top : top + int(window.height), left : left + int(window.width)].copy()
    else:
        heights = _read_file(tile, window)
    if tile.sea_floor:
        heights[(heights < 0.0) & (heights >= DEEPEST_SEA_M) & (heights != USUAL_VOID)] = 0.0
    heights[~((heights >= LOWEST_HEIGHT_M) & (heights <= HIGHEST_HEIGHT_M))] = np.nan
    return heights


def _read_file(tile: Tile, window: Window) -> FloatArray:
    """Read a window of a tile's file as metres."""
    with safe_open(tile.path) as dataset:
        # Only headers were read when the terrain was opened. A file exchanged since would be read at wrong
        # places.
        if (dataset.height, dataset.width) != (tile.rows, tile.columns):
            raise RasterError(tile.path, "it changed since it was opened", "start again")
        if tile.south_up:
            window = Window(
                window.col_off, tile.rows - window.row_off - window.height, window.width, window.height
            )
        heights: FloatArray = read_numbers(dataset, window) * tile.metres_a_unit
    return heights[::-1] if tile.south_up else heights
