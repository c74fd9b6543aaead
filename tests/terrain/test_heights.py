"""Heights as a file declares them: their unit, what they count from, and cells that are no numbers."""

from __future__ import annotations

import numpy as np
import pytest
import rasterio

from combe.errors import RasterError
from combe.terrain.cells import block_at
from combe.terrain.clutter import open_cover
from combe.terrain.tiles import open_terrain, unit_words
from combe.terrain.zones import open_zones
from support_terrain import write_tif

HEIGHTS = np.array([[100.0, 200.0, 300.0], [400.0, 500.0, 600.0]], dtype=np.float32)
SURVEY_FOOT_M = 1200.0 / 3937.0
"""US survey foot; the international one is 0.3048 m."""


def tile(folder, crs="EPSG:32616", unit=None, name="tile.tif"):
    path = write_tif(folder / name, HEIGHTS, 500000.0, 4000000.0, 100.0, crs=crs)
    if unit is not None:
        with rasterio.open(path, "r+") as dataset:
            dataset.units = (unit,)
    return path


def heights(*paths, **more):
    return block_at(open_terrain(paths, **more), 0, 0)


def test_without_a_word_heights_are_metres(tmp_path):
    assert np.array_equal(heights(tile(tmp_path)), HEIGHTS)
    assert np.array_equal(heights(tile(tmp_path, unit="metre", name="said.tif")), HEIGHTS)


@pytest.mark.parametrize(
    ("crs", "unit", "metres"),
    [
        ("EPSG:32616", "ft", 0.3048),
        ("EPSG:32616", "US survey foot", SURVEY_FOOT_M),
        ("EPSG:32616", "cm", 0.01),
        ("EPSG:32616+6360", None, SURVEY_FOOT_M),  # NAVD88 height (ftUS)
        ("EPSG:32616+8228", None, 0.3048),  # NAVD88 height (ft)
        ("EPSG:32616+5703", None, 1.0),  # NAVD88 height
    ],
)
def test_heights_in_the_unit_that_the_file_declares_become_metres(tmp_path, crs, unit, metres):
    assert heights(tile(tmp_path, crs, unit)) == pytest.approx(HEIGHTS * metres, rel=1e-6)


@pytest.mark.parametrize(
    ("crs", "unit", "words"),
    [
        ("EPSG:32616", "K", "its numbers count in 'K', no length"),
        ("EPSG:32616+6360", "m", "its CRS counts heights in US survey foot, its band in metres"),
    ],
)
def test_units_that_cannot_be_heights_are_refused(tmp_path, crs, unit, words):
    with pytest.raises(RasterError) as caught:
        open_terrain([tile(tmp_path, crs, unit)])
    assert words in str(caught.value)


@pytest.mark.parametrize(("crs", "unit"), [("EPSG:32616+6360", None), ("EPSG:32616", "class")])
def test_numbers_of_classes_have_no_unit_of_height(tmp_path, crs, unit):
    codes = tile(tmp_path, crs, unit)
    assert np.array_equal(open_cover([codes], class_height_m={100: 15.0}).raster.tiles[0].metres_a_unit, 1.0)
    assert np.array_equal(block_at(open_cover([codes], class_height_m={100: 15.0}).raster, 0, 0), HEIGHTS)
    assert np.array_equal(block_at(open_zones([codes], names={1: "sea"}).raster, 0, 0), HEIGHTS)


def test_heights_of_cover_are_converted_and_said_to_be(tmp_path):
    canopy = open_cover([tile(tmp_path, unit="ft")], words="canopy")
    assert block_at(canopy.raster, 0, 0) == pytest.approx(HEIGHTS * 0.3048, rel=1e-6)
    assert canopy.words == "canopy; heights of tile.tif declared in ft, converted to metres"


