"""Tests that only honest rasters are opened, and that refusals say why on one line."""

from __future__ import annotations

import os
import re

import numpy as np
import pyproj
import pytest
from rasterio.transform import Affine

from combe.errors import RasterError
from combe.terrain.cells import read_cells
from combe.terrain.people_raster import read_people
from combe.terrain.raster import dataset_crs, safe_open
from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import open_terrain
from support_terrain import plane_tif, write_hgt, write_tif

ASCII_GRID = """ncols 3
nrows 2
xllcorner 500000
yllcorner 4000000
cellsize 100
NODATA_value -9999
1 2 3
4 5 -9999
"""


def refusal(path, opener=open_terrain) -> str:
    with pytest.raises(RasterError) as caught:
        opener([path]) if opener is open_terrain else opener(path)
    text = str(caught.value)
    assert "\n" not in text
    assert str(path) in text
    assert caught.value.path == path
    return text


def test_reads_a_geotiff(tmp_path):
    with safe_open(plane_tif(tmp_path / "plane.tif")) as dataset:
        assert (dataset.height, dataset.width, dataset.driver) == (60, 80, "GTiff")
        assert dataset_crs(dataset).equals(pyproj.CRS("OGC:CRS84"), ignore_axis_order=True)
    assert dataset.closed


def test_name_like_an_address_is_only_a_name(tmp_path):
    folder = tmp_path / "zip:" / "a!b#c?d=1"
    folder.mkdir(parents=True)
    with safe_open(plane_tif(folder / "plane.tif")) as dataset:
        assert dataset.width == 80


def test_missing_file(tmp_path):
    assert refusal(tmp_path / "none.tif", open_terrain).endswith("none.tif: no such file")
    assert "no such file" in refusal(tmp_path / "none.tif", read_people)


def test_folder(tmp_path):
    assert "is a folder; name one file: GeoTIFF" in refusal(tmp_path)


def test_pipe_is_no_file(tmp_path):
    os.mkfifo(tmp_path / "pipe.tif")
    assert "is not a regular file" in refusal(tmp_path / "pipe.tif")


@pytest.mark.parametrize(
    "path", ["/vsicurl/http://localhost:9/a.tif", "http://localhost:9/a.tif", "GTIFF_DIR:1:a"]
)
def test_address_is_not_opened(path):
    with pytest.raises(RasterError, match="no such file"), safe_open(path):
        pass


def test_recipe_disguised_as_tif(tmp_path):
    secret = plane_tif(tmp_path / "secret.tif")
    disguised = tmp_path / "innocent.tif"
    disguised.write_text(
        f"""<VRTDataset rasterXSize="80" rasterYSize="60"><SRS>EPSG:4326</SRS>
        <GeoTransform>10, 0.001, 0, 47, 0, -0.0008</GeoTransform>
        <VRTRasterBand dataType="Float64" band="1"><SimpleSource>
        <SourceFilename>{secret}</SourceFilename></SimpleSource></VRTRasterBand></VRTDataset>"""
    )
    assert "its format is unknown; allowed: GeoTIFF, SRTM .hgt, ASCII grid" in refusal(disguised)


def test_file_beside_it_is_ignored(tmp_path):
    path = write_tif(tmp_path / "plain.tif", np.full((3, 3), 7, np.int16), 10.0, 47.0, 0.01)
    (tmp_path / "plain.tif.aux.xml").write_text(
        """<PAMDataset><SRS>EPSG:32633</SRS><Metadata domain="OVERVIEWS">
        <MDI key="OVERVIEW_FILE">/vsicurl/http://localhost:9/x.ovr</MDI></Metadata>
        <PAMRasterBand band="1"><NoDataValue>7</NoDataValue></PAMRasterBand></PAMDataset>"""
    )
    with safe_open(path) as dataset:
        assert dataset.nodata is None
        assert dataset.crs.to_epsg() == 4326
        assert dataset.overviews(1) == []


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"\x89PNG\r\n\x1a\n" + bytes(60)], ids=["empty", "text", "png"]
)
def test_unknown_format(tmp_path, content):
    (tmp_path / "x.tif").write_bytes(content)
    assert "its format is unknown" in refusal(tmp_path / "x.tif")


def test_damaged_tif(tmp_path):
    (tmp_path / "bad.tif").write_bytes(b"II*\0" + b"x" * 100)
    assert "cannot be read" in refusal(tmp_path / "bad.tif")


def test_cut_short_tif_fails_on_reading(tmp_path):
    whole = plane_tif(tmp_path / "whole.tif", rows=300, columns=300, tiled=True, compress="DEFLATE")
    (tmp_path / "cut.tif").write_bytes(whole.read_bytes()[:20000])
    assert "cannot be read" in refusal(tmp_path / "cut.tif", _read_all)
    assert "damaged or cut short" in refusal(tmp_path / "cut.tif", _read_all)


def _read_all(path):
    with safe_open(path) as dataset:
        dataset.read(1)


def test_hgt_with_a_name_that_says_no_place(tmp_path):
    path = write_hgt(tmp_path / "hill.hgt", np.zeros((1201, 1201)))
    assert "named after its south-west corner (N36W085.hgt)" in refusal(path)


def test_hgt_of_a_wrong_size(tmp_path):
    path = write_hgt(tmp_path / "N36W085.hgt", np.zeros((700, 700)))
    assert "1201 or 3601 rows" in refusal(path)


def test_no_crs(tmp_path):
    path = write_tif(tmp_path / "lost.tif", np.zeros((3, 3), np.int16), 0.0, 3.0, 1.0, crs=None)
    assert "it has no CRS; write it in with: gdal_edit.py -a_srs EPSG:NNNN FILE" in refusal(path)
    assert "it has no CRS" in refusal(path, read_people)


