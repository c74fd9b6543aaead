"""Vector features as a map draws them: named, cut to the grid, as fine as its cells, not too many."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pyproj
import pytest
import shapely

from combe.errors import TableError
from combe.terrain import StudyGrid, draw_features, read_labelled, to_lonlat

GRID = StudyGrid(pyproj.CRS("EPSG:32617"), 200_000.0, 4_070_000.0, 100.0, 100, 120)


def written(path: Path, shapes: list[Any], **fields: list[Any]) -> Path:
    """Write shapes, in metres of the grid, as GeoJSON or, by the name of the file, as a GeoPackage."""
    frame = geopandas.GeoDataFrame(fields, geometry=shapes, crs=GRID.crs)
    if path.suffix == ".gpkg":
        frame.to_file(path, layer="lines", engine="pyogrio")
    else:
        path.write_text(frame.to_crs(4326).to_json(), encoding="utf-8")
    return path


def test_a_field_that_no_feature_has_is_told_with_those_that_are_there(tmp_path: Path) -> None:
    path = written(tmp_path / "roads.geojson", [shapely.Point(200_500, 4_069_500)], NAME=["A 1"], TYPE=[3])
    with pytest.raises(TableError, match=r"roads\.geojson: no field 'name'; it has NAME, TYPE$"):
        read_labelled(path, None, "name")
    assert len(read_labelled(path, None, "NAME").features) == 1


def test_features_without_any_field_say_to_leave_the_label_out(tmp_path: Path) -> None:
    path = tmp_path / "bare.geojson"
    path.write_text(json.dumps({"type": "Feature", "properties": None, "geometry":
                                {"type": "Point", "coordinates": [-84.0, 36.0]}}))  # fmt: skip
    with pytest.raises(TableError, match="its features have no fields; leave label out"):
        read_labelled(path, None, "name")


@pytest.mark.parametrize("ending", ["geojson", "gpkg"])
def test_a_line_is_cut_to_the_grid_and_keeps_its_name(tmp_path: Path, ending: str) -> None:
    far = shapely.LineString([(150_000, 4_065_000), (260_000, 4_065_000)])
    beyond = shapely.LineString([(100_000, 4_065_000), (110_000, 4_065_000)])
    path = written(tmp_path / f"a.{ending}", [far, beyond], name=["Long way", "Elsewhere"])
    found = draw_features(read_labelled(path, None, "name"), GRID, "name")
    (feature,) = found.features
    assert (feature.name, feature.form, found.left_out) == ("Long way", "line", 0)
    x = feature.parts[0][:, 0]
    assert (x.min(), x.max()) == (pytest.approx(200_000.0, abs=1e-3), pytest.approx(212_000.0, abs=1e-3))


def test_lines_are_as_fine_as_half_a_cell(tmp_path: Path) -> None:
    x = np.linspace(200_000, 212_000, 4000)
    wave = shapely.LineString(np.column_stack([x, 4_065_000 + 800 * np.sin(x / 900)]))
    features = read_labelled(written(tmp_path / "a.geojson", [wave], name=["Wave"]))
    (feature,) = draw_features(features, GRID).features
    drawn = shapely.LineString(feature.parts[0])
    assert len(feature.parts[0]) < 150
    assert drawn.hausdorff_distance(wave) <= 0.51 * GRID.cell_size_m
    assert feature.name == ""


def test_areas_keep_their_holes_and_crossing_rings_are_put_in_order(tmp_path: Path) -> None:
    lake = (
        shapely.Point(205_000, 4_065_000)
        .buffer(2000)
        .difference(shapely.Point(205_000, 4_065_000).buffer(600))
    )
    bow = shapely.Polygon(
        [(201_000, 4_062_000), (203_000, 4_064_000), (203_000, 4_062_000), (201_000, 4_064_000)]
    )
    features = read_labelled(written(tmp_path / "a.geojson", [lake, bow], name=["Mere", "Bow"]), None, "name")
    found = {each.name: each for each in draw_features(features, GRID, "name").features}
    assert found["Mere"].form == found["Bow"].form == "area"
    assert len(found["Mere"].parts) == 2


def test_more_than_a_map_carries_is_left_out_the_longest_stay_and_it_is_told(tmp_path: Path) -> None:
    lines = [
        shapely.LineString([(200_000, 4_069_000 - 50 * k), (201_000 + 100 * k, 4_069_000 - 50 * k)])
        for k in range(40)
    ]
    features = read_labelled(
        written(tmp_path / "a.geojson", lines, name=[f"L{k}" for k in range(40)]), None, "name"
    )
    found = draw_features(features, GRID, "name", most_drawn=10)
    assert ([each.name for each in found.features], found.left_out) == (
        [f"L{k}" for k in range(39, 29, -1)],
        30,
    )
    few = draw_features(features, GRID, "name", most_corners=20)
    assert sum(len(part) for each in few.features for part in each.parts) <= 20
    assert len(few.features) + few.left_out == 40


def test_points_keep_the_order_of_the_file(tmp_path: Path) -> None:
    points = [shapely.Point(201_000 + 500 * k, 4_065_000) for k in range(5)]
    path = written(tmp_path / "a.geojson", points, name=["c", "a", "e", "b", "d"])
    found = draw_features(read_labelled(path, None, "name"), GRID, "name")
    assert [each.name for each in found.features] == ["c", "a", "e", "b", "d"]
    assert {each.form for each in found.features} == {"point"}


def test_names_are_one_line_of_whatever_the_field_holds(tmp_path: Path) -> None:
    values = ["Two\nlines", 7.0, None, True, "x" * 200]
    path = tmp_path / "a.geojson"
    lon, lat = to_lonlat(GRID.crs, 205_000.0, 4_065_000.0)
    items = [
        {"type": "Feature", "properties": {"name": value},
         "geometry": {"type": "Point", "coordinates": [float(lon), float(lat)]}}
        for value in values
    ]  # fmt: skip
    path.write_text(json.dumps({"type": "FeatureCollection", "features": items}), encoding="utf-8")
    names = [each.name for each in draw_features(read_labelled(path, None, "name"), GRID, "name").features]
    assert names == ["Two lines", "7", "", "", "x" * 79 + "…"]


def test_a_country_with_parts_on_the_far_side_of_the_earth_is_drawn_where_it_is_near(tmp_path: Path) -> None:
    path = tmp_path / "a.geojson"
    lon, lat = to_lonlat(GRID.crs, 205_000.0, 4_065_000.0)
    home = shapely.Point(float(lon), float(lat)).buffer(0.02)
    far = shapely.Point(9.0, 0.0).buffer(0.5)
    geometry = json.loads(shapely.to_geojson(shapely.MultiPolygon([home, far])))
    path.write_text(json.dumps({"type": "Feature", "properties": {}, "geometry": geometry}))
    (feature,) = draw_features(read_labelled(path), GRID).features
    assert len(feature.parts) == 1
    assert np.abs(feature.parts[0].mean(axis=0) - [205_000.0, 4_065_000.0]).max() < 200.0


def test_across_the_antimeridian_what_has_no_place_is_passed_over(tmp_path: Path) -> None:
    grid = StudyGrid(pyproj.CRS("EPSG:32660"), 790_000.0, 1_900_000.0, 1000.0, 100, 120)
    path = tmp_path / "a.geojson"
    parts = ["[[179.9, 17.0], [-179.9, 17.0]]", "[[179.9, 16.9], [-90.0, 0.0]]"]
    head = '{"type": "Feature", "properties": {}, "geometry": {"type": "LineString", "coordinates": '
    items = [f"{head}{each}}}}}" for each in parts]
    path.write_text(f'{{"type": "FeatureCollection", "features": [{", ".join(items)}]}}')
    (feature,) = draw_features(read_labelled(path), grid).features
    assert np.isfinite(feature.parts[0]).all()
