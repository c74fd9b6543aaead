"""Districts: names and people read, laid over cells and points, and people spread without losing any."""

import dataclasses
import sqlite3

import geopandas
import numpy as np
import pyproj
import pytest
import shapely
from shapely.geometry import Point, Polygon, box

from combe.errors import RangeError, TableError
from combe.tables import Layout
from combe.terrain.districts import (
    SPREAD,
    Overlap,
    label_cells,
    label_points,
    overlaps,
    read_districts,
    spread_people,
)
from combe.terrain.grid import StudyGrid, to_lonlat_deg
from combe.terrain.people_raster import People, area_mean, covered_fraction

UTM = pyproj.CRS.from_epsg(32632)
WEST = box(500_000.0, 5_290_000.0, 505_000.0, 5_300_000.0)
EAST = box(504_000.0, 5_290_000.0, 510_000.0, 5_300_000.0)
TINY = box(512_010.0, 5_295_010.0, 512_020.0, 5_295_020.0)


def write(
    path, polygons=(WEST, EAST, TINY), names=("West", "East", "Tiny"), people=(1000, 400, 7), **columns
):
    values = {"name": list(names), **({} if people is None else {"people": list(people)}), **columns}
    frame = geopandas.GeoDataFrame(values, geometry=list(polygons), crs=32632)
    frame.to_file(path, layer="districts", driver="GPKG")
    return path


def test_reading(tmp_path):
    found = read_districts(write(tmp_path / "districts.gpkg"), invented=True)
    assert found.names == ("West", "East", "Tiny")
    assert found.people is not None
    assert found.people.tolist() == [1000.0, 400.0, 7.0]
    assert (found.source, found.invented) == ("districts.gpkg", True)
    assert read_districts(write(tmp_path / "plain.gpkg", people=None)).people is None


def test_geojson_and_other_keys(tmp_path):
    frame = geopandas.GeoDataFrame(
        {"parish": ["Upper"], "heads": [3]}, geometry=[box(9, 47, 10, 48)], crs=4326
    )
    frame.to_file(tmp_path / "d.geojson", driver="GeoJSON", write_bbox="no", RFC7946="YES")
    found = read_districts(tmp_path / "d.geojson", layout=Layout({"name": "parish", "people": "heads"}))
    assert (found.names, float(found.people[0])) == (("Upper",), 3.0)
    assert label_points(found, np.array([9.5, 12.0]), np.array([47.5, 47.5])).tolist() == [0, -1]


def test_overlaps_are_told_but_slivers_are_not(tmp_path):
    found = read_districts(write(tmp_path / "districts.gpkg"))
    # A strip of 1 km: a fifth of the western one of 5 km, which is the smaller.
    assert overlaps(found).pairs == (Overlap("West", "East", pytest.approx(0.2)),)
    inside = box(501_000.0, 5_291_000.0, 502_000.0, 5_292_000.0)
    whole = read_districts(write(tmp_path / "whole.gpkg", polygons=(WEST, EAST, inside)))
    assert [(each.first, each.second, each.share) for each in overlaps(whole).pairs] == [
        ("West", "Tiny", pytest.approx(1.0)),
        ("West", "East", pytest.approx(0.2)),
    ]
    beside = box(504_990.0, 5_290_000.0, 510_000.0, 5_300_000.0)
    assert (
        overlaps(read_districts(write(tmp_path / "sliver.gpkg", polygons=(WEST, beside, TINY)))).pairs == ()
    )


def test_labels_of_points(tmp_path):
    found = read_districts(write(tmp_path / "districts.gpkg"))
    x = np.array([502_000.0, 504_500.0, 509_000.0, 511_000.0, 512_015.0])
    lon, lat = pyproj.Transformer.from_crs(32632, 4326, always_xy=True).transform(x, np.full(5, 5_295_015.0))
    # Where two overlap, the earlier district has the place.
    assert label_points(found, lon, lat).tolist() == [0, 0, 1, -1, 2]


