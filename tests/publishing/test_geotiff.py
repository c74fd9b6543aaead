"""Tests of the field raster."""

import numpy as np
import pytest
import rasterio

import support_map_page as support
from combe.errors import OutputError, RangeError
from combe.publishing.geotiff import write_field_raster


@pytest.fixture
def field():
    grid = support.ridge_grid(rows=600, columns=520, cell_size_m=50.0)
    values = np.random.default_rng(1).normal(50, 20, (600, 520))
    values[:7, :9] = np.nan
    return grid, values


def test_raster_holds_what_was_given(tmp_path, field):
    grid, values = field
    write_field_raster(
        tmp_path / "f.tif", values, grid, tags={"model": "ITU-R P.526-16"}, description="Multiplex 1"
    )
    with rasterio.open(tmp_path / "f.tif") as raster:
        assert (raster.dtypes, raster.count, raster.shape) == (("float32",), 1, (600, 520))
        assert np.isnan(raster.nodata)
        assert raster.units == ("dB(uV/m)",)
        assert raster.descriptions == ("Multiplex 1",)
        assert raster.tags()["model"] == "ITU-R P.526-16"
        assert raster.crs.to_epsg() == 32617
        assert raster.transform.c == grid.west_m
        assert raster.transform.f == grid.north_m
        assert raster.res == (50.0, 50.0)
        np.testing.assert_array_equal(raster.read(1), values.astype(np.float32))


def test_raster_is_a_cloud_optimised_geotiff_with_overviews(tmp_path, field):
    grid, values = field
    write_field_raster(tmp_path / "f.tif", values, grid, tags={})
    with rasterio.open(tmp_path / "f.tif") as raster:
        assert raster.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
        assert raster.compression.name == "deflate"
        assert raster.overviews(1) == [2, 4]
    assert [path.name for path in tmp_path.iterdir()] == ["f.tif"]


def test_same_field_gives_the_same_bytes(tmp_path, field):
    grid, values = field
    for name in ("a.tif", "b.tif"):
        write_field_raster(tmp_path / name, values, grid, tags={"model": "x"})
    assert (tmp_path / "a.tif").read_bytes() == (tmp_path / "b.tif").read_bytes()


def test_wrong_shape(tmp_path, field):
    grid, values = field
    with pytest.raises(
        RangeError, match=r"shape of field_dbuv_m is \(599, 520\); allowed: the study grid's \(600, 520\)"
    ):
        write_field_raster(tmp_path / "f.tif", values[1:], grid, tags={})


def test_folder_that_is_a_file(tmp_path, field):
    grid, values = field
    (tmp_path / "taken").write_text("x")
    with pytest.raises(OutputError, match="cannot write"):
        write_field_raster(tmp_path / "taken" / "f.tif", values, grid, tags={})
    assert [path.name for path in tmp_path.iterdir()] == ["taken"]
