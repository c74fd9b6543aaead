"""A terrain of more rows and columns than a block: no seam where one block ends and the next begins."""

import numpy as np

from combe.terrain.blocks import BLOCK_CELLS
from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import open_terrain
from support_terrain import write_tif

CELL_DEG = 0.001
WEST, NORTH = 9.0, 47.0


def test_places_between_two_blocks_have_a_height(tmp_path):
    size = BLOCK_CELLS + 5
    row, column = np.arange(size)[:, None], np.arange(size)[None, :]
    plane = (100.0 + 0.25 * row + 0.125 * column).astype(np.float32)
    terrain = open_terrain([write_tif(tmp_path / "wide.tif", plane, WEST, NORTH, CELL_DEG)])
    rows = np.array([BLOCK_CELLS - 0.5, BLOCK_CELLS - 0.25, 3.0, BLOCK_CELLS - 0.75])
    columns = np.array([7.0, BLOCK_CELLS - 0.5, BLOCK_CELLS - 0.125, BLOCK_CELLS - 0.25])
    found = sample_heights(terrain, WEST + (columns + 0.5) * CELL_DEG, NORTH - (rows + 0.5) * CELL_DEG)
    np.testing.assert_allclose(found, 100.0 + 0.25 * rows + 0.125 * columns, atol=1e-3)