def test_labels_of_cells(tmp_path):
    found = read_districts(write(tmp_path / "districts.gpkg"))
    counts = np.ones((10, 12))
    people = People(counts, UTM, (1000.0, 0.0, 500_000.0, 0.0, -1000.0, 5_300_000.0), "invented", True, 0)
    labels = label_cells(found, people)
    assert labels[4].tolist() == [0] * 5 + [1] * 5 + [-1] * 2
    degrees = People(np.ones((20, 30)), pyproj.CRS.from_epsg(4326),
                     (0.005, 0.0, 9.0, 0.0, -0.005, 47.86), "invented", True, 0)  # fmt: skip
    labels = label_cells(found, degrees)
    lon, lat = np.meshgrid(9.0 + (np.arange(30) + 0.5) * 0.005, 47.86 - (np.arange(20) + 0.5) * 0.005)
    assert np.array_equal(labels.ravel(), label_points(found, lon.ravel(), lat.ravel()))


def test_spread_people_are_all_there(tmp_path):
    found = read_districts(write(tmp_path / "districts.gpkg"), invented=True)
    people = spread_people(found, UTM, 250.0)
    assert float(people.counts.sum()) == pytest.approx(1407.0)
    assert people.source.endswith(SPREAD)
    assert people.invented
    grid = StudyGrid(UTM, 500_000.0, 5_300_000.0, 250.0, 40, 20)
    west = covered_fraction(np.ones((40, 20), dtype=bool), grid, people)
    assert float(np.sum(people.counts * west)) == pytest.approx(1000.0)
    assert people.counts.max() == pytest.approx(7.0)


def test_mean_over_population_cells():
    grid = StudyGrid(UTM, 500_000.0, 5_300_000.0, 250.0, 8, 8)
    people = People(np.ones((2, 3)), UTM, (1000.0, 0.0, 500_000.0, 0.0, -1000.0, 5_300_000.0), "", True, 0)
    layer = np.zeros((8, 8), dtype=np.float32)
    layer[:4, :2] = 6.0
    assert area_mean(layer, grid, people) == pytest.approx(np.array([[3.0, 0.0, 0.0], [0.0, 0.0, 0.0]]))
    with pytest.raises(RangeError, match="layer to be averaged is not finite"):
        area_mean(np.full((8, 8), np.nan, dtype=np.float32), grid, people)


def test_a_polygon_that_crosses_itself_is_mended(tmp_path):
    bow = Polygon([(500_000, 5_290_000), (510_000, 5_300_000), (510_000, 5_290_000), (500_000, 5_300_000)])
    found = read_districts(write(tmp_path / "bow.gpkg", [bow], ["Bow"], [8]))
    lon, lat = to_lonlat_deg(
        StudyGrid(UTM, 0.0, 0.0, 100.0, 1, 1), [501_000.0, 505_000.0], [5_295_000.0, 5_299_000.0]
    )
    assert label_points(found, lon, lat).tolist() == [0, -1]


def test_refusals(tmp_path):
    with pytest.raises(TableError, match="two districts are called 'West'; give each its own name"):
        read_districts(write(tmp_path / "twice.gpkg", names=("West", "West", "Tiny")))
    with pytest.raises(TableError, match="feature 2 has no 'name'; give each district its name"):
        read_districts(write(tmp_path / "noname.gpkg", names=("West", None, "Tiny")))
    with pytest.raises(TableError, match="West: people is -1"):
        read_districts(write(tmp_path / "minus.gpkg", people=(-1, 2, 3)))
    with pytest.raises(TableError, match="feature 1 is a Point; districts need polygons"):
        read_districts(write(tmp_path / "point.gpkg", [Point(500_000, 5_290_000)], ["A"], [1]))
    plain = read_districts(write(tmp_path / "plain.gpkg", people=None))
    with pytest.raises(RangeError, match=r"people of the districts is not in the file; .*plain\.gpkg"):
        spread_people(plain, UTM, 250.0)
    found = read_districts(write(tmp_path / "districts.gpkg"))
    with pytest.raises(RangeError, match="population cells is"):
        spread_people(found, UTM, 0.1)
    with pytest.raises(RangeError, match="cell_size_m of the population is 0"):
        spread_people(found, UTM, 0.0)


