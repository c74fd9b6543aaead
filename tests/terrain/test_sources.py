"""Tests of several terrains as one: order, borders, each in its own cells, and the ground under rays."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest

from combe.errors import TerrainGapError
from combe.terrain.grid import cells_to_lonlat_deg, make_grid
from combe.terrain.ground import ground_along, ground_under
from combe.terrain.ground_cells import fill_ground_cells
from combe.terrain.sampling import height_at, sample_heights
from combe.terrain.sources import join_terrains, open_terrains
from combe.terrain.tiles import all_tiles, open_terrain, terrain_bounds_deg, terrain_sources, unit_words
from support_terrain import write_tif
from support_terrains import Hills, write_lonlat, write_metres

HILLS = Hills(11.0, 46.0)
BOX = (10.95, 45.97, 11.05, 46.03)


def level(path, height_m, west, north, cells, cell, **options):
    """Open level ground."""
    write_tif(path, np.full((cells, cells), height_m, np.float32), west, north, cell, **options)
    return open_terrain([path], vertical_datum="EGM96")


def near_and_far(folder):
    """Return fine ground in UTM 32 over coarse ground in degrees, and both by themselves."""
    there = pyproj.Transformer.from_crs(4326, 32632, always_xy=True)
    x, y = (round(float(each), -2) for each in there.transform(11.0, 46.0))
    fine = open_terrain(
        [write_metres(folder / "fine.tif", HILLS, 32632, (x - 1000, y - 1000, x + 1000, y + 1000), 20.0)],
        vertical_datum="EGM2008",
        credit="Us",
    )
    coarse = open_terrain(
        [write_lonlat(folder / "coarse.tif", HILLS, BOX, (0.001, 0.001))],
        vertical_datum="EGM96",
        surface_model=True,
        credit="Them",
    )
    return join_terrains([fine, coarse]), fine, coarse


def test_the_first_terrain_with_a_height_is_sampled_in_its_own_cells(tmp_path):
    both, fine, coarse = near_and_far(tmp_path)
    lon, lat = np.random.default_rng(1).uniform((10.96, 45.98), (11.04, 46.02), (400, 2)).T
    one, two = sample_heights(fine, lon, lat), sample_heights(coarse, lon, lat)
    inside = ~np.isnan(one)
    assert 20 < inside.sum() < 380
    assert np.array_equal(sample_heights(both, lon, lat), np.where(inside, one, two))
    other_way = join_terrains([coarse, fine])
    assert np.array_equal(sample_heights(other_way, lon, lat), two)


def test_words_and_cells_of_all(tmp_path):
    both, fine, coarse = near_and_far(tmp_path)
    assert both.cell_size_m == fine.cell_size_m < coarse.cell_size_m
    assert (both.vertical_datum, both.surface_model, both.credit) == ("EGM2008; EGM96", True, "Us; Them")
    own = [(each.vertical_datum, each.surface_model, each.credit) for each in terrain_sources(both)]
    assert own == [("EGM2008", False, "Us"), ("EGM96", True, "Them")]
    assert [tile.name for tile in all_tiles(both)] == ["fine.tif", "coarse.tif"]
    assert both.crs.equals(coarse.crs), "what lies on the ground is held in the coarsest cells"


def test_one_terrain_alone_stays_as_it_is(tmp_path):
    _, fine, _ = near_and_far(tmp_path)
    assert join_terrains([fine]) is fine


def test_reach_is_that_of_all(tmp_path):
    fine = level(tmp_path / "a.tif", 5.0, 11.0, 46.0, 20, 0.001)
    coarse = level(tmp_path / "b.tif", 6.0, 11.02, 45.99, 5, 0.004)
    both = join_terrains([fine, coarse])
    west, south, east, north = terrain_bounds_deg(both)
    assert west == pytest.approx(11.0)
    assert east == pytest.approx(11.04)
    assert south == pytest.approx(45.97)
    # The drawn-out lattice keeps the coarse one's edges, so it reaches over by less than a cell.
    assert 46.0 <= north < 46.004
    assert sample_heights(both, [11.01, 11.03], [45.985, 45.98]).tolist() == [5.0, 6.0]


def test_no_gap_where_two_lattices_meet(tmp_path):
    """Cells of two widths abut at 46° N, as open models narrow them by latitude: no strip is void between."""
    north = level(tmp_path / "n.tif", 10.0, 11.0, 46.03, 20, 0.0015)
    south = level(tmp_path / "s.tif", 20.0, 11.0, 46.0, 30, 0.001)
    both = join_terrains([north, south])
    lat = 46.0 + np.linspace(-0.00203, 0.002, 80)
    got = sample_heights(both, 11.015, lat)
    assert got.tolist() == [20.0 if each < 46.0 else 10.0 for each in np.round(lat, 9)]
    assert np.isnan(sample_heights(north, 11.015, 46.0003)), "by itself it ends at its last cell centres"


def test_tiles_on_several_lattices_are_told_apart(tmp_path):
    paths = [tmp_path / f"{name}.tif" for name in "abc"]
    write_tif(paths[0], np.full((20, 20), 1, np.int16), 11.0, 46.0, 0.001)
    write_tif(paths[1], np.full((20, 20), 2, np.int16), 11.02, 46.0, 0.002)
    write_tif(paths[2], np.full((20, 20), 3, np.int16), 11.0, 46.02, 0.001)
    opened = open_terrains(paths, vertical_datum="EGM96")
    assert [[tile.name for tile in each.tiles] for each in opened] == [["a.tif", "c.tif"], ["b.tif"]]


def test_a_gap_names_the_tiles_of_all(tmp_path):
    both, _, _ = near_and_far(tmp_path)
    with pytest.raises(TerrainGapError, match=r"the terrain \(fine.tif, coarse.tif\) covers"):
        height_at(both, 12.0, 46.0)


def test_feet_of_either_are_told(tmp_path):
    both, fine, _ = near_and_far(tmp_path)
    assert unit_words(both) == ""
    path = write_tif(
        tmp_path / "feet.tif", np.full((9, 9), 100.0, np.float32), 11.0, 46.0, 0.001, crs="EPSG:4326+8050"
    )
    assert "feet.tif" in unit_words(join_terrains([fine, open_terrain([path])]))


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_rays_sample_what_is_sampled_at_their_places(tmp_path, order):
    """Over the border, in both orders: the kernel and the exact path see the same ground."""
    _, *each = near_and_far(tmp_path)
    both = join_terrains([each[order[0]], each[order[1]]])
    grid = make_grid(both, cell_size_m=50.0, area_deg=(10.97, 45.98, 11.03, 46.02))
    ground, out = ground_under(both, grid), np.empty(16)
    worst = 0.0
    for row, column in np.random.default_rng(2).uniform(10, 60, (40, 2)):
        ground_along(ground, row, column, 0.31, 0.57, out)
        step = np.arange(1, 17)
        lon, lat = cells_to_lonlat_deg(grid, row + step * 0.31, column + step * 0.57)
        worst = max(worst, np.abs(out - sample_heights(both, lon, lat)).max())
    assert worst < 0.1


def test_a_source_far_from_the_grid_is_left_out(tmp_path):
    far = level(tmp_path / "far.tif", 5.0, 11.5, 46.0, 20, 0.0005)
    _, _, coarse = near_and_far(tmp_path)
    both = join_terrains([far, coarse])
    ground = ground_under(both, make_grid(both, cell_size_m=50.0, area_deg=(10.96, 45.98, 10.98, 46.0)))
    assert ground.layers.size.shape == (0, 3)
    own = fill_ground_cells(
        both,
        make_grid(both, cell_size_m=50.0, area_deg=(10.96, 45.98, 10.98, 46.0)),
        lambda lon, lat: sample_heights(coarse, lon, lat),
        float,
        ground,
    )
    assert np.allclose(own, ground.heights, rtol=0, atol=1e-4, equal_nan=True)
