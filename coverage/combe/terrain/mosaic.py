"""Reads one block of the mosaic: heights in metres, NaN where no tile holds one."""

from __future__ import annotations

from typing import Final

import numpy as np
from rasterio.windows import Window

from combe.decibels import FloatArray
from combe.errors import RasterError
from combe.terrain.blocks import BLOCK_CELLS, Block
from combe.terrain.raster import read_numbers, safe_open
from combe.terrain.tiles import Terrain, Tile

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
    narrow = all(tile.narrow for tile in terrain.tiles)
    heights = np.full((rows, columns), np.nan, dtype=np.float32 if narrow else np.float64)
    for tile in terrain.tiles:
        _fill_from(tile, heights, row, column)
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
        if (dataset.height, dataset.width) != (tile.rows, tile.columns):
            raise RasterError(tile.path, "it changed since it was opened", "start again")
        heights: FloatArray = read_numbers(dataset, window) * tile.metres_a_unit
    return heights
