"""Tests that heights between cell centres are exact on planes, and NaN where any that counts is missing."""

from __future__ import annotations

import math

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import TerrainGapError
from combe.terrain.sampling import bilinear, height_at, lattice_position, sample_heights
from combe.terrain.tiles import open_terrain
from support_terrain import lonlat_plane, plane_tif, write_hgt, write_tif

TWISTED = np.array([[0.0, 10.0, 30.0], [100.0, 120.0, 160.0]])


@pytest.mark.parametrize(
    ("row", "column", "height"),
    [
        (0.0, 0.0, 0.0),
        (1.0, 2.0, 160.0),
        (0.5, 0.0, 50.0),
        (0.0, 1.5, 20.0),
        (0.5, 0.5, 57.5),
        (0.25, 1.75, 0.75 * 25.0 + 0.25 * 150.0),
    ],
)
def test_bilinear_by_hand(row, column, height):
    assert bilinear(TWISTED, row, column) == pytest.approx(height, abs=1e-12)


@pytest.mark.parametrize(
    ("row", "column"),
    [(-1e-9, 0.0), (0.0, -1e-9), (1.0 + 1e-9, 0.0), (0.0, 2.0 + 1e-9), (math.nan, 0.0), (0.0, math.inf)],
)
def test_bilinear_outside_is_nan(row, column):
    assert math.isnan(bilinear(TWISTED, row, column))


def test_a_void_counts_only_with_a_weight():
    heights = np.array([[1.0, 2.0, math.nan], [3.0, 4.0, 5.0], [6.0, 7.0, 8.0]])
    assert bilinear(heights, 0.0, 1.0) == 2.0
    assert bilinear(heights, 1.0, 2.0) == 5.0
    assert bilinear(heights, 1.0, 1.5) == 4.5
    assert math.isnan(bilinear(heights, 0.0, 1.0 + 1e-6))
    assert math.isnan(bilinear(heights, 1.0 - 1e-6, 2.0))
    assert math.isnan(bilinear(heights, 0.0, 2.0))


@given(st.floats(0, 3), st.floats(0, 4))
def test_bilinear_stays_between_its_neighbours(row, column):
    heights = np.random.default_rng(7).uniform(-100.0, 900.0, (4, 5))
    around = heights[math.floor(row) : math.ceil(row) + 1, math.floor(column) : math.ceil(column) + 1]
    assert around.min() - 1e-9 <= bilinear(heights, row, column) <= around.max() + 1e-9


def test_one_cell_is_known_at_its_centre_only():
    assert bilinear(np.array([[5.0]]), 0.0, 0.0) == 5.0
    assert math.isnan(bilinear(np.array([[5.0]]), 0.0, 0.1))


def test_plane_with_oblong_cells_is_exact(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "a.tif")])
    rng = np.random.default_rng(1)
    lon, lat = rng.uniform(10.0005, 10.0795, (50, 40)), rng.uniform(46.9525, 46.9995, (50, 40))
    got = sample_heights(terrain, lon, lat)
    assert got.shape == (50, 40)
    assert np.allclose(got, lonlat_plane(lon, lat), rtol=0, atol=1e-9)


@pytest.mark.parametrize("crs", ["EPSG:32632", "EPSG:3857", "EPSG:3035", "EPSG:2056", "EPSG:32755"])
def test_plane_in_any_crs_is_exact(tmp_path, crs):
    lon0, lat0 = (147.0, -36.0) if crs == "EPSG:32755" else (8.3, 46.8)
    to_crs = pyproj.Transformer.from_crs(4326, crs, always_xy=True)
    x0, y0 = to_crs.transform(lon0, lat0)
    x, y = x0 + (np.arange(40) + 0.5) * 50.0, y0 - (np.arange(30) + 0.5) * 40.0
    heights = 700.0 + 0.05 * (x[np.newaxis] - x0) + 0.03 * (y[:, np.newaxis] - y0)
    terrain = open_terrain([write_tif(tmp_path / "p.tif", heights, x0, y0, 50.0, 40.0, crs=crs)])
    rng = np.random.default_rng(2)
    east, north = rng.uniform(x[0], x[-1], 200), rng.uniform(y[-1], y[0], 200)
    lon, lat = to_crs.transform(east, north, direction="INVERSE")
    # There and back is not exact to the micrometre where the datum is shifted, so the place is taken again.
    east, north = to_crs.transform(lon, lat)
    exact = 700.0 + 0.05 * (east - x0) + 0.03 * (north - y0)
    assert np.allclose(sample_heights(terrain, lon, lat), exact, rtol=0, atol=1e-6)


