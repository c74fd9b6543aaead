"""People as points: read from three formats, placed on the grid, and refused with a useful line."""

import json

import geopandas
import numpy as np
import pyproj
import pytest
from shapely.geometry import LineString, Point

from combe.errors import RangeError, TableError
from combe.terrain.grid import StudyGrid, to_lonlat_deg
from combe.terrain.people_points import PeoplePoints, points_in_grid, read_people_points, values_at_points

GRID = StudyGrid(pyproj.CRS.from_epsg(32632), 500_000.0, 5_300_000.0, 100.0, 40, 60)
PLACES_M = np.array([[500_050.0, 5_299_950.0], [505_999.0, 5_296_001.0], [499_999.0, 5_299_950.0]])
LON, LAT = to_lonlat_deg(GRID, PLACES_M[:, 0], PLACES_M[:, 1])

TEXT = (
    "# invented\n\nlongitude_deg,latitude_deg,people,name\n"
    '9.5,47.25,120,Upper Dale\n9.6,47.2,80.5,"Ford, Old"\n'
)


def made(people=(100.0, 20.0, 3.0)):
    return PeoplePoints(LON, LAT, np.array(people), ("North-west", "South-east", "Beside"), "invented", True)


def test_csv(tmp_path):
    (tmp_path / "people.csv").write_text(TEXT, encoding="utf-8")
    points = read_people_points(tmp_path / "people.csv")
    assert points.people.tolist() == [120.0, 80.5]
    assert points.longitude_deg.tolist() == [9.5, 9.6]
    assert points.names == ("Upper Dale", "Ford, Old")
    assert (points.source, points.invented) == ("people.csv", True)
    (tmp_path / "plain.csv").write_text("longitude_deg,latitude_deg,people\r\n9.5,47.25,120\r\n")
    assert read_people_points(tmp_path / "plain.csv").names == ("",)
    assert not read_people_points(tmp_path / "plain.csv").invented


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:32632"])
def test_geopackage(tmp_path, crs):
    frame = geopandas.GeoDataFrame(
        {"people": [7, 8, 9], "name": ["A", None, "C"]}, geometry=geopandas.points_from_xy(LON, LAT), crs=4326
    )
    frame.to_crs(crs).to_file(tmp_path / "people.gpkg", layer="people", driver="GPKG")
    points = read_people_points(tmp_path / "people.gpkg")
    assert points.people.tolist() == [7.0, 8.0, 9.0]
    assert points.names == ("A", "", "C")
    assert np.allclose(points.longitude_deg, LON, atol=1e-9)
    assert np.allclose(points.latitude_deg, LAT, atol=1e-9)


def test_geopackage_of_several_layers(tmp_path):
    frame = geopandas.GeoDataFrame({"people": [7]}, geometry=[Point(9.5, 47.2)], crs=4326)
    for layer in ("one", "two"):
        frame.to_file(tmp_path / "people.gpkg", layer=layer, driver="GPKG")
    with pytest.raises(TableError, match="it has several layers; name one of one, two"):
        read_people_points(tmp_path / "people.gpkg")
    with pytest.raises(TableError, match="it has no layer 'three'"):
        read_people_points(tmp_path / "people.gpkg", layer="three")
    assert read_people_points(tmp_path / "people.gpkg", layer="two").people.tolist() == [7.0]


def geojson(path, *geometries, **more):
    features = [
        {"type": "Feature", "geometry": each.__geo_interface__, "properties": {"people": 5, **more}}
        for each in geometries
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_geojson(tmp_path):
    points = read_people_points(geojson(tmp_path / "people.geojson", Point(9.5, 47.2), name="Ford"))
    assert (points.people.tolist(), points.names) == ([5.0], ("Ford",))


def test_cells_of_points():
    row, column = points_in_grid(made(), GRID)
    assert row.tolist() == [0, 39, -1]
    assert column.tolist() == [0, 59, -1]
    mask = np.zeros((40, 60), dtype=bool)
    mask[39, 59] = True
    assert values_at_points(mask, GRID, made()).tolist() == [0.0, 1.0, 0.0]
    assert values_at_points(~mask, GRID, made()).tolist() == [1.0, 0.0, 0.0]
    layer = np.full((40, 60), 7.5, dtype=np.float32)
    assert np.array_equal(
        values_at_points(layer, GRID, made(), beyond=np.nan), [7.5, 7.5, np.nan], equal_nan=True
    )


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (
            "lon,lat,people\n9,47,1\n",
            "if .lon. and .lat. are meant, write columns = { longitude_deg = .lon., latitude_deg = .lat. }$",
        ),
        ("", "it holds no rows; begin with the header longitude_deg,latitude_deg,people$"),
        ("longitude_deg,latitude_deg,people\n", "it holds no people"),
        (
            "longitude_deg,latitude_deg,people\n9.5,47.2\n",
            "row 2: 2 cells where the header has 3; write 9.5,47.1,120",
        ),
        ("longitude_deg,latitude_deg,people\n\n9.5,47.2,some\n", "row 3: people 'some' is no number"),
        (
            "longitude_deg,latitude_deg,people\n9.5,147.2,3\n",
            "row 2: longitude 9.5, latitude 147.2 is outside the globe",
        ),
        ("longitude_deg,latitude_deg,people\n9.5,47.2,-3\n", "row 2: people is -3; a number is 0 or more"),
        ("longitude_deg,latitude_deg,people\n9.5,nan,3\n", "row 2: latitude 'nan' is no angle"),
        ("longitude_deg,latitude_deg,people\n9.5,47.2,3,Ford\n", "row 2: 4 cells where the header has 3"),
        ("longitude_deg,latitude_deg,people\n9.5,47.2,\n", "row 2: people is empty; write a number"),
    ],
)
def test_csv_that_is_refused(tmp_path, text, problem):
    (tmp_path / "people.csv").write_text(text)
    with pytest.raises(TableError, match=problem) as caught:
        read_people_points(tmp_path / "people.csv")
    assert "\n" not in str(caught.value)
    assert "people.csv" in str(caught.value)


