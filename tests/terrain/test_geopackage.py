"""Layers of GeoPackages: as another reader has them, and refused where a file would take no end."""

import datetime
import sqlite3
import struct

import geopandas
import pandas
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

import combe.terrain.geopackage as room
from combe.errors import TableError
from combe.terrain.features import read_features
from combe.terrain.geopackage import binary_of

ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)"
SQUARES = [box(9.0 + i, 47.0, 10.0 + i, 48.0) for i in range(3)]


def write(path, shapes=SQUARES, crs="EPSG:4326", layer="districts", **columns):
    frame = geopandas.GeoDataFrame(
        {"name": [f"D{at}" for at in range(len(shapes))], **columns}, geometry=shapes, crs=crs
    )
    frame.to_file(path, layer=layer, driver="GPKG", engine="pyogrio")
    return path


def change(path, *statements):
    base = sqlite3.connect(path)
    base.execute("PRAGMA legacy_alter_table = ON")
    for statement in statements:
        base.execute(statement)
    base.commit()
    base.close()
    return path


def square(path):
    base = sqlite3.connect(path)
    (cell,) = base.execute("SELECT hex(geom) FROM districts").fetchone()
    base.close()
    return f"X'{cell}'"


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:32632", "EPSG:2056", "+proj=tmerc +lon_0=9 +lat_0=47"])
@pytest.mark.parametrize(
    "shapes",
    [
        SQUARES,
        [Point(1, 2), None, Point(3, 4, 5)],
        [MultiPolygon(SQUARES[:1]), Polygon(SQUARES[1].exterior, [box(10.2, 47.2, 10.4, 47.4).exterior])],
        [LineString([(0, 1), (2, 3)]), shapely.from_wkt("POINT EMPTY"), shapely.GeometryCollection(SQUARES)],
    ],
    ids=["squares", "points", "polygons", "mixed"],
)
def test_a_layer_is_as_another_reader_has_it(tmp_path, shapes, crs):
    size = len(shapes)
    columns = {"people": [7] * size, "share": [0.5] * size, "new": [True] * size, "note": [None] * size}
    path = write(tmp_path / "d.gpkg", shapes, crs, **columns)
    found, other = read_features(path), geopandas.read_file(path, engine="pyogrio")
    kept = [row for row in other.itertuples() if row.geometry is not None and not row.geometry.is_empty]
    assert found.crs == other.crs
    assert found.without_geometry == size - len(kept)
    for own, row in zip(found.features, kept, strict=True):
        assert shapely.equals_exact(own.geometry, row.geometry, tolerance=0.0)
        assert own.geometry.has_z == row.geometry.has_z
        assert own.properties == {"name": row.name, "people": 7, "share": 0.5, "new": True, "note": None}


def test_numbers_beside_empty_cells_stay_whole_and_days_stay_text(tmp_path):
    days = [datetime.date(2026, 5, 1)] * 3
    path = write(tmp_path / "d.gpkg", channel=pandas.array([21, None, 23], dtype="Int64"), day=days)
    cells = [each.properties for each in read_features(path).features]
    assert [each["channel"] for each in cells] == [21, None, 23]
    assert cells[0]["day"] == "2026-05-01"


def test_a_table_without_geometries_is_no_layer(tmp_path):
    path = change(write(tmp_path / "d.gpkg"), "CREATE TABLE notes (fid INTEGER PRIMARY KEY, text TEXT)")
    assert len(read_features(path).features) == 3


def test_what_another_wrote_last_is_read_though_it_is_not_in_the_file_yet(tmp_path):
    path = write(tmp_path / "d.gpkg")
    base = sqlite3.connect(path)
    base.execute("PRAGMA journal_mode = WAL")
    base.execute("DROP TRIGGER rtree_districts_geom_delete")
    base.execute("DELETE FROM districts WHERE fid = 3")
    base.commit()
    assert len(read_features(path).features) == 2
    base.close()


def as_view(path, name, registered):
    """Put a view without end in the place of the one layer."""
    return change(
        path,
        f"CREATE VIEW {name} AS {ENDLESS} SELECT i AS fid, {square(path)} AS geom, 'A' || i AS name FROM n",
        "DROP TABLE districts",
        f"UPDATE gpkg_contents SET table_name = '{registered}'",
        f"UPDATE gpkg_geometry_columns SET table_name = '{registered}'",
    )


@pytest.mark.parametrize("registered", ["endless", "ENDLESS"])
def test_a_view_without_end_is_refused_however_its_name_is_spelt(tmp_path, registered):
    path = as_view(write(tmp_path / "d.gpkg"), "endless", registered)
    with pytest.raises(TableError, match=f"its layer '{registered}' is a view; write what it shows into"):
        read_features(path)


