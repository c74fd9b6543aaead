"""Tests of the lattice in the web map's projection."""

import base64
import zlib

import numpy as np
import pyproj
import pytest

import support_map_page as support
from combe.publishing.map_grid import PIXEL_TO_CELL, SIDE_LIMIT, in_steps, make_lattice, pack_alike
from combe.terrain.grid import StudyGrid
from support_lattice import lattice_cells

GRIDS = {
    "UTM, far from its middle meridian": support.ridge_grid(),
    "far north, large": StudyGrid(pyproj.CRS("EPSG:32633"), 300_000.0, 7_800_000.0, 500.0, 400, 300),
    "southern": StudyGrid(pyproj.CRS("EPSG:32719"), 350_000.0, 6_300_000.0, 100.0, 200, 240),
    "another projection": StudyGrid(pyproj.CRS("EPSG:3035"), 4_000_000.0, 2_900_000.0, 100.0, 210, 180),
}


@pytest.fixture(params=GRIDS.values(), ids=GRIDS.keys())
def grid(request):
    return request.param


def centres_in_mercator(grid):
    x = grid.west_m + (np.arange(grid.columns) + 0.5) * grid.cell_size_m
    y = grid.north_m - (np.arange(grid.rows) + 0.5) * grid.cell_size_m
    return pyproj.Transformer.from_crs(grid.crs, "EPSG:3857", always_xy=True).transform(*np.meshgrid(x, y))


def test_each_cell_centre_falls_on_its_own_cell(grid):
    lattice = make_lattice(grid)
    x, y = centres_in_mercator(grid)
    column = np.floor((x - lattice.west_m) / lattice.pixel_m).astype(int)
    row = np.floor((lattice.north_m - y) / lattice.pixel_m).astype(int)
    rows, columns = lattice_cells(lattice)
    want_rows, want_columns = np.mgrid[0 : grid.rows, 0 : grid.columns]
    np.testing.assert_array_equal(rows[row, column], want_rows)
    np.testing.assert_array_equal(columns[row, column], want_columns)


def test_mesh_agrees_with_the_exact_transformation(grid):
    lattice = make_lattice(grid)
    x = lattice.west_m + (np.arange(lattice.columns) + 0.5) * lattice.pixel_m
    y = lattice.north_m - (np.arange(lattice.rows) + 0.5) * lattice.pixel_m
    to = pyproj.Transformer.from_crs("EPSG:3857", grid.crs, always_xy=True)
    study_x, study_y = to.transform(*np.meshgrid(x, y))
    rows, columns = lattice_cells(lattice)
    exact_row, exact_column = (
        (grid.north_m - study_y) / grid.cell_size_m,
        (study_x - grid.west_m) / grid.cell_size_m,
    )
    assert np.abs(rows + 0.5 - exact_row).max() < 0.5 + 0.02
    assert np.abs(columns + 0.5 - exact_column).max() < 0.5 + 0.02


def test_bounds_hold_the_whole_grid_and_little_more(grid):
    lattice = make_lattice(grid)
    rows, columns = lattice_cells(lattice)
    inside = (rows >= 0) & (rows < grid.rows) & (columns >= 0) & (columns < grid.columns)
    assert inside.any(axis=1)[[0, -2]].all()
    assert inside.any(axis=0)[[0, -2]].all()


def test_pixels_are_small_enough_and_the_lattice_is_capped():
    grid = support.ridge_grid()
    lattice = make_lattice(grid)
    ground_m = lattice.pixel_m * np.cos(np.radians(36.7))
    assert ground_m <= PIXEL_TO_CELL * grid.cell_size_m * 1.002
    wide = make_lattice(support.ridge_grid(rows=3000, columns=2000, cell_size_m=30.0))
    assert max(wide.rows, wide.columns) == SIDE_LIMIT


def unpacked(one, others, shape):
    """Undo a packing as the page does, code by code."""
    planes = np.frombuffer(zlib.decompress(base64.b64decode(one["packed"])), dtype=np.uint8).astype(np.int64)
    folded = (planes[: planes.size // 2] | (planes[planes.size // 2 :] << 8)).reshape(shape)
    steps = (folded >> 1) ^ -(folded & 1)
    codes = np.zeros(shape, dtype=np.int64)
    for row, column in np.ndindex(*shape):
        before = codes[row, column - 1] if column else codes[row - 1, 0] if row else 0
        if one["by"] == "plane" and row and column:
            before += codes[row - 1, column] - codes[row - 1, column - 1]
        codes[row, column] = (before + steps[row, column]) % 65536
    return codes if one["like"] is None else (codes + others[one["like"]]) % 65536


def test_each_grid_is_packed_by_what_suits_it_and_comes_back_whole():
    random = np.random.default_rng(9)
    y, x = np.mgrid[0:30, 0:40]
    smooth = 300.0 + 40.0 * np.sin(x / 9.0) * np.cos(y / 11.0) + 3.0 * x
    rough = random.uniform(0.0, 900.0, (30, 40))
    rough[3:6] = np.nan
    grids = {
        "smooth": in_steps(smooth, 10),
        "rough": in_steps(rough, 10),
        "beside": in_steps(rough + random.uniform(-0.2, 0.2, rough.shape), 10),
        "row": in_steps(smooth, 1),
    }
    packed = pack_alike(grids)
    assert [one["by"] for one in packed][:2] == ["plane", "left"]
    assert packed[2]["like"] == "rough"
    found = {}
    for one in packed:
        found[one["key"]] = unpacked(one, found, (30, 40))
        assert (found[one["key"]] == grids[one["key"]].codes).all(), one["key"]


def test_a_grid_of_one_row_is_packed():
    grid = in_steps(np.array([[1.0, 2.5, np.nan]]), 10)
    (one,) = pack_alike({"a": grid})
    assert (unpacked(one, {}, (1, 3)) == grid.codes).all()
