"""On a full disk a writer fails with one of our errors, and leaves what was there before."""

import sqlite3

import geopandas
import numpy as np
import pytest

import support_map_page as support
from combe.errors import OutputError
from combe.publishing.geotiff import write_field_raster, write_share_raster
from combe.publishing.vector import write_geopackage
from support_full_disk import full_disk

GRID = support.ridge_grid(rows=600, columns=520, cell_size_m=50.0)
SIZES = [0, 10_000, 100_000, 500_000, 900_000]


def hills(count=1500):
    columns = {"hill": list(range(count)), "note": ["invented " * 5] * count}
    places = geopandas.points_from_xy([-84.0 + 0.001 * number for number in range(count)], [36.0] * count)
    return geopandas.GeoDataFrame(columns, geometry=places, crs="EPSG:4326")


@pytest.mark.parametrize("largest", SIZES)
@pytest.mark.parametrize("write", [write_field_raster, write_share_raster])
def test_a_raster(tmp_path, largest, write, capfd):
    """The driver writes most of the raster on closing; it may neither fail in its own way nor be renamed."""
    values = np.random.default_rng(1).uniform(0.0, 1.0, (600, 520))
    path = tmp_path / "f.tif"
    path.write_bytes(b"old")
    with full_disk(largest), pytest.raises(OutputError, match=r"f\.tif: file too large; make room"):
        write(path, values, GRID, tags={})
    assert [each.name for each in tmp_path.iterdir()] == ["f.tif"]
    assert path.read_bytes() == b"old"
    assert capfd.readouterr().err == "", "the driver has nothing to say"


def test_a_raster_where_the_driver_may_not_write(tmp_path, monkeypatch):
    """As in a folder that lets root pass the check and takes no file."""

    def refused(self, content):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.write_bytes", refused)
    with pytest.raises(OutputError, match="permission denied; choose a folder that you may write to"):
        write_field_raster(tmp_path / "f.tif", np.zeros((600, 520)), GRID, tags={})
    assert list(tmp_path.iterdir()) == []


def test_a_geopackage_at_every_size_is_whole_or_an_error(tmp_path):
    """The driver leaves out the index of the last layer, without a word, where the disk ends there."""
    layers = {"first": hills(), "last": hills()}
    write_geopackage(tmp_path / "whole.gpkg", layers)
    whole = (tmp_path / "whole.gpkg").read_bytes()
    path = tmp_path / "f.gpkg"
    for share in (0.0, 0.01, 0.1, 0.4, 0.7, 0.78, 0.86, 0.94, 0.98, 1.0):
        path.write_bytes(b"old")
        with full_disk(int(share * len(whole))):
            try:
                write_geopackage(path, layers)
            except OutputError as problem:
                line = str(problem)
                assert line.startswith(f"cannot write {path}: ")
                assert len(line) < 300, "not the statements of the database"
                assert path.read_bytes() == b"old"
            else:
                assert share == 1.0
                assert path.read_bytes() == whole
        assert sorted(each.name for each in tmp_path.iterdir()) == ["f.gpkg", "whole.gpkg"]


def test_a_geopackage_without_its_index_is_not_whole(tmp_path, monkeypatch):
    from geopandas import GeoDataFrame

    write = GeoDataFrame.to_file

    def cut_short(self, path, **settings):
        write(self, path, **settings)
        with sqlite3.connect(path) as base:
            base.execute("DROP TABLE rtree_hills_geom")
        base.close()

    monkeypatch.setattr(GeoDataFrame, "to_file", cut_short)
    with pytest.raises(
        OutputError, match=r"f\.gpkg: not all of it was taken; is the disk full, or read-only"
    ):
        write_geopackage(tmp_path / "f.gpkg", {"hills": hills(3)})
    assert list(tmp_path.iterdir()) == []
