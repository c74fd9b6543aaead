"""Rasters of codes and of levels with statistics: what was given comes back, as other programs read it."""

import numpy as np
import pytest
import rasterio

import support_map_page as support
from combe.errors import RangeError
from combe.publishing.geotiff import write_class_raster, write_field_raster, write_level_raster

CLASSES = {
    0: ("no prediction", "#6d6a64"),
    1: ("Highmoor <b>\x00", "#a3cad0"),
    9: ("served by none", "#d9d3cb"),
}


@pytest.fixture
def grid():
    return support.ridge_grid(rows=600, columns=520, cell_size_m=50.0)


def codes(kind="uint8"):
    values = np.zeros((600, 520), dtype=kind)
    values[100:] = 1
    values[:, 300:] = 9
    return values


def write(path, grid, values):
    write_class_raster(path, values, grid, CLASSES, tags={"study": "Relay"}, description="who serves best")


@pytest.mark.parametrize("kind", ["uint8", "uint16"])
def test_codes_come_back_with_colours_words_and_statistics(tmp_path, grid, kind):
    write(tmp_path / "c.tif", grid, codes(kind))
    with rasterio.open(tmp_path / "c.tif") as raster:
        assert (raster.dtypes, raster.nodata, raster.descriptions) == ((kind,), None, ("who serves best",))
        np.testing.assert_array_equal(raster.read(1), codes(kind))
        assert {code: raster.colormap(1)[code] for code in CLASSES} == {
            0: (109, 106, 100, 255),
            1: (163, 202, 208, 255),
            9: (217, 211, 203, 255),
        }
        told = raster.tags(1)
        assert [told[f"CLASS_{code}"] for code in CLASSES] == [
            "no prediction",
            "Highmoor <b>\ufffd",
            "served by none",
        ]
        assert (told["STATISTICS_MINIMUM"], told["STATISTICS_MAXIMUM"]) == ("0", "9")
        assert float(told["STATISTICS_MEAN"]) == pytest.approx(codes().mean())
        assert raster.tags()["study"] == "Relay"
        assert raster.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"


def test_the_overviews_of_codes_hold_codes_alone(tmp_path, grid):
    values = np.where(np.random.default_rng(1).uniform(size=(600, 520)) < 0.8, 9, 0).astype("uint8")
    write(tmp_path / "c.tif", grid, values)
    with rasterio.open(tmp_path / "c.tif", overview_level=1) as raster:
        seen = raster.read(1)
    assert set(np.unique(seen)) <= {0, 9}
    assert (seen == 9).mean() > 0.95, "what most cells below have"


def test_a_code_without_a_class(tmp_path, grid):
    values = codes()
    values[0, 0] = 7
    with pytest.raises(RangeError, match="code of a raster is 7; allowed: 0, 1, 9"):
        write(tmp_path / "c.tif", grid, values)
    assert list(tmp_path.iterdir()) == []


def test_another_shape(tmp_path, grid):
    with pytest.raises(RangeError, match="shape of codes"):
        write(tmp_path / "c.tif", grid, codes()[1:])


def test_statistics_of_levels_are_of_what_is_known(tmp_path, grid):
    values = np.random.default_rng(1).normal(0, 20, (600, 520))
    values[:300] = np.nan
    write_level_raster(
        tmp_path / "l.tif", values, grid, unit="dB", tags={}, description="margin", statistics=True
    )
    with rasterio.open(tmp_path / "l.tif") as raster:
        told, units = raster.tags(1), raster.units
    known = values[300:].astype("float32").astype("float64")
    assert units == ("dB",)
    assert float(told["STATISTICS_MEAN"]) == pytest.approx(known.mean(), abs=1e-6)
    assert float(told["STATISTICS_STDDEV"]) == pytest.approx(known.std(), rel=1e-6)
    assert told["STATISTICS_VALID_PERCENT"] == "50"
    assert float(told["STATISTICS_MINIMUM"]) == pytest.approx(known.min())
    assert float(told["STATISTICS_MAXIMUM"]) == pytest.approx(known.max())


def test_nothing_known_has_no_mean(tmp_path, grid):
    write_level_raster(
        tmp_path / "l.tif",
        np.full((600, 520), np.nan),
        grid,
        unit="dB",
        tags={},
        description="",
        statistics=True,
    )
    with rasterio.open(tmp_path / "l.tif") as raster:
        assert raster.tags(1) == {"STATISTICS_VALID_PERCENT": "0"}


def test_other_rasters_are_as_they_were(tmp_path, grid):
    write_field_raster(tmp_path / "f.tif", np.zeros((600, 520)), grid, tags={})
    with rasterio.open(tmp_path / "f.tif") as raster:
        assert raster.tags(1) == {}
