"""A GeoPackage says how it is drawn, what its columns mean and what made it, and stays a GeoPackage."""

import sqlite3
from contextlib import closing
from xml.etree import ElementTree

import geopandas
import pyogrio
import pytest
from shapely import Point

from combe.errors import OutputError
from combe.publishing.geopackage_notes import LayerNotes, add_notes
from combe.publishing.gis_styles import StyledClass, VectorStyle
from combe.publishing.vector import write_geopackage

STYLE = VectorStyle("point", "role", (StyledClass("parent", "a parent", "#14505c"),))
NOTES = {"stations": LayerNotes("what <b> radiates", {"role": "parent or relay"}, STYLE)}
ABOUT = {"study": "Relay\x00", "model": "ITU-R P.1812"}


def write(path):
    frame = geopandas.GeoDataFrame({"role": ["parent"]}, geometry=[Point(-84.3, 36.7)], crs="EPSG:4326")
    write_geopackage(path, {"stations": frame}, lambda base: add_notes(base, NOTES, ABOUT))


def asked(path, words):
    with closing(sqlite3.connect(path)) as base:
        return base.execute(words).fetchall()


def test_the_layer_is_styled(tmp_path):
    write(tmp_path / "a.gpkg")
    ((table, column, qml, sld, default),) = asked(
        tmp_path / "a.gpkg",
        "SELECT f_table_name, f_geometry_column, styleQML, styleSLD, useAsDefault FROM layer_styles",
    )
    assert (table, column, default) == ("stations", "geom", 1)
    assert ElementTree.fromstring(qml).find("renderer-v2").get("attr") == "role"
    assert "PointSymbolizer" in sld


def test_columns_and_layers_are_told(tmp_path):
    write(tmp_path / "a.gpkg")
    told = asked(tmp_path / "a.gpkg", "SELECT table_name, column_name, description FROM gpkg_data_columns")
    assert told == [("stations", "role", "parent or relay")]
    words = asked(tmp_path / "a.gpkg", "SELECT description FROM gpkg_contents WHERE table_name = 'stations'")
    assert words == [("what <b> radiates",)]
    names = asked(
        tmp_path / "a.gpkg", "SELECT table_name FROM gpkg_extensions WHERE extension_name = 'gpkg_schema'"
    )
    assert {name for (name,) in names} == {"gpkg_data_columns", "gpkg_data_column_constraints"}


def test_other_programs_read_all_of_it(tmp_path):
    write(tmp_path / "a.gpkg")
    assert {name for name, _ in pyogrio.list_layers(tmp_path / "a.gpkg")} == {
        "stations",
        "layer_styles",
        "about",
    }
    about = pyogrio.read_dataframe(tmp_path / "a.gpkg", layer="about")
    assert dict(zip(about["name"], about["words"], strict=True)) == {**ABOUT, "study": "Relay\ufffd"}
    assert geopandas.read_file(tmp_path / "a.gpkg", layer="stations")["role"].tolist() == ["parent"]


def test_same_bytes(tmp_path):
    for name in ("a.gpkg", "b.gpkg"):
        write(tmp_path / name)
    assert (tmp_path / "a.gpkg").read_bytes() == (tmp_path / "b.gpkg").read_bytes()
    dates = asked(tmp_path / "a.gpkg", "SELECT last_change FROM gpkg_contents")
    dates += asked(tmp_path / "a.gpkg", "SELECT update_time FROM layer_styles")
    assert set(dates) == {("2000-01-01T00:00:00.000Z",)}, "not the time of day"


def test_a_data_base_that_takes_nothing_more_is_an_error_of_ours(tmp_path):
    def full(base):
        raise sqlite3.OperationalError("database or disk is full")

    frame = geopandas.GeoDataFrame({"role": ["parent"]}, geometry=[Point(-84.3, 36.7)], crs="EPSG:4326")
    with pytest.raises(OutputError, match=r"a\.gpkg: database or disk is full; is the disk full"):
        write_geopackage(tmp_path / "a.gpkg", {"stations": frame}, full)
    assert list(tmp_path.iterdir()) == []