@pytest.mark.filterwarnings("ignore:.*Affine.identity:rasterio.errors.NotGeoreferencedWarning")
def test_no_crs_and_no_place(tmp_path):
    nowhere = Affine.identity()
    path = write_tif(tmp_path / "lost.tif", np.zeros((3, 3), np.int16), 0, 0, 0, crs=None, transform=nowhere)
    assert "it has no CRS" in refusal(path)


def test_stated_crs_is_for_ascii_grids_only(tmp_path):
    path = write_tif(tmp_path / "lost.tif", np.zeros((3, 3), np.int16), 0.0, 3.0, 1.0, crs=None)
    with pytest.raises(RasterError, match="it has no CRS"):
        open_terrain([path], crs="EPSG:32616")


def test_ascii_grid_needs_a_crs(tmp_path):
    path = tmp_path / "grid.asc"
    path.write_text(ASCII_GRID)
    assert 'lay its .prj file beside it, or state it with crs, for example crs = "EPSG:' in refusal(path)
    path.with_suffix(".prj").write_text(pyproj.CRS.from_epsg(32616).to_wkt("WKT1_ESRI"))
    assert open_terrain([path]).crs.to_epsg() == 32616
    path.with_suffix(".prj").unlink()
    assert open_terrain([path], crs="EPSG:32616").crs == pyproj.CRS.from_epsg(32616)
    with pytest.raises(
        RasterError, match=re.escape("the stated CRS 'EPSG:1' is unknown; write it as EPSG:NNNN")
    ):
        open_terrain([path], crs="EPSG:1")


def test_ascii_grid_with_a_prj_beside_it(tmp_path):
    path = tmp_path / "grid.asc"
    path.write_text(ASCII_GRID)
    (tmp_path / "grid.prj").write_text(pyproj.CRS("EPSG:32616").to_wkt("WKT1_ESRI"))
    assert open_terrain([path]).crs.utm_zone == "16N"
    with pytest.raises(RasterError, match="stated was WGS 84 / UTM zone 17N"):
        open_terrain([path], crs="EPSG:32617")


def test_rotated(tmp_path):
    """Corners that the turned grid does not reach would be 0 m without the option that leaves them void."""
    turned = Affine(0.01, 0.002, 10.0, 0.002, -0.01, 47.0)
    path = write_tif(tmp_path / "my turned.tif", np.zeros((3, 3), np.int16), 0, 0, 0, transform=turned)
    command = "gdalwarp -r bilinear -dstnodata -32768 'my turned.tif' 'my turned_north_up.tif'"
    assert f"its grid is rotated; write it north up with: {command}" in refusal(path)
    write_tif(path, np.zeros((3, 3), np.int16), 0, 0, 0, transform=turned, nodata=-1)
    assert "gdalwarp -r bilinear 'my turned.tif' 'my turned_north_up.tif'" in refusal(path)


def test_south_up_is_read(tmp_path):
    """The same heights, stored from the south and from the north, are the same ground."""
    heights = np.arange(12, dtype=np.int16).reshape(4, 3)
    north_up = write_tif(tmp_path / "north.tif", heights, 10.0, 47.0, 0.01)
    flipped = Affine(0.01, 0.0, 10.0, 0.0, 0.01, 47.0 - 4 * 0.01)
    south_up = write_tif(tmp_path / "south.tif", heights[::-1], 0, 0, 0, transform=flipped)
    one, two = open_terrain([north_up]), open_terrain([south_up])
    assert (one.west, one.rows, one.cell_y) == (two.west, two.rows, pytest.approx(two.cell_y))
    assert one.north == pytest.approx(two.north)
    lon, lat = np.meshgrid([10.006, 10.02], [46.966, 46.98, 46.99])
    assert np.allclose(sample_heights(one, lon, lat), sample_heights(two, lon, lat), rtol=0, atol=1e-9)
    assert np.array_equal(read_cells(two, 1, 1, 2, 2), heights[1:3, 1:3])


def test_columns_that_run_west(tmp_path):
    flipped = Affine(-0.01, 0.0, 10.0, 0.0, -0.01, 47.0)
    path = write_tif(tmp_path / "flipped.tif", np.zeros((3, 3), np.int16), 0, 0, 0, transform=flipped)
    assert "run backwards; write it north up with: gdalwarp -r bilinear" in refusal(path)


def test_several_bands(tmp_path):
    path = write_tif(tmp_path / "photo.tif", np.zeros((3, 4, 4), np.uint8), 10.0, 47.0, 0.01)
    assert "it has 3 bands; allowed: 1" in refusal(path)


def test_complex_numbers(tmp_path):
    path = write_tif(tmp_path / "wave.tif", np.zeros((4, 4), np.complex64), 10.0, 47.0, 0.01)
    assert "its numbers are complex64" in refusal(path)


def test_local_crs(tmp_path):
    local = 'LOCAL_CS["site grid",UNIT["metre",1]]'
    path = write_tif(tmp_path / "site.tif", np.zeros((4, 4), np.int16), 0.0, 4.0, 1.0, crs=local)
    assert "has no place on Earth" in refusal(path)


def test_giant_internal_block(tmp_path):
    path = write_tif(
        tmp_path / "strip.tif",
        np.zeros((10, 8_000_000), np.uint8),
        10.0,
        47.0,
        1e-5,
        compress="DEFLATE",
        blockysize=10,
    )
    assert "one internal block holds 10 x 8000000 cells" in refusal(path)
