"""Ground cover: classes by the nearest cell, canopy interpolated, and the same under a study grid."""

import numpy as np
import pytest

from combe.errors import RangeError, RasterError
from combe.terrain.clutter import (
    GroundCover,
    clutter_heights,
    clutter_under,
    cover_division,
    heights_or_gaps,
    open_cover,
)
from combe.terrain.grid import make_grid
from combe.terrain.ground import ground_under
from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import open_terrain
from support_terrain import plane_tif, write_tif

HEIGHTS = {10: 15.0, 30: 0.0, 50: 10.0}


def classes_tif(path, **options):
    """Write 2 x 3 cells of 0.1 degrees, north-west corner 10 E 47 N; one of them without data."""
    codes = np.array([[10, 30, 50], [30, 10, 0]], dtype=np.uint8)
    return write_tif(path, codes, 10.0, 47.0, 0.1, nodata=0, **options)


def test_classes_have_the_height_of_the_nearest_cell(tmp_path):
    cover = open_cover([classes_tif(tmp_path / "cover.tif")], class_height_m=HEIGHTS)
    lon, lat = (
        np.array([10.001, 10.099, 10.101, 10.299, 10.15]),
        np.array([46.999, 46.901, 46.95, 46.95, 46.85]),
    )
    assert clutter_heights(cover, lon, lat).tolist() == [15.0, 15.0, 0.0, 10.0, 15.0]
    assert cover.words == "cover.tif"
    assert clutter_heights(cover, 10.05, np.array([[46.95], [46.85]])).tolist() == [[15.0], [0.0]]


def test_canopy_is_interpolated(tmp_path):
    heights = np.array([[0.0, 10.0], [20.0, 30.0]], dtype=np.float32)
    cover = open_cover([write_tif(tmp_path / "canopy.tif", heights, 10.0, 47.0, 0.1)])
    assert clutter_heights(cover, 10.1, 46.9) == pytest.approx(15.0)
    assert clutter_heights(cover, 10.05, 46.9) == pytest.approx(10.0)


def test_a_place_without_data_is_named(tmp_path):
    cover = open_cover([classes_tif(tmp_path / "cover.tif")], class_height_m=HEIGHTS)
    with pytest.raises(
        RasterError, match=r"cover\.tif: it holds no ground cover at longitude 10\.250000, lat"
    ):
        clutter_heights(cover, [10.05, 10.25], [46.95, 46.85])
    with pytest.raises(
        RasterError, match=r"the ground cover \(cover\.tif\) covers longitude 10\.00000 to 10"
    ):
        clutter_heights(cover, 10.301, 46.95)


def test_an_unknown_class_is_named(tmp_path):
    cover = open_cover([classes_tif(tmp_path / "cover.tif")], class_height_m={10: 15.0, 30: 0.0})
    assert clutter_heights(cover, 10.05, 46.95) == 15.0
    with pytest.raises(RangeError) as caught:
        clutter_heights(cover, 10.25, 46.95)
    assert str(caught.value) == (
        "class of ground cover in cover.tif is 50; allowed: 10, 30; "
        "add the class to the table of heights, or take the legend of this raster"
    )


@pytest.mark.parametrize("wrong", [255.0, -5.0])
def test_a_canopy_height_that_is_none(tmp_path, wrong):
    heights = np.array([[1.0, 2.0], [3.0, wrong]], dtype=np.float32)
    cover = open_cover([write_tif(tmp_path / "canopy.tif", heights, 10.0, 47.0, 0.1)])
    with pytest.raises(RasterError, match=rf"a height of cover of {wrong:g} m; allowed: 0 to 150; declare"):
        clutter_heights(cover, 10.15, 46.85)


def test_a_table_of_heights_out_of_range(tmp_path):
    raster = open_terrain([classes_tif(tmp_path / "cover.tif")])
    with pytest.raises(RangeError, match="height of cover class 10 is 200"):
        GroundCover(raster, {10: 200.0}, "cover")


