"""Tests of voids: filled only when told, from near enough, marked, counted, and never taken for 0 m."""

from __future__ import annotations

import numpy as np
import pytest

from combe.errors import RangeError
from combe.terrain import cells as cells_module
from combe.terrain.cells import filled_cells, read_cells
from combe.terrain.grid import make_grid
from combe.terrain.projecting import to_lonlat
from combe.terrain.sampling import sample_heights
from combe.terrain.sources import join_terrains, open_terrains
from combe.terrain.tiles import open_terrain
from combe.terrain.voids import has_fills, with_fill, without_fills
from combe.terrain.voids_found import look_at_ground
from support_terrain import write_tif

CELL_M = 100.0


def with_hole(folder, name="hole.tif", holes=((slice(20, 26), slice(30, 33)),), shift=0.0, **options):
    """Return ground of 40 x 60 cells of 100 m, rising by 5 m a column, with voids in it."""
    heights = np.tile(200.0 + 5.0 * np.arange(60, dtype=np.float32), (40, 1)) + shift
    for hole in holes:
        heights[hole] = -9999.0
    path = write_tif(folder / name, heights, 600_000.0, 5_100_000.0, CELL_M, crs="EPSG:32632", nodata=-9999.0)
    return open_terrain([path], vertical_datum="EGM96", **options)


def test_voids_stay_unknown_unless_told(tmp_path):
    raw = with_hole(tmp_path)
    assert np.isnan(read_cells(raw, 20, 30, 6, 3)).all()
    filled = with_fill(raw, 300.0)
    assert not has_fills(raw)
    assert has_fills(filled)
    found = filled_cells(filled, 20, 30, 6, 3)
    assert np.isfinite(found).all()
    # Between the 345 m west of the hole and the 365 m east of it, nearer to the nearer one.
    assert (found >= 345.0).all()
    assert (found <= 365.0).all()
    assert (np.diff(found, axis=1) > 0.0).all()
    assert np.array_equal(filled_cells(filled, 0, 0, 20, 60), read_cells(raw, 0, 0, 20, 60))
    assert without_fills(filled) == raw


def test_a_fill_looks_no_farther_than_told(tmp_path):
    """A void of 9 x 9 cells: within 200 m of its rim is filled, its middle stays a void and is not 0."""
    filled = with_fill(with_hole(tmp_path, holes=[(slice(10, 19), slice(10, 19))]), 200.0)
    found = filled_cells(filled, 10, 10, 9, 9)
    known = np.isfinite(found)
    assert known[:2].all()
    assert not known[2:7, 2:7].any()
    assert found[known].min() > 200.0


def test_what_is_beyond_the_tile_is_not_filled(tmp_path):
    left = with_hole(tmp_path)
    heights = np.full((40, 10), 300.0, np.float32)
    right = write_tif(tmp_path / "r.tif", heights, 606_500.0, 5_100_000.0, CELL_M, crs="EPSG:32632")
    both = with_fill(open_terrain([left.tiles[0].path, right]), 1000.0)
    assert np.isnan(filled_cells(both, 0, 60, 40, 5)).all()


def test_a_fill_is_the_same_whatever_part_is_read(tmp_path, monkeypatch):
    filled = with_fill(with_hole(tmp_path, holes=[(slice(12, 22), slice(10, 40))]), 400.0)
    whole = filled_cells(filled, 0, 0, 40, 60)
    for row, column, rows, columns in ((12, 10, 3, 3), (15, 17, 7, 11), (0, 32, 40, 5)):
        part = filled_cells(filled, row, column, rows, columns)
        assert np.array_equal(part, whole[row : row + rows, column : column + columns], equal_nan=True)
    monkeypatch.setattr(cells_module, "BLOCK_CELLS", 7)
    assert np.array_equal(cells_module._read_block(filled, 14, 14), whole[14:22, 14:22], equal_nan=True)


