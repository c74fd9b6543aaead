"""Tests of mosaics: joints without a seam, order of overlap, tiles that do not fit."""

from __future__ import annotations

import pickle
import re

import numpy as np
import pyproj
import pytest

from combe.errors import RangeError, RasterError
from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import open_terrain, terrain_bounds_deg, tile_name_at
from support_terrain import plane_tif, write_hgt, write_tif


def srtm_plane(west: int, south: int) -> np.ndarray:
    """Return heights of a 1201-row tile that are whole metres and linear over all tiles."""
    column = west * 1200 + np.arange(1201)[np.newaxis]
    row = -(south + 1) * 1200 + np.arange(1201)[:, np.newaxis]
    return (column + 85 * 1200) // 1 + 2 * (row + 37 * 1200) + 100


def srtm_tile(folder, west: int, south: int, heights=None):
    name = f"{'N' if south >= 0 else 'S'}{abs(south):02d}{'E' if west >= 0 else 'W'}{abs(west):03d}.hgt"
    return write_hgt(folder / name, srtm_plane(west, south) if heights is None else heights)


def test_no_tiles():
    with pytest.raises(RangeError, match="number of terrain tiles is 0; allowed: 1 or more"):
        open_terrain([])


def test_facts_are_kept(tmp_path):
    terrain = open_terrain(
        [plane_tif(tmp_path / "a.tif")], vertical_datum="EGM96", surface_model=True, credit="Us"
    )
    assert (terrain.vertical_datum, terrain.surface_model, terrain.credit) == ("EGM96", True, "Us")
    assert terrain_bounds_deg(terrain) == pytest.approx((10.0, 46.952, 10.08, 47.0), abs=1e-12)
    assert (terrain.cell_x, terrain.cell_y, terrain.rows, terrain.columns) == (
        0.001,
        pytest.approx(0.0008),
        60,
        80,
    )


def test_smaller_ground_side_of_a_cell(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "a.tif")])
    # 0.001 degrees of longitude at 47 degrees north, by the radius of the parallel on WGS 84.
    e2 = 0.00669437999014
    sine = np.sin(np.radians(47.0))
    wide_m = np.radians(0.001) * 6378137.0 * np.cos(np.radians(47.0)) / np.sqrt(1 - e2 * sine**2)
    assert terrain.cell_size_m == pytest.approx(wide_m, rel=2e-5)


def test_ground_side_of_web_mercator_is_not_its_unit(tmp_path):
    path = write_tif(
        tmp_path / "m.tif", np.zeros((9, 9), np.int16), 1_000_000, 5_900_000, 100.0, crs="EPSG:3857"
    )
    assert open_terrain([path]).cell_size_m == pytest.approx(68.5, abs=0.5)


def test_vertical_datum_of_the_file(tmp_path):
    path = plane_tif(tmp_path / "a.tif", crs="EPSG:4326+5773")
    assert "EGM96" in open_terrain([path]).vertical_datum
    assert open_terrain([path], vertical_datum="mine").vertical_datum == "mine"
    assert open_terrain([path]).lonlat


def test_srtm_joint_has_no_seam(tmp_path):
    tiles = [srtm_tile(tmp_path, west, south) for west in (-86, -85) for south in (35, 36)]
    terrain = open_terrain(tiles)
    assert (terrain.rows, terrain.columns) == (2401, 2401)
    half = 0.5 / 1200
    assert terrain_bounds_deg(terrain) == pytest.approx(
        (-86 - half, 35 - half, -84 + half, 37 + half), abs=1e-9
    )
    near = np.linspace(-3, 3, 61) / 1200
    lon, lat = np.meshgrid(-85 + near, 36 + near)
    exact = (lon + 85) * 1200 - 2 * (lat - 37) * 1200 + 100
    assert np.allclose(sample_heights(terrain, lon, lat), exact, rtol=0, atol=1e-6)