def test_heights_belong_to_cell_centres(tmp_path):
    heights = np.arange(12, dtype=np.int16).reshape(3, 4)
    terrain = open_terrain([write_tif(tmp_path / "a.tif", heights, 10.0, 47.0, 0.1)])
    lon, lat = np.meshgrid(10.05 + 0.1 * np.arange(4), 46.95 - 0.1 * np.arange(3))
    assert np.array_equal(sample_heights(terrain, lon, lat), heights)


def test_outermost_half_cell_is_nan(tmp_path):
    terrain = open_terrain([write_tif(tmp_path / "a.tif", np.full((3, 3), 5.0), 10.0, 47.0, 0.1)])
    inside = sample_heights(terrain, [10.05, 10.25, 10.15, 10.15], [46.85, 46.85, 46.95, 46.75])
    outside = sample_heights(terrain, [10.04, 10.26, 10.15, 10.15, 20.0], [46.85, 46.85, 46.96, 46.74, 0.0])
    assert inside.tolist() == [5.0] * 4
    assert np.isnan(outside).all()


def test_places_that_are_no_places_are_nan(tmp_path):
    for crs, west, north, cell in (("EPSG:4326", 10.0, 47.0, 0.1), ("EPSG:3857", 1e6, 6e6, 100.0)):
        path = write_tif(tmp_path / "a.tif", np.full((3, 3), 5.0), west, north, cell, crs=crs)
        got = sample_heights(
            open_terrain([path]), [math.nan, math.inf, 10.0, 10.0], [47.0, 47.0, math.nan, 90.5]
        )
        assert np.isnan(got).all()


@pytest.mark.parametrize(
    ("dtype", "nodata", "void"),
    [
        (np.int16, -32768, -32768),
        (np.uint16, 65535, 65535),
        (np.float32, -3.4028234663852886e38, -3.4028234663852886e38),
        (np.float32, -9999.9, np.float32(-9999.9)),
        (np.float32, 123.4, np.float32(123.4)),
        (np.float32, math.nan, math.nan),
        (np.float64, None, math.nan),
        (np.int16, None, -32768),
        (np.int16, None, -9999),
        (np.float32, None, 1e20),
        (np.uint8, 0, 0),
    ],
)
def test_voids_declared_or_evident_are_nan(tmp_path, dtype, nodata, void):
    heights = np.full((4, 4), 50, dtype=dtype)
    heights[1, 1] = void
    terrain = open_terrain([write_tif(tmp_path / "a.tif", heights, 10.0, 47.0, 0.1, nodata=nodata)])
    got = sample_heights(terrain, [10.15, 10.2, 10.35], [46.85, 46.8, 46.65])
    assert np.isnan(got).tolist() == [True, True, False]
    assert got[2] == 50.0


def test_sea_level_and_below_are_heights(tmp_path):
    heights = np.array([[0, 0, 0], [-430, -430, -430]], dtype=np.int16)
    terrain = open_terrain([write_tif(tmp_path / "a.tif", heights, 35.0, 32.0, 0.1, nodata=-32768)])
    assert sample_heights(terrain, 35.15, [31.95, 31.85]).tolist() == [0.0, -430.0]


