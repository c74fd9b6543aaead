"""Tests of the GeoPackage."""

import geopandas
import numpy as np
import pytest

import support_map_page as support
from combe.errors import OutputError, RangeError
from combe.publishing.vector import feed_layer, served_layer, station_layer, write_geopackage


@pytest.fixture
def layers():
    page = support.map_page(word=" <b>")
    mask = np.zeros((page.grid.rows, page.grid.columns), dtype=bool)
    mask[10:20, 30:50] = True
    mask[12:14, 35:40] = False
    mask[60:70, 60:61] = True
    return {
        "stations": station_layer(page.stations),
        "feeds": feed_layer(page.feeds),
        "served": served_layer({"after": mask, "nothing": np.zeros_like(mask)}, page.grid),
    }


def test_layers_come_back(tmp_path, layers):
    write_geopackage(tmp_path / "a.gpkg", layers)
    stations = geopandas.read_file(tmp_path / "a.gpkg", layer="stations")
    assert list(stations["name"]) == ["Highmoor <b>", "Lowgate <b>"]
    assert list(stations["role"]) == ["parent", "relay"]
    assert stations.crs == "EPSG:4326"
    feeds = geopandas.read_file(tmp_path / "a.gpkg", layer="feeds")
    assert (feeds.geom_type[0], feeds["verdict"][0]) == ("LineString", "passes")
    assert [path.name for path in tmp_path.iterdir()] == ["a.gpkg"]


def test_served_area_follows_the_cells_and_keeps_holes(tmp_path, layers):
    write_geopackage(tmp_path / "a.gpkg", layers)
    served = geopandas.read_file(tmp_path / "a.gpkg", layer="served")
    assert served.crs == "EPSG:32617"
    assert served.area[0] == pytest.approx((200 - 10 + 10) * 90.0**2)
    assert served["area_km2"][0] == pytest.approx(200 * 0.0081)
    assert served.area[1] == 0
    assert served.is_valid.all()


def test_same_layers_give_the_same_bytes(tmp_path, layers):
    for name in ("a.gpkg", "b.gpkg"):
        write_geopackage(tmp_path / name, layers)
    assert (tmp_path / "a.gpkg").read_bytes() == (tmp_path / "b.gpkg").read_bytes()


def test_no_layer(tmp_path):
    with pytest.raises(RangeError, match="number of layers is 0"):
        write_geopackage(tmp_path / "a.gpkg", {})


def test_folder_that_is_a_file(tmp_path, layers):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(OutputError, match="cannot write"):
        write_geopackage(tmp_path / "taken" / "a.gpkg", layers)
