"""People without a settlement's name are told by the place that the map shows there."""

from dataclasses import replace

import numpy as np

from combe.answers.brief_people import measuring_places
from combe.answers.cover import cover_report
from combe.answers.map_context import MOST_OFF_M, DrawnLayer, place_near
from combe.reports.cover import document
from combe.study.project_of import load_project
from combe.terrain import DrawnFeature, DrawnFeatures, cells_to_lonlat_deg, to_grid_m
from support_study import edited, write_study


def layer(grid, lon, lat, name, kind="place", off_m=0.0):
    x, y = (float(each) for each in to_grid_m(grid, lon, lat))
    place = DrawnFeature(name, "point", (np.array([[x + off_m, y]]),))
    return DrawnLayer(kind, "places", "", DrawnFeatures((place,)))


def test_the_nearest_place_with_a_name_is_told_as_far_as_one_walks(tmp_path):
    study = load_project(write_study(tmp_path, edited(("cell_size_m = 300", "cell_size_m = 900"))))
    report = cover_report(study, unserved=True)
    grid = report.grid
    lon, lat = (float(each) for each in cells_to_lonlat_deg(grid, grid.rows / 2, grid.columns / 2))
    near, far = (
        layer(grid, lon, lat, "Fennquill", off_m=600.0),
        layer(grid, lon, lat, "Ashlatch", off_m=800.0),
    )
    assert place_near((far, near), grid, lon, lat) == "Fennquill"
    assert place_near((far,), grid, lon, lat) == "Ashlatch"
    assert place_near((layer(grid, lon, lat, "Beyond", off_m=MOST_OFF_M + 1.0),), grid, lon, lat) == ""
    assert place_near((layer(grid, lon, lat, "River", kind="water"),), grid, lon, lat) == ""
    assert place_near((layer(grid, lon, lat, ""),), grid, lon, lat) == ""
    assert place_near((), grid, lon, lat) == ""


def test_settlements_and_places_to_measure_at_have_it(tmp_path):
    study = load_project(write_study(tmp_path, edited(("cell_size_m = 300", "cell_size_m = 900"))))
    plain = cover_report(study, unserved=True)
    first = plain.unserved[0]
    assert first.name == ""
    (measured, *_) = measuring_places(plain)
    assert measured.name == ""
    there = layer(plain.grid, measured.longitude_deg, measured.latitude_deg, "Fennquill")
    assert measuring_places(replace(plain, context=(there,)))[0].name == "Fennquill"


def test_a_coverage_names_its_settlements_by_the_map(tmp_path):
    import json

    study = write_study(tmp_path, edited(("cell_size_m = 300", "cell_size_m = 900")))
    first = cover_report(load_project(study), unserved=True).unserved[0]
    point = {"type": "Point", "coordinates": [first.longitude_deg, first.latitude_deg]}
    feature = {"type": "Feature", "properties": {"name": "Fennquill"}, "geometry": point}
    places = {"type": "FeatureCollection", "features": [feature]}
    (tmp_path / "places.geojson").write_text(json.dumps(places), encoding="utf-8")
    text = study.read_text("utf-8")
    study.write_text(
        text + '\n[[map.context]]\npath = "places.geojson"\nkind = "place"\nlabel = "name"\n', "utf-8"
    )
    named = cover_report(load_project(study), unserved=True)
    assert named.unserved[0].name == "near Fennquill"
    rows = document(named).answer.unserved
    assert rows[0].name == "near Fennquill"
    assert {each.name for each in rows[1:]} <= {f"group {each.number}" for each in rows} | {"near Fennquill"}