def test_scaled_heights(tmp_path):
    path = write_tif(tmp_path / "a.tif", np.full((3, 3), 2345, np.int16), 10.0, 47.0, 0.1)
    import rasterio

    with rasterio.open(path, "r+") as dataset:
        dataset.scales, dataset.offsets = (0.1,), (100.0,)
    assert sample_heights(open_terrain([path]), 10.15, 46.85) == pytest.approx(334.5, abs=1e-9)


@pytest.mark.parametrize("rows", [1201, 3601])
def test_hgt_in_its_own_registration(tmp_path, rows):
    heights = np.add.outer(np.arange(rows) // 4, np.arange(rows) % 300).astype(np.int16)
    heights[10, 20] = -32768
    terrain = open_terrain([write_hgt(tmp_path / "N36W085.hgt", heights)])
    step = 1.0 / (rows - 1)
    corners = sample_heights(terrain, [-85.0, -84.0, -85.0, -84.0], [37.0, 37.0, 36.0, 36.0])
    assert corners.tolist() == [heights[0, 0], heights[0, -1], heights[-1, 0], heights[-1, -1]]
    assert sample_heights(terrain, -85 + 100 * step, 37 - 200 * step) == heights[200, 100]
    assert np.isnan(sample_heights(terrain, -85 + 20.5 * step, 37 - 10 * step))


def test_hgt_of_the_south_and_east(tmp_path):
    terrain = open_terrain([write_hgt(tmp_path / "S37E147.hgt", np.full((1201, 1201), 800))])
    assert sample_heights(terrain, 147.5, -36.5) == 800.0
    assert np.isnan(sample_heights(terrain, 147.5, -37.5))


def test_ascii_grid(tmp_path):
    path = tmp_path / "g.asc"
    path.write_text(
        "ncols 3\nnrows 2\nxllcorner 500000\nyllcorner 4000000\ncellsize 100\n"
        "NODATA_value -9999\n1.5 2 3\n4 5 -9999\n"
    )
    terrain = open_terrain([path], crs="EPSG:32616")
    to_lonlat = pyproj.Transformer.from_crs("EPSG:32616", 4326, always_xy=True)
    lon, lat = to_lonlat.transform([500050, 500150, 500100, 500250], [4000150, 4000050, 4000100, 4000050])
    got = sample_heights(terrain, lon, lat)
    assert got[:3].tolist() == pytest.approx([1.5, 5.0, 3.125], abs=1e-6)
    assert np.isnan(got[3])


def test_height_at_says_what_is_missing(tmp_path):
    heights = np.full((4, 4), 50, np.int16)
    heights[1, 1] = -1
    terrain = open_terrain([write_tif(tmp_path / "hill.tif", heights, 10.0, 47.0, 0.1, nodata=-1)])
    assert height_at(terrain, 10.35, 46.65) == 50.0
    with pytest.raises(TerrainGapError) as void:
        height_at(terrain, 10.15, 46.85, "relay Hollow")
    assert str(void.value) == (
        "no terrain height at longitude 10.150000, latitude 46.850000 (relay Hollow) (tile hill.tif); "
        "the tile is void there or ends; fill it, add the next tile or move the place"
    )
    assert void.value.tile == "hill.tif"
    with pytest.raises(TerrainGapError) as beyond:
        height_at(terrain, 11.0, 46.85)
    assert beyond.value.tile == "none"
    assert (
        "the terrain (hill.tif) covers longitude 10.00000 to 10.40000, latitude 46.60000 to 47.00000"
        in str(beyond.value)
    )


def test_scalars_and_broadcasting(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "a.tif")])
    assert sample_heights(terrain, 10.02, 46.98).shape == ()
    assert sample_heights(terrain, np.full((3, 1), 10.02), np.full(4, 46.98)).shape == (3, 4)
    assert sample_heights(terrain, [], []).shape == (0,)


def test_lattice_counts_from_the_first_centre(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "a.tif")])
    row, column = lattice_position(terrain, [10.0005, 10.0025], [46.9996, 46.998])
    assert row.tolist() == pytest.approx([0.0, 2.0], abs=1e-9)
    assert column.tolist() == pytest.approx([0.0, 2.0], abs=1e-9)
