"""GeoJSON, KML and CSV: whole, with what made them, hostile names as they were written, and no formula."""

import csv
import io
import json
from xml.etree import ElementTree

import geopandas
import numpy as np
import pytest
from shapely import MultiPolygon, Point, Polygon, box

from combe.publishing.exchange import Folder, csv_text, geojson_text, kml_text
from combe.publishing.gis_styles import StyledClass, VectorStyle

HOSTILE = "=cmd()</name><script>alert(1)</script> ]]> & \"' 谷"
ABOUT = {"study": "Relay <b>", "invented": "The stations of this study are invented."}
KML = {"k": "http://www.opengis.net/kml/2.2"}
RING = box(0.0, 0.0, 3.0, 3.0).difference(box(1.0, 1.0, 2.0, 2.0))


@pytest.fixture
def frame():
    rows = {
        "name": [HOSTILE, "Low\x00gate", "nowhere"],
        "number": [1, 2, 3],
        "people": [10.1234567, np.nan, 0.0],
        "state": ["on", "off", "on"],
    }
    places = [Point(-84.3, 36.7), MultiPolygon([RING]), None]
    return geopandas.GeoDataFrame(rows, geometry=places, crs="EPSG:4326")


def test_geojson_comes_back(tmp_path, frame):
    path = tmp_path / "a.geojson"
    path.write_text(geojson_text(frame, "stations", ABOUT), encoding="utf-8")
    read = geopandas.read_file(path)
    assert read["name"].tolist() == [HOSTILE, "Low\ufffdgate", "nowhere"]
    assert read["number"].tolist() == [1, 2, 3]
    assert (read.crs, read.geometry[0].coords[0]) == ("EPSG:4326", (-84.3, 36.7))
    assert read.geometry[1].area == pytest.approx(8.0), "the hole is there"
    assert json.loads(path.read_text(encoding="utf-8"))["about"] == ABOUT


def test_geojson_is_strict(frame):
    made = json.loads(geojson_text(frame, "stations", ABOUT), parse_constant=pytest.fail)
    told = [each["properties"]["people"] for each in made["features"]]
    assert told == [10.123457, None, 0.0], "what is not known is null, and never 0"
    assert made["features"][2]["geometry"] is None
    outer, hole = made["features"][1]["geometry"]["coordinates"][0]
    assert Polygon(outer).exterior.is_ccw
    assert not Polygon(hole).exterior.is_ccw


def test_a_single_outline_runs_against_the_clock_too(frame):
    clockwise = frame.iloc[:1].set_geometry([Polygon([(0, 0), (0, 1), (1, 1), (1, 0)])])
    (feature,) = json.loads(geojson_text(clockwise, "a", ABOUT))["features"]
    assert Polygon(feature["geometry"]["coordinates"][0]).exterior.is_ccw


def test_no_row_is_a_collection_all_the_same(frame):
    assert json.loads(geojson_text(frame.iloc[:0], "none", ABOUT))["features"] == []


def kml(frame):
    classes = (StyledClass("on", "on", "#14505c"), StyledClass("off", "off", "#b4520f", shown=False))
    folder = Folder("stations", frame, "name", VectorStyle("point", "state", classes))
    return kml_text("Relay <b>", [folder], ABOUT)


def test_kml_comes_back(tmp_path, frame):
    path = tmp_path / "a.kml"
    path.write_text(kml(frame), encoding="utf-8")
    read = geopandas.read_file(path)
    assert read["Name"].tolist() == [HOSTILE, "Low\ufffdgate"], "what has no place is for tables"
    assert read.geometry[0].coords[0][:2] == (-84.3, 36.7)
    assert read.geometry[1].area == pytest.approx(8.0)


def test_kml_says_what_made_it_and_how_it_is_drawn(frame):
    root = ElementTree.fromstring(kml(frame).encode())
    told = root.findall("k:Document/k:ExtendedData/k:Data", KML)
    assert {each.get("name"): each[0].text for each in told} == ABOUT
    styles = {
        style.get("id"): style.find("k:PolyStyle/k:color", KML).text
        for style in root.iter(f"{{{KML['k']}}}Style")
    }
    assert styles == {"style-0-0": "b05c5014", "style-0-1": "b00f52b4"}, "blue comes first"
    marks = root.findall(".//k:Placemark", KML)
    assert [mark.find("k:styleUrl", KML).text for mark in marks] == ["#style-0-0", "#style-0-1"]
    assert [mark.find("k:visibility", KML) is not None for mark in marks] == [False, True]
    values = {each.get("name"): each[0].text for each in marks[1].iter(f"{{{KML['k']}}}Data")}
    assert values == {"name": "Low\ufffdgate", "number": "2", "state": "off"}, "no people were counted"


def test_csv_has_no_formula_and_says_what_made_it():
    rows = [
        {"name": HOSTILE, "people": np.nan, "level_db": -3.5},
        {"name": None, "people": 0.0, "level_db": 1},
    ]
    head, first, second = csv.reader(io.StringIO(csv_text(rows, ABOUT)))
    assert head == ["name", "people", "level_db", "study", "invented"]
    assert first == [f"'{HOSTILE}", "", "-3.5", "Relay <b>", ABOUT["invented"]], "a number stays a number"
    assert second[:3] == ["", "0", "1"]