def test_files_that_are_refused(tmp_path):
    with pytest.raises(TableError, match="there is no such file"):
        read_people_points(tmp_path / "none.csv")
    with pytest.raises(TableError, match="is not a regular file"):
        read_people_points(tmp_path)
    (tmp_path / "latin.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TableError, match="is not UTF-8 text"):
        read_people_points(tmp_path / "latin.csv")
    (tmp_path / "picture.gpkg").write_bytes(b"\x89PNG" + bytes(200))
    with pytest.raises(TableError, match="is no GeoPackage or GeoJSON; convert it"):
        read_people_points(tmp_path / "picture.gpkg")
    (tmp_path / "other.gpkg").write_bytes(b"SQLite format 3\0" + bytes(200))
    with pytest.raises(TableError, match="is no GeoPackage or GeoJSON"):
        read_people_points(tmp_path / "other.gpkg")
    (tmp_path / "broken.gpkg").write_bytes(b"SQLite format 3\0" + bytes(52) + b"GPKG" + bytes(200))
    with pytest.raises(TableError, match="cannot be read"):
        read_people_points(tmp_path / "broken.gpkg")
    (tmp_path / "broken.geojson").write_text('{"features": 3}')
    with pytest.raises(TableError, match="is no GeoJSON that can be read"):
        read_people_points(tmp_path / "broken.geojson")
    line = geojson(tmp_path / "line.geojson", LineString([(9, 47), (9, 48)]))
    with pytest.raises(TableError, match="feature 1 is a LineString; people need points"):
        read_people_points(line)
    with pytest.raises(TableError, match="feature 1: people is 'many'; write a number, 0 or more"):
        read_people_points(geojson(tmp_path / "many.geojson", Point(9, 47), people="many"))
    with pytest.raises(TableError, match="a place is outside the globe"):
        read_people_points(geojson(tmp_path / "metres.geojson", Point(500_000, 5_300_000)))
    (tmp_path / "empty.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    with pytest.raises(TableError, match="it holds no feature with a geometry"):
        read_people_points(tmp_path / "empty.geojson")
    old = json.loads(geojson(tmp_path / "old.geojson", Point(9, 47)).read_text())
    for crs, words in (
        ({"type": "name"}, "it names a CRS that is not known"),
        (
            {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}},
            "it names the CRS 'urn:.*32632'",
        ),
        ({"type": "name", "properties": {"name": 7}}, "it names a CRS that is not known"),
    ):
        (tmp_path / "old.geojson").write_text(json.dumps({**old, "crs": crs}))
        with pytest.raises(TableError, match=f"{words}; GeoJSON is longitude and latitude"):
            read_people_points(tmp_path / "old.geojson")


@pytest.mark.parametrize(
    "name",
    [
        "urn:ogc:def:crs:OGC:1.3:CRS84",
        "urn:ogc:def:crs:OGC::CRS84",
        "EPSG:4326",
        "urn:ogc:def:crs:EPSG::4326",
    ],
)
def test_geojson_that_names_longitude_and_latitude(tmp_path, name):
    """What general tools write: RFC 7946 dropped the member, and the coordinates are the same."""
    file = geojson(tmp_path / "people.geojson", Point(9.5, 47.2))
    crs = {"type": "name", "properties": {"name": name}}
    file.write_text(json.dumps({**json.loads(file.read_text()), "crs": crs}))
    points = read_people_points(file)
    assert (points.longitude_deg.tolist(), points.latitude_deg.tolist()) == ([9.5], [47.2])


def test_arrays_that_are_refused():
    with pytest.raises(RangeError, match="people at a point is negative or not finite"):
        made((1.0, -1.0, 2.0))
    with pytest.raises(RangeError, match="number of people points is"):
        made((1.0, 2.0))
    with pytest.raises(RangeError, match="shape of the layer is"):
        values_at_points(np.zeros((3, 3)), GRID, made())


def test_a_place_lies_in_the_cell_around_it_however_near_to_an_edge():
    """Offsets from the north-west corner of the grid, of cells of 100 m."""
    south_m, east_m = np.array([10.0, 90.0, 110.0, 1_240.0]), np.array([690.0, 605.0, 595.0, 20.0])
    lon, lat = to_lonlat_deg(GRID, 500_000.0 + east_m, 5_300_000.0 - south_m)
    points = PeoplePoints(lon, lat, np.ones(4), ("",) * 4, "invented", True)
    rows, columns = points_in_grid(points, GRID)
    assert (rows.tolist(), columns.tolist()) == ([0, 0, 1, 12], [6, 6, 5, 0])