def lattice_of(terrain, top, left, rows, columns, parts=1):
    lon = terrain.west + (left + (np.arange(columns) + 0.5) / parts) * terrain.cell_x
    lat = terrain.north - (top + (np.arange(rows) + 0.5) / parts) * terrain.cell_y
    return np.meshgrid(lon, lat)


def cover_of(folder, crs="EPSG:4326", west=9.99, north=47.01, cell=0.0007):
    codes = np.random.default_rng(5).choice([10, 30, 50], size=(150, 170)).astype(np.uint8)
    path = write_tif(folder / "cover.tif", codes, west, north, cell, crs=crs)
    return open_cover([path], class_height_m=HEIGHTS)


@pytest.mark.parametrize(("cell", "parts"), [(0.0007, 2), (0.00034, 3), (0.002, 1)])
@pytest.mark.parametrize("area_deg", [None, (10.02, 46.97, 10.05, 46.985)], ids=["whole", "part"])
def test_cover_in_the_cells_of_the_terrain_or_in_parts_of_them(tmp_path, area_deg, cell, parts):
    terrain = open_terrain([plane_tif(tmp_path / "plane.tif")])
    grid = make_grid(terrain, cell_size_m=100.0, area_deg=area_deg)
    ground = ground_under(terrain, grid)
    cover = cover_of(tmp_path, cell=cell)
    found = clutter_under(cover, terrain, grid)
    assert found.shape == tuple(parts * size for size in ground.heights.shape)
    assert found.dtype == np.float32
    # The ground of a plane tells where its first cell lies: compare every cell with the place it is at.
    whole = lattice_of(terrain, 0, 0, terrain.rows, terrain.columns)
    plane = sample_heights(terrain, *whole)
    top, left = (int(place[0]) for place in np.nonzero(plane == ground.heights[0, 0]))
    expected = heights_or_gaps(cover, *lattice_of(terrain, top, left, *found.shape, parts))
    assert np.isfinite(expected).mean() > 0.3
    assert np.array_equal(found, expected, equal_nan=True)
    assert np.array_equal(found, clutter_under(cover, terrain, grid, ground), equal_nan=True)


def test_cover_is_held_no_finer_than_it_is_looked_at_and_than_there_is_room():
    assert cover_division(cover_cell_m=10.0, terrain_cell_m=30.0, cells=1_000_000) == 3
    assert cover_division(cover_cell_m=9.3, terrain_cell_m=74.4, cells=140_000) == 8
    assert cover_division(cover_cell_m=1.0, terrain_cell_m=30.0, cells=1_000_000) == 4
    assert cover_division(cover_cell_m=30.1, terrain_cell_m=30.0, cells=1_000_000) == 1
    assert cover_division(cover_cell_m=10.0, terrain_cell_m=90.0, cells=4_000_000) == 4
    assert cover_division(cover_cell_m=10.0, terrain_cell_m=30.0, cells=100_000_000) == 1


def test_cover_that_ends_within_the_grid_leaves_gaps(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "plane.tif")])
    grid = make_grid(terrain, cell_size_m=100.0)
    cover = cover_of(tmp_path, west=10.04)
    found = clutter_under(cover, terrain, grid)
    assert np.isnan(found[:, 0]).all()
    assert np.isfinite(found[:, -1]).all()


def test_cover_in_another_system_than_the_terrain(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "plane.tif")])
    grid = make_grid(terrain, cell_size_m=100.0)
    # UTM zone 32 north of the plane's place, cells of 60 m.
    cover = cover_of(tmp_path, crs="EPSG:32632", west=575_000.0, north=5_206_000.0, cell=60.0)
    found = clutter_under(cover, terrain, grid)
    assert np.isfinite(found).all()
    assert set(np.unique(found)) == {0.0, 10.0, 15.0}