@pytest.mark.parametrize("register", ["gpkg_geometry_columns", "gpkg_spatial_ref_sys"])
def test_a_register_that_is_a_view_without_end_is_refused(tmp_path, register):
    path = change(
        write(tmp_path / "d.gpkg"),
        f"ALTER TABLE {register} RENAME TO gpkg_hidden",
        f"CREATE VIEW {register} AS {ENDLESS} SELECT gpkg_hidden.* FROM n, gpkg_hidden WHERE n.i < 0",
    )
    with pytest.raises(TableError, match=f"its table {register} is a view; write its layer into a new file"):
        read_features(path)


def test_a_table_of_contents_without_end_is_not_read(tmp_path):
    path = change(
        write(tmp_path / "d.gpkg"),
        "ALTER TABLE gpkg_contents RENAME TO gpkg_hidden",
        f"CREATE VIEW gpkg_contents AS {ENDLESS} SELECT gpkg_hidden.* FROM n, gpkg_hidden",
    )
    assert len(read_features(path).features) == 3


def test_columns_that_are_worked_out_are_not(tmp_path):
    slow = "length(replace(hex(zeroblob(900000000)), '00', 'xyz'))"
    path = change(write(tmp_path / "d.gpkg"), f"ALTER TABLE districts ADD COLUMN slow INTEGER AS ({slow})")
    assert [sorted(each.properties) for each in read_features(path).features] == [["name"]] * 3


def test_a_number_of_steps_ends_every_reading(tmp_path, monkeypatch):
    path = write(tmp_path / "d.gpkg", SQUARES[:1] * 3000)
    assert len(read_features(path).features) == 3000
    monkeypatch.setattr(room, "MOST_STEPS", 2_000)
    monkeypatch.setattr(room, "_LOOK_AT_STEPS", 1_000)
    with pytest.raises(TableError, match="reading it takes no end; write its layer into a new file"):
        read_features(path)


def test_a_table_that_holds_more_than_its_file_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(room, "_MOST_BYTES_A_BYTE", 0)
    with pytest.raises(TableError, match="it holds more than its bytes can"):
        read_features(write(tmp_path / "d.gpkg"))


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE gpkg_geometry_columns SET srs_id = 0", "its layer has no CRS that is known"),
        ("UPDATE gpkg_geometry_columns SET srs_id = 77", "its layer has no CRS that is known"),
        ("DELETE FROM gpkg_geometry_columns", "it has no layer of geometries"),
        ("DROP TABLE gpkg_geometry_columns", "its table gpkg_geometry_columns is not there"),
        ("DROP TABLE districts", "its layer 'districts' is not there"),
        ("UPDATE gpkg_geometry_columns SET column_name = 'x\"y'", "no geometry of a GeoPackage"),
    ],
)
def test_a_register_that_leads_nowhere_is_told(tmp_path, statement, words):
    with pytest.raises(TableError, match=words):
        read_features(change(write(tmp_path / "d.gpkg"), statement))


HEAD = b"GP\x00\x01" + bytes(4)


def nested(kind, depth):
    return HEAD + struct.pack("<BII", 1, kind, 1) * depth + struct.pack("<BIdd", 1, 1, 9.0, 47.0)


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (b"", "no geometry of a GeoPackage"),
        (b"\0\1\2\3\4\5\6\7", "no geometry of a GeoPackage"),
        ("text", "no geometry of a GeoPackage"),
        (b"GP\0\x0b" + bytes(30), "a geometry of another layout"),
        (b"GP\0\x21" + bytes(30), "a geometry of another layout"),
        (HEAD + b"\1", "cut short"),
        (HEAD + struct.pack("<BIdd", 1, 1, 9.0, 47.0)[:-1], "cut short"),
        (HEAD + struct.pack("<BII", 1, 2, 2**32 - 1), "cut short"),
        (HEAD + struct.pack("<BII", 1, 3, 2**32 - 1), "cut short"),
        (HEAD + struct.pack("<BII", 1, 7, 2**32 - 1), "cut short"),
        (HEAD + struct.pack("<BII", 1, 10, 1), "geometries of type 10; take plain ones"),
        (nested(7, 300_000), "collections within collections"),
        (nested(6, 300_000), "collections within collections"),
    ],
)
def test_a_cell_that_is_no_plain_geometry_is_refused(cell, words):
    # A library that calls itself for each collection ends the process at some 100 000 of them.
    with pytest.raises(ValueError, match=words):
        binary_of(cell)


@pytest.mark.parametrize("number", [float("inf"), float("-inf")])
def test_a_corner_without_a_place_is_refused(tmp_path, number):
    path = write(tmp_path / "d.gpkg", [Polygon([(0, 0), (1, 0), (number, 1)])])
    with pytest.raises(TableError, match=r"holds a geometry that cannot be read \(a corner without a place"):
        read_features(path)
