"""Outlines of cells: along their edges, with holes, in the grid's own metres."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.terrain.outlines import cell_outlines
from support_map_page import ridge_grid

GRID = ridge_grid(rows=80, columns=70, cell_size_m=90.0)


def test_outlines_follow_the_cells_and_keep_holes():
    chosen = np.zeros((80, 70), dtype=bool)
    chosen[10:20, 30:50] = True
    chosen[12:14, 35:40] = False
    chosen[60:70, 60:61] = True
    found = cell_outlines(chosen, GRID)
    assert found.is_valid
    assert found.area == pytest.approx((200 - 10 + 10) * 90.0**2)
    assert sorted(len(each.interiors) for each in found.geoms) == [0, 1]
    west, south, east, north = found.bounds
    assert (west, east) == (GRID.west_m + 30 * 90.0, GRID.west_m + 61 * 90.0)
    assert (south, north) == (GRID.north_m - 70 * 90.0, GRID.north_m - 10 * 90.0)


def test_no_cell_has_an_empty_outline():
    assert cell_outlines(np.zeros((80, 70), dtype=bool), GRID).is_empty


def test_another_shape_is_refused():
    with pytest.raises(RangeError, match=r"shape of the cells to be outlined is \(70, 80\)"):
        cell_outlines(np.zeros((70, 80), dtype=bool), GRID)