@pytest.mark.parametrize("within_m", [50.0, 20_000.0])
def test_a_fill_of_no_cell_or_of_a_country(tmp_path, within_m):
    with pytest.raises(
        RangeError, match=r"fill_within_m of hole.tif is .*; allowed: 100 to 100\d\d m, 1 to 100 of"
    ):
        with_fill(with_hole(tmp_path), within_m)


def test_measured_ground_of_another_terrain_goes_before_a_fill(tmp_path):
    fine = with_fill(with_hole(tmp_path), 300.0)
    coarse = with_hole(tmp_path, "coarse.tif", holes=[(slice(22, 24), slice(31, 32))], shift=1000.0)
    both = join_terrains([fine, coarse])
    lon, lat = _middle(fine, [20, 23, 5], [30, 31, 5])
    got = sample_heights(both, lon, lat)
    assert got[0] == pytest.approx(1350.0, abs=0.1), "the other's own height"
    assert 345.0 <= got[1] <= 365.0, "void in both: filled"
    assert got[2] == pytest.approx(225.0, abs=0.1)
    assert np.isnan(sample_heights(without_fills(both), lon, lat)).tolist() == [False, True, False]


def _middle(terrain, rows, columns):
    x = terrain.west + (np.array(columns) + 0.5) * terrain.cell_x
    return to_lonlat(terrain.crs, x, terrain.north - (np.array(rows) + 0.5) * terrain.cell_y)


def test_voids_of_a_study_are_counted_and_placed(tmp_path):
    """18 and 4 cells in two patches that do not touch; of a void outside the grid nothing is said."""
    holes = [(slice(20, 26), slice(30, 33)), (slice(4, 6), slice(8, 10)), (slice(38, 40), slice(0, 60))]
    terrain = with_hole(tmp_path, holes=holes)
    west, south = _middle(terrain, [36], [2])
    east, north = _middle(terrain, [1], [57])
    area = float(west[0]), float(south[0]), float(east[0]), float(north[0])
    grid = make_grid(terrain, cell_size_m=100.0, crs="EPSG:32632", area_deg=area)
    found = look_at_ground(terrain, grid)
    assert (found.voids, found.patches, found.filled, found.below) == (22, 2, 0, 0)
    assert found.cells == grid.rows * grid.columns
    lon, lat = _middle(terrain, [20, 25], [30, 32])
    assert found.largest.cells == 18
    assert lon.min() <= found.largest.longitude_deg <= lon.max()
    assert lat.min() <= found.largest.latitude_deg <= lat.max()
    assert found.largest.tile == "hole.tif"
    filled = look_at_ground(with_fill(terrain, 300.0), grid)
    assert (filled.voids, filled.filled) == (0, 22)


def test_ground_below_the_sea_is_told_and_its_bed_is_levelled_when_told(tmp_path):
    heights = np.full((40, 60), 12.0, np.float32)
    heights[:, 40:50], heights[:, 50:] = -30.0, -3000.0
    path = write_tif(tmp_path / "sea.tif", heights, 600_000.0, 5_100_000.0, CELL_M, crs="EPSG:32632")
    terrain = open_terrain([path])
    grid = make_grid(terrain, cell_size_m=100.0, crs="EPSG:32632")
    found = look_at_ground(terrain, grid)
    assert (found.below, found.lowest_m) == (400, -30.0)
    assert (found.voids, found.deep) == (400, 400)
    (sea,) = open_terrains([path], sea_floor=True)
    level = look_at_ground(sea, grid)
    assert (level.below, level.voids) == (0, 0)
    assert np.array_equal(np.unique(read_cells(sea, 0, 0, 40, 60)), [0.0, 12.0])


def test_an_undeclared_void_is_no_bed_of_the_sea(tmp_path):
    heights = np.array([[5, -9999], [-32768, -20]], np.int16)
    path = write_tif(tmp_path / "v.tif", heights, 600_000.0, 5_100_000.0, CELL_M, crs="EPSG:32632")
    (sea,) = open_terrains([path], sea_floor=True)
    assert np.isnan(read_cells(sea, 0, 0, 2, 2)).tolist() == [[False, True], [True, False]]
