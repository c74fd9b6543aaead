"""Tests of the GeoPackage."""

import sqlite3
from contextlib import closing

import geopandas
import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from combe.errors import OutputError, RangeError
from combe.publishing.vector import write_geopackage


@pytest.fixture
def layers():
    stations = {"name": ["Highmoor <b>", "Low\x00gate"], "role": ["parent", "relay"], "cost": [1.0, np.nan]}
    return {
        "stations": geopandas.GeoDataFrame(
            stations, geometry=[Point(-84.3, 36.7), Point(-84.2, 36.6)], crs="EPSG:4326"
        ),
        "feeds": geopandas.GeoDataFrame(
            {"verdict": ["passes"]}, geometry=[LineString([(-84.3, 36.7), (-84.2, 36.6)])], crs="EPSG:4326"
        ),
        "districts": geopandas.GeoDataFrame(
            {"name": ["West", None]}, geometry=[box(0.0, 0.0, 900.0, 900.0), None], crs="EPSG:32617"
        ),
    }


def test_layers_come_back(tmp_path, layers):
    write_geopackage(tmp_path / "a.gpkg", layers)
    stations = geopandas.read_file(tmp_path / "a.gpkg", layer="stations")
    assert list(stations["role"]) == ["parent", "relay"]
    assert stations["cost"].tolist()[0] == 1.0
    assert np.isnan(stations["cost"].tolist()[1])
    assert stations.crs == "EPSG:4326"
    feeds = geopandas.read_file(tmp_path / "a.gpkg", layer="feeds")
    assert (feeds.geom_type[0], feeds["verdict"][0]) == ("LineString", "passes")
    districts = geopandas.read_file(tmp_path / "a.gpkg", layer="districts")
    assert districts.crs == "EPSG:32617"
    assert districts.area[0] == pytest.approx(810_000.0)
    assert districts.isna().loc[1].tolist() == [True, True], "neither a name nor a place"
    assert [path.name for path in tmp_path.iterdir()] == ["a.gpkg"]


def test_programs_of_the_last_years_know_its_version(tmp_path, layers):
    write_geopackage(tmp_path / "a.gpkg", layers)
    with closing(sqlite3.connect(tmp_path / "a.gpkg")) as base:
        assert base.execute("PRAGMA user_version").fetchone() == (10200,)


def test_signs_that_no_file_may_hold_are_replaced_and_no_others(tmp_path, layers):
    write_geopackage(tmp_path / "a.gpkg", layers)
    stations = geopandas.read_file(tmp_path / "a.gpkg", layer="stations")
    assert list(stations["name"]) == ["Highmoor <b>", "Low\ufffdgate"]
    assert layers["stations"]["name"][1] == "Low\x00gate", "the table that was given is as it was"


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
