"""Tests that the ground under a grid is the terrain itself, to the stated few centimetres of place."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest

from combe.terrain.grid import StudyGrid, cell_centres_m, grid_heights, make_grid, to_lonlat_deg
from combe.terrain.ground import ground_along, ground_under
from combe.terrain.samples import SRTM_SAMPLE, sample_folder
from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import open_terrain
from support_prediction import ground_height
from support_terrain import plane_tif, write_hgt


def heights_at(ground, rows, columns) -> np.ndarray:
    return np.array([ground_height(ground, row, column) for row, column in zip(rows, columns, strict=True)])


def lonlat_of(grid: StudyGrid, rows, columns):
    x = grid.west_m + (columns + 0.5) * grid.cell_size_m
    y = grid.north_m - (rows + 0.5) * grid.cell_size_m
    return to_lonlat_deg(grid, x, y)


@pytest.mark.parametrize("cell_size_m", [30.0, 100.0, 250.0, 1000.0])
def test_same_as_sampling_place_by_place(cell_size_m):
    terrain = open_terrain([sample_folder() / SRTM_SAMPLE])
    grid = make_grid(terrain, cell_size_m=cell_size_m)
    ground = ground_under(terrain, grid)
    rng = np.random.default_rng(11)
    rows, columns = rng.uniform(0, grid.rows - 1, 2000), rng.uniform(0, grid.columns - 1, 2000)
    got, exact = heights_at(ground, rows, columns), sample_heights(terrain, *lonlat_of(grid, rows, columns))
    both = np.isfinite(got) & np.isfinite(exact)
    assert both.mean() > 0.9
    assert np.mean(np.isfinite(got) != np.isfinite(exact)) < 0.002
    # The table misses a place by the square of its spacing, 1500 m whatever the cells: 2 cm of height here.
    assert np.abs(got[both] - exact[both]).max() < 0.04


def test_cell_centres_agree_with_the_height_grid(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "plane.tif")])
    grid = make_grid(terrain, cell_size_m=50.0)
    ground, heights = ground_under(terrain, grid), grid_heights(terrain, grid)
    rows, columns = np.mgrid[: grid.rows : 7, : grid.columns : 7].reshape(2, -1).astype(float)
    got, exact = heights_at(ground, rows, columns), heights[::7, ::7].ravel()
    both = np.isfinite(got) & np.isfinite(exact)
    assert both.mean() > 0.8
    assert np.allclose(got[both], exact[both], rtol=0, atol=0.01)


def test_voids_and_beyond_are_nan(tmp_path):
    tile = np.full((1201, 1201), 100)
    tile[500:700, 500:700] = -32768
    terrain = open_terrain([write_hgt(tmp_path / "N36W085.hgt", tile)])
    grid = make_grid(terrain, cell_size_m=200.0, area_deg=(-84.7, 36.3, -84.3, 36.7))
    ground = ground_under(terrain, grid)
    assert np.isnan(ground_height(ground, grid.rows / 2, grid.columns / 2))
    assert ground_height(ground, 5.0, 5.0) == 100.0
    assert np.isnan(ground_height(ground, -1000.0, 5.0))
    assert np.isnan(ground_height(ground, 5.0, 1e6))


def test_joint_of_blocks_has_no_seam(tmp_path):
    # 3601 rows make two blocks each way; heights are linear in row and column.
    tile = np.add.outer(np.arange(3601) // 1, np.arange(3601))
    terrain = open_terrain([write_hgt(tmp_path / "N36W085.hgt", tile)])
    middle = -85.0 + 2048.0 / 3600.0, 37.0 - 2048.0 / 3600.0
    area = (middle[0] - 0.02, middle[1] - 0.02, middle[0] + 0.02, middle[1] + 0.02)
    grid = make_grid(terrain, cell_size_m=30.0, area_deg=area)
    ground = ground_under(terrain, grid)
    x, y = np.meshgrid(*cell_centres_m(grid))
    lon, lat = pyproj.Transformer.from_crs(grid.crs, 4326, always_xy=True).transform(x, y)
    exact = (lon + 85.0) * 3600.0 + (37.0 - lat) * 3600.0
    rows, columns = np.mgrid[: grid.rows : 5, : grid.columns : 5].reshape(2, -1).astype(float)
    assert np.allclose(heights_at(ground, rows, columns), exact[::5, ::5].ravel(), rtol=0, atol=0.01)


def test_along_a_ray_is_the_same_ground():
    terrain = open_terrain([sample_folder() / SRTM_SAMPLE])
    grid = make_grid(terrain, cell_size_m=90.0)
    ground = ground_under(terrain, grid)
    got = np.empty(16)
    ground_along(ground, 180.3, 40.7, -0.61, 0.52, got)
    steps = np.arange(1, 17)
    assert np.allclose(got, heights_at(ground, 180.3 - 0.61 * steps, 40.7 + 0.52 * steps), rtol=0, atol=0.02)
