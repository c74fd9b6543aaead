"""Tests of the study grid: metres that are metres, edges on multiples, heights at the right cells."""

from __future__ import annotations

import math

import numpy as np
import pyproj
import pytest

from combe.errors import RangeError, TerrainGapError
from combe.terrain.grid import (
    StudyGrid,
    cell_centres_m,
    grid_heights,
    make_grid,
    to_grid_m,
    to_lonlat_deg,
    utm_crs,
)
from combe.terrain.tiles import open_terrain
from support_terrain import lonlat_plane, plane_tif, write_hgt, write_tif


@pytest.fixture
def terrain(tmp_path):
    return open_terrain([plane_tif(tmp_path / "plane.tif")])


def test_utm_zone_of_the_terrain(terrain):
    grid = make_grid(terrain, cell_size_m=50.0)
    assert grid.crs == pyproj.CRS.from_epsg(32632)
    assert grid.west_m % 50.0 == 0.0
    assert grid.north_m % 50.0 == 0.0


@pytest.mark.parametrize(
    ("lon", "lat", "epsg"),
    [
        (-84.2, 36.6, 32616),
        (147.0, -36.0, 32755),
        (179.99, 10.0, 32660),
        (-180.0, 10.0, 32601),
        (180.5, -1.0, 32701),
        (0.0, 0.0, 32631),
    ],
)
def test_utm_zones(lon, lat, epsg):
    assert utm_crs(lon, lat) == pyproj.CRS.from_epsg(epsg)


def test_no_utm_zone_at_the_pole():
    with pytest.raises(RangeError, match="-84 to 84 for a UTM zone; state one"):
        utm_crs(0.0, 85.0)


def test_grid_covers_all_of_the_area(terrain):
    area = (10.02, 46.96, 10.05, 46.99)
    grid = make_grid(terrain, cell_size_m=25.0, area_deg=area)
    lon, lat = np.meshgrid(np.linspace(area[0], area[2], 20), np.linspace(area[1], area[3], 20))
    x, y = to_grid_m(grid, lon, lat)
    assert grid.west_m <= x.min() < grid.west_m + 25.0
    assert grid.north_m - 25.0 < y.max() <= grid.north_m
    assert x.max() <= grid.west_m + grid.columns * 25.0
    assert y.min() >= grid.north_m - grid.rows * 25.0


def test_cell_centres_run_east_and_south(terrain):
    grid = StudyGrid(pyproj.CRS.from_epsg(32632), 500_000.0, 5_200_000.0, 100.0, 2, 3)
    x, y = cell_centres_m(grid)
    assert x.tolist() == [500_050.0, 500_150.0, 500_250.0]
    assert y.tolist() == [5_199_950.0, 5_199_850.0]


def test_degrees_and_back(terrain):
    grid = make_grid(terrain, cell_size_m=50.0)
    lon, lat = to_lonlat_deg(grid, *to_grid_m(grid, [10.03, 10.04], [46.97, 46.98]))
    assert lon.tolist() == pytest.approx([10.03, 10.04], abs=1e-10)
    assert lat.tolist() == pytest.approx([46.97, 46.98], abs=1e-10)


def test_heights_of_a_plane_are_exact(terrain):
    grid = make_grid(terrain, cell_size_m=20.0)
    heights = grid_heights(terrain, grid)
    lon, lat = to_lonlat_deg(grid, *np.meshgrid(*cell_centres_m(grid)))
    inside = (lon > 10.0005) & (lon < 10.0795) & (lat > 46.9524) & (lat < 46.9996)
    assert heights.shape == (grid.rows, grid.columns) == inside.shape
    assert np.array_equal(np.isfinite(heights), inside)
    assert np.allclose(heights[inside], lonlat_plane(lon, lat)[inside], rtol=0, atol=1e-9)
    assert np.nanmean(heights[:, -30]) > np.nanmean(heights[:, 30]), "east is higher, and is on the right"
    assert np.nanmean(heights[30]) < np.nanmean(heights[-30]), "south is higher, and is at the bottom"


def test_row_blocks_make_no_difference(terrain, monkeypatch):
    grid = make_grid(terrain, cell_size_m=50.0)
    whole = grid_heights(terrain, grid)
    monkeypatch.setattr("combe.terrain.grid._CELLS_AT_A_TIME", 1)
    assert np.array_equal(grid_heights(terrain, grid), whole, equal_nan=True)


def test_cone_keeps_its_place(tmp_path):
    # A cone of slope 0.2 about a known place, in a raster of another zone than the grid's.
    zone31 = pyproj.Transformer.from_crs(4326, "EPSG:32631", always_xy=True)
    x0, y0 = zone31.transform(6.2, 46.0)
    offset = (np.arange(201) - 100) * 30.0
    heights = 1500.0 - 0.2 * np.hypot(offset[np.newaxis], offset[:, np.newaxis])
    path = write_tif(tmp_path / "cone.tif", heights, x0 - 3015.0, y0 + 3015.0, 30.0, crs="EPSG:32631")
    terrain = open_terrain([path])
    grid = make_grid(terrain, cell_size_m=30.0, crs="EPSG:32632")
    got = grid_heights(terrain, grid)
    x, y = np.meshgrid(*cell_centres_m(grid))
    back = pyproj.Transformer.from_crs("EPSG:32632", "EPSG:32631", always_xy=True).transform(x, y)
    exact = 1500.0 - 0.2 * np.hypot(back[0] - x0, back[1] - y0)
    known = np.isfinite(got)
    assert known.mean() > 0.8
    assert np.abs(got[known] - exact[known]).max() < 30.0 * 0.2
    far = known & (exact < 1450.0)
    assert np.abs(got[far] - exact[far]).max() < 0.1