def test_abutting_tiles_have_no_seam(tmp_path):
    # Copernicus GLO-30 manner: centres on the whole degree at west and north, tiles abut without overlap.
    size, cell = 120, 1 / 120
    lon = 7 + np.arange(2 * size) * cell
    lat = 47 - np.arange(size) * cell
    heights = (300 * (lon[np.newaxis] - 7) + 200 * (lat[:, np.newaxis] - 46)).astype(np.float64)
    left = write_tif(tmp_path / "e007.tif", heights[:, :size], 7 - cell / 2, 47 + cell / 2, cell)
    right = write_tif(tmp_path / "e008.tif", heights[:, size:], 8 - cell / 2, 47 + cell / 2, cell)
    terrain = open_terrain([right, left])
    probe = np.linspace(7.95, 8.05, 101)
    assert np.allclose(sample_heights(terrain, probe, 46.6), 300 * (probe - 7) + 120, rtol=0, atol=1e-8)
    assert tile_name_at(terrain, 5, size - 1) == "e007.tif"
    assert tile_name_at(terrain, 5, size) == "e008.tif"
    assert tile_name_at(terrain, 5, 2 * size) == "none"


def test_alone_the_edge_of_a_tile_is_nan_but_not_with_its_neighbour(tmp_path):
    left = write_tif(tmp_path / "l.tif", np.full((4, 4), 5.0), 10.0, 47.0, 0.01)
    right = write_tif(tmp_path / "r.tif", np.full((4, 4), 9.0), 10.04, 47.0, 0.01)
    assert np.isnan(sample_heights(open_terrain([left]), 10.04, 46.98))
    assert sample_heights(open_terrain([left, right]), 10.04, 46.98) == pytest.approx(7.0, abs=1e-9)


def test_first_tile_with_a_height_wins(tmp_path):
    first, second = np.full((4, 4), 10, np.int16), np.full((4, 4), 20, np.int16)
    first[:2] = -1
    a = write_tif(tmp_path / "a.tif", first, 10.0, 47.0, 0.01, nodata=-1)
    b = write_tif(tmp_path / "b.tif", second, 10.0, 47.0, 0.01)
    lat = 47.0 - (np.arange(4) + 0.5) * 0.01
    assert sample_heights(open_terrain([a, b]), 10.015, lat).tolist() == [20, 20, 10, 10]
    assert sample_heights(open_terrain([b, a]), 10.015, lat).tolist() == [20, 20, 20, 20]


def test_gap_between_tiles_is_nan(tmp_path):
    a = write_tif(tmp_path / "a.tif", np.full((4, 4), 5, np.int16), 10.0, 47.0, 0.01)
    b = write_tif(tmp_path / "b.tif", np.full((4, 4), 5, np.int16), 10.08, 47.0, 0.01)
    got = sample_heights(open_terrain([a, b]), [10.02, 10.06, 10.1], 46.98)
    assert np.isnan(got).tolist() == [False, True, False]


def test_many_blocks_and_a_far_tile(tmp_path):
    # 6001 columns with a hole of three degrees: three blocks across, joints at 2048 and 4096.
    tiles = [srtm_tile(tmp_path, west, 36) for west in (-85, -84, -81)]
    terrain = open_terrain(tiles)
    assert terrain.columns == 6001
    lon = np.array(
        [-85, -84.5, -85 + 2047.5 / 1200, -85 + 2048 / 1200, -82.5, -81, -85 + 4096.5 / 1200, -80.2, -80]
    )
    got = sample_heights(terrain, lon, 36.25)
    exact = (lon + 85) * 1200 + 2 * 0.75 * 1200 + 100
    exact[[4, 6]] = np.nan
    assert np.allclose(got, exact, rtol=0, atol=1e-6, equal_nan=True)
    assert len(terrain.blocks) == 3


def test_across_the_antimeridian(tmp_path):
    terrain = open_terrain(
        [
            srtm_tile(tmp_path, 179, -17, np.full((1201, 1201), 3)),
            srtm_tile(tmp_path, -180, -17, np.full((1201, 1201), 3)),
        ]
    )
    assert (terrain.columns, terrain.rows) == (2401, 1201)
    assert (
        sample_heights(terrain, [179.5, 180.0, -180.0, -179.99999, -179.5, 0.0], -16.5).tolist()[:5]
        == [3.0] * 5
    )
    assert terrain_bounds_deg(terrain)[2] == pytest.approx(181, abs=0.001)