def test_of_thousands_of_overlaps_the_first_are_compared_and_the_rest_counted(tmp_path):
    found = read_districts(write(tmp_path / "two.gpkg"))
    many = dataclasses.replace(
        found, names=tuple(map(str, range(300))), polygons=(found.polygons[0],) * 300, people=None
    )
    told = overlaps(many, most_pairs=50)
    assert (len(told.pairs), told.not_compared) == (50, 300 * 299 // 2 - 50)
    assert overlaps(many).not_compared == 0


@pytest.fixture
def many(tmp_path):
    found = read_districts(write(tmp_path / "two.gpkg", people=None))
    return dataclasses.replace(found, names=tuple(map(str, range(300))), polygons=(found.polygons[0],) * 300)


def test_districts_are_laid_over_one_another_a_few_at_a_time(many, monkeypatch):
    plain, sizes = shapely.intersection, []

    def watched(one, other):
        sizes.append(one.size)
        return plain(one, other)

    monkeypatch.setattr(shapely, "intersection", watched)
    assert len(overlaps(many, most_pairs=700).pairs) == 700
    assert (sum(sizes), max(sizes)) == (700, 256)


def test_districts_that_only_touch_leave_the_room_for_those_that_overlap(many):
    steps = [(i, j) for i in range(20) for j in range(15)]
    squares = [box(i, j, i + 1.0, j + 1.0) for i, j in steps[:-1]]
    abutting = dataclasses.replace(many, polygons=(*squares, box(18.5, 13.0, 19.5, 14.0)))
    told = overlaps(abutting, most_pairs=2)
    assert [(each.first, each.second, each.share) for each in told.pairs] == [
        (str(steps.index((18, 13))), "299", pytest.approx(0.5)),
        (str(steps.index((19, 13))), "299", pytest.approx(0.5)),
    ]
    assert told.not_compared == 0


def test_detailed_borders_are_compared_as_far_as_their_corners_allow(many):
    # A square has five corners, its first one twice.
    told = overlaps(many, most_corners=73)
    assert (len(told.pairs), told.not_compared, told.counted_all) == (7, 300 * 299 // 2 - 7, True)


def test_pairs_beyond_all_use_are_not_even_counted(many, monkeypatch):
    monkeypatch.setattr("combe.terrain.districts.MOST_COUNTED", 3_000)
    told = overlaps(many, most_pairs=50)
    assert not told.counted_all
    assert len(told.pairs) == 50
    assert 3_000 < told.not_compared + 50 < 6_000


def test_a_layer_that_is_a_query_without_end_is_refused(tmp_path):
    path = write(tmp_path / "view.gpkg")
    base = sqlite3.connect(path)
    (table,) = base.execute("SELECT table_name FROM gpkg_geometry_columns").fetchone()
    endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)"
    base.execute(f"CREATE VIEW endless AS {endless} SELECT n.i AS fid, geom, name FROM n, {table}")
    for register in ("gpkg_contents", "gpkg_geometry_columns"):
        row = list(base.execute(f"SELECT * FROM {register} WHERE table_name = ?", (table,)).fetchone())
        row = ["endless" if cell == table else cell for cell in row]
        base.execute(f"INSERT INTO {register} VALUES ({','.join('?' * len(row))})", row)
    base.commit()
    base.close()
    with pytest.raises(TableError, match="its layer 'endless' is a view; write what it shows into a table"):
        read_districts(path, layer="endless")
    assert len(read_districts(path, layer=table).names) == 3