def test_southern_hemisphere(tmp_path):
    tile = np.zeros((1201, 1201))
    tile[600:, :] = 100
    terrain = open_terrain([write_hgt(tmp_path / "S37E147.hgt", tile)])
    grid = make_grid(terrain, cell_size_m=200.0, area_deg=(147.4, -36.6, 147.6, -36.4))
    assert grid.crs == pyproj.CRS.from_epsg(32755)
    heights = grid_heights(terrain, grid)
    assert not np.isnan(heights).any()
    assert (heights[0] == 0).all()
    assert (heights[-1] == 100).all()


def test_grid_across_the_antimeridian(tmp_path):
    flat = np.full((1201, 1201), 3)
    tiles = [write_hgt(tmp_path / name, flat) for name in ("S17E179.hgt", "S17W180.hgt")]
    terrain = open_terrain(tiles)
    grid = make_grid(terrain, cell_size_m=1000.0)
    heights = grid_heights(terrain, grid)
    assert heights.shape[1] < 240
    assert (heights[grid.rows // 2, 5:-5] == 3.0).all()
    west_side = make_grid(terrain, cell_size_m=1000.0, area_deg=(-179.9, -16.6, -179.6, -16.4))
    assert (grid_heights(terrain, west_side) == 3.0).all()


@pytest.mark.parametrize("size", [4.9, 1000.1, 0.0, -30.0, math.nan, math.inf])
def test_cell_size_out_of_range(terrain, size):
    with pytest.raises(RangeError, match=f"cell_size_m is {size}; allowed: 5 to 1000"):
        make_grid(terrain, cell_size_m=size)


def test_area_outside_the_terrain(terrain):
    with pytest.raises(TerrainGapError) as caught:
        make_grid(terrain, cell_size_m=50.0, area_deg=(11.0, 46.0, 12.0, 47.0))
    assert str(caught.value) == (
        "no terrain height at the study area, longitude 11 to 12, latitude 46 to 47 (tile none); "
        "the terrain (plane.tif) covers longitude 10.00000 to 10.08000, latitude 46.95200 to 47.00000; "
        "move the area or add tiles"
    )


@pytest.mark.parametrize(
    "area",
    [
        (11.0, 46.0, 10.0, 47.0),
        (10.0, 47.0, 11.0, 46.0),
        (10.0, 46.0, 11.0, 91.0),
        (math.nan, 46.0, 11.0, 47.0),
    ],
)
def test_area_that_is_none(terrain, area):
    with pytest.raises(RangeError, match="west < east and south < north, in degrees"):
        make_grid(terrain, cell_size_m=50.0, area_deg=area)


@pytest.mark.parametrize(
    ("crs", "problem"),
    [
        ("EPSG:4326", "crs of the study grid is WGS 84; allowed: a projected CRS in metres"),
        ("EPSG:2264", "a projected CRS in metres"),
        ("EPSG:3857", "whose kilometre is 68. m on the ground here; allowed: within 2 percent"),
        ("EPSG:2053", "east and north"),
        ("nowhere", "crs of the study grid is nowhere; allowed: a known CRS such as EPSG:32616"),
    ],
    ids=["degrees", "feet", "web mercator", "south-west axes", "unknown"],
)
def test_crs_that_cannot_carry_a_grid(terrain, crs, problem):
    with pytest.raises(RangeError, match=problem):
        make_grid(terrain, cell_size_m=50.0, crs=crs)


@pytest.mark.parametrize("crs", ["EPSG:2056", "EPSG:3035", "EPSG:25832"])
def test_national_grids_are_welcome(terrain, crs):
    grid = make_grid(terrain, cell_size_m=50.0, crs=crs)
    assert np.isfinite(grid_heights(terrain, grid)).mean() > 0.7


def test_too_many_cells(tmp_path):
    terrain = open_terrain([write_hgt(tmp_path / "N36W085.hgt", np.zeros((1201, 1201)))])
    with pytest.raises(RangeError, match="cells of 5 m; allowed: up to 100000000 cells; take larger cells"):
        make_grid(terrain, cell_size_m=5.0)


def test_empty_grid():
    with pytest.raises(RangeError, match="0 x 3 cells"):
        StudyGrid(pyproj.CRS.from_epsg(32632), 0.0, 0.0, 50.0, 0, 3)


def test_what_is_advised_beyond_the_utm_zones_is_accepted_there(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "north.tif")])
    with pytest.raises(
        RangeError, match=r"allowed: -84 to 84 for a UTM zone; state one in \[grid\]"
    ) as caught:
        utm_crs(10.5, 84.45)
    advised = str(caught.value).partition('crs = "')[2].rstrip('"')
    middle = terrain.west + 0.5 * terrain.columns * terrain.cell_x
    here = advised.replace("lon_0=10", f"lon_0={middle:.0f}")
    grid = make_grid(terrain, cell_size_m=500.0, crs=here)
    usual = make_grid(terrain, cell_size_m=500.0)
    assert abs(grid.rows - usual.rows) <= 2
    assert abs(grid.columns - usual.columns) <= 2