def test_misaligned_tile_is_named(tmp_path):
    a = write_tif(tmp_path / "a.tif", np.zeros((4, 4), np.int16), 10.0, 47.0, 0.01)
    b = write_tif(tmp_path / "b.tif", np.zeros((4, 4), np.int16), 10.043, 47.0, 0.01)
    with pytest.raises(
        RasterError, match=r"b\.tif: its cells lie 0\.30 of a cell off those of a\.tif"
    ) as caught:
        open_terrain([a, b])
    assert caught.value.path == b


def test_other_cell_size_is_named(tmp_path):
    a = write_tif(tmp_path / "a.tif", np.zeros((4, 4), np.int16), 10.0, 47.0, 0.01)
    b = write_tif(tmp_path / "b.tif", np.zeros((4, 4), np.int16), 10.04, 47.0, 0.02)
    with pytest.raises(
        RasterError, match=re.escape("b.tif: its cells are 0.02 x 0.02, those of a.tif 0.01 x 0.01")
    ):
        open_terrain([a, b])


def test_other_crs_is_named(tmp_path):
    a = write_tif(tmp_path / "a.tif", np.zeros((4, 4), np.int16), 10.0, 47.0, 0.01)
    b = write_tif(tmp_path / "b.tif", np.zeros((4, 4), np.int16), 10.04, 47.0, 0.01, crs="EPSG:4258")
    with pytest.raises(RasterError, match=r"b\.tif: its CRS is ETRS89, that of a\.tif is WGS 84"):
        open_terrain([a, b])


def test_other_vertical_datum_is_not_mixed(tmp_path):
    a = write_tif(tmp_path / "a.tif", np.zeros((4, 4), np.int16), 10.0, 47.0, 0.01, crs="EPSG:4326+5773")
    b = write_tif(tmp_path / "b.tif", np.zeros((4, 4), np.int16), 10.04, 47.0, 0.01, crs="EPSG:4326+3855")
    with pytest.raises(RasterError, match=r"b\.tif: its CRS is .*EGM2008"):
        open_terrain([a, b])


def test_ellipsoidal_heights_are_said(tmp_path):
    path = write_tif(tmp_path / "a.tif", np.zeros((4, 4), np.int16), 10.0, 47.0, 0.01, crs="EPSG:4979")
    terrain = open_terrain([path])
    assert terrain.vertical_datum == "ellipsoid of WGS 84"
    assert terrain.crs == pyproj.CRS("EPSG:4326") or terrain.lonlat


def test_file_that_shrank_after_opening(tmp_path):
    path = plane_tif(tmp_path / "a.tif")
    terrain = open_terrain([path])
    plane_tif(path, rows=10, columns=10)
    with pytest.raises(RasterError, match="it changed since it was opened"):
        sample_heights(terrain, 10.02, 46.99)


def test_file_that_went_away_after_opening(tmp_path):
    path = plane_tif(tmp_path / "a.tif")
    terrain = open_terrain([path])
    path.unlink()
    with pytest.raises(RasterError, match="no such file"):
        sample_heights(terrain, 10.02, 46.99)


def test_linked_tile_keeps_its_own_name(tmp_path):
    stored = write_hgt(tmp_path / "0a1b2c", np.full((1201, 1201), 8))
    link = tmp_path / "N36W085.hgt"
    link.symlink_to(stored)
    terrain = open_terrain([link])
    assert terrain.tiles[0].name == "N36W085.hgt"
    assert sample_heights(terrain, -84.5, 36.5) == 8.0


def test_terrain_travels_to_another_process_without_its_blocks(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "a.tif")])
    before = sample_heights(terrain, 10.03, 46.97)
    twin = pickle.loads(pickle.dumps(terrain))
    assert (len(terrain.blocks), len(twin.blocks)) == (1, 0)
    assert twin == terrain
    assert sample_heights(twin, 10.03, 46.97) == before