def test_tiles_of_two_units_meet_in_metres(tmp_path):
    west = tile(tmp_path, unit="ft")
    east = write_tif(tmp_path / "east.tif", HEIGHTS, 500300.0, 4000000.0, 100.0, crs="EPSG:32616")
    assert unit_words(open_terrain([west, east])) == "heights of tile.tif declared in ft, converted to metres"
    assert unit_words(open_terrain([east])) == ""
    assert heights(west, east) == pytest.approx(np.hstack([HEIGHTS * 0.3048, HEIGHTS]), rel=1e-6)


def test_heights_over_the_ellipsoid_are_not_taken_for_those_over_the_geoid(tmp_path):
    path = write_tif(tmp_path / "tile.tif", HEIGHTS, 9.0, 47.0, 0.001, crs="EPSG:4979")
    assert open_terrain([path]).vertical_datum.startswith("ellipsoid")
    with pytest.raises(
        RasterError, match="counts heights from the ellipsoid, vertical_datum of the study is"
    ):
        open_terrain([path], vertical_datum="EGM96")


GRID = """ncols 3
nrows 2
xllcorner 500000
yllcorner 4000000
cellsize 100
NODATA_value -9999
1 2 3
4 {cell} -9999
"""


@pytest.mark.parametrize("word", ["nan", "NaN", "void", "*", "1,5", "--", "0x10", "4e"])
def test_a_word_among_the_cells_of_a_grid_is_never_ground(tmp_path, word):
    path = tmp_path / "words.asc"
    path.write_text(GRID.format(cell=word))
    with pytest.raises(RasterError) as caught:
        open_terrain([path], crs="EPSG:32616")
    assert f"{word!r} stands among its cells" in str(caught.value)
    assert "words.asc" in str(caught.value)


@pytest.mark.parametrize("row", ["none 5 6", "nodata 5 6", "dx 5 6", "no 5 6", "cellsize 5 6"])
def test_a_word_at_the_head_of_a_row_is_no_key_of_the_header(tmp_path, row):
    path = tmp_path / "head.asc"
    path.write_text(GRID.format(cell="5").replace("4 5 -9999", row))
    with pytest.raises(RasterError, match=rf"head\.asc: '{row.split()[0]}' stands among its cells"):
        open_terrain([path], crs="EPSG:32616")


def test_a_word_beside_the_header_is_seen_too(tmp_path):
    path = tmp_path / "one_line.asc"
    path.write_text(GRID.format(cell="nan").replace("\n", " "))
    with pytest.raises(RasterError, match="'nan' stands among its cells"):
        open_terrain([path], crs="EPSG:32616")


def test_numbers_of_every_spelling_stay_numbers(tmp_path):
    path = tmp_path / "numbers.asc"
    path.write_text(GRID.format(cell="-1.5e+1"))
    assert heights(path, crs="EPSG:32616")[1, 1] == -15.0


@pytest.mark.parametrize("number", [np.nan, np.inf])
def test_a_corner_without_a_place_is_refused(tmp_path, number):
    shape = rasterio.transform.Affine(100.0, 0.0, number, 0.0, -100.0, 4000000.0)
    path = write_tif(tmp_path / "nowhere.tif", HEIGHTS, 0.0, 0.0, 100.0, crs="EPSG:32616", transform=shape)
    with pytest.raises(RasterError, match="its corner or cell size is no finite number"):
        open_terrain([path])


def test_a_raster_of_more_cells_than_its_bytes_can_hold_is_refused(tmp_path):
    path = tmp_path / "claims.tif"
    kind = {"driver": "GTiff", "dtype": "uint8", "count": 1, "crs": "EPSG:4326", "sparse_ok": True}
    shape = rasterio.transform.from_origin(0.0, 1.0, 1e-5, 1e-5)
    with rasterio.open(path, "w", width=200_000, height=2_000, transform=shape, **kind, blockysize=2_000):
        pass
    with pytest.raises(RasterError, match="it claims 2000 x 200000 cells and holds"):
        open_terrain([path])
