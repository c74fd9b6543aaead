"""What check accepts near the antimeridian and the poles, cover does, and counts everybody."""

import json

import numpy as np
import pyproj
import pytest

from combe.answers.people_places import people_targets
from combe.errors import StudyError
from combe.library import check_file
from combe.project import project_area, project_grid, project_people
from combe.study.project_of import load_project
from support_cli import run_json
from support_study import edited
from support_terrain import write_tif

TMERC = 'crs = "+proj=tmerc +lon_0=180 +datum=WGS84 +units=m"'


def degrees(lon):
    return (lon + 180.0) % 360.0 - 180.0


def write(folder, *, middle=180.0, lat=10.0, wide=0.2, grid="", people='raster = "people.tif"'):
    """Write a study about a place: rough ground, two stations, 400 people."""
    west, north = middle - wide / 2.0, lat + 0.1
    ground = np.random.default_rng(3).uniform(100.0, 180.0, (60, 60)).astype(np.float32)
    write_tif(folder / "terrain.tif", ground, west, north, wide / 60.0, 0.2 / 60.0)
    write_tif(
        folder / "people.tif",
        np.ones((20, 20), np.float32),
        west + 0.1 * wide,
        lat + 0.08,
        wide / 25.0,
        0.008,
    )
    text = edited(
        ("invented = true", 'invented = true\nmodel = "free-space"'),
        ("cell_size_m = 300", f"cell_size_m = 600\n{grid}"),
        ('raster = "people.tif"', people),
        (
            "longitude_deg = -84.33\nlatitude_deg = 36.70",
            f"longitude_deg = {degrees(west + wide / 4):.6f}\nlatitude_deg = {lat}",
        ),
        (
            "longitude_deg = -84.20\nlatitude_deg = 36.60",
            f"longitude_deg = {degrees(west + wide * 0.7):.6f}\nlatitude_deg = {lat}",
        ),
    )
    (folder / "study.toml").write_text(text, "utf-8")
    return folder / "study.toml"


@pytest.mark.parametrize("where", [{}, {"middle": -180.0}, {"lat": 84.3, "wide": 1.8, "grid": TMERC}])
def test_cover_does_what_check_accepts(tmp_path, where):
    path = write(tmp_path, **where)
    assert run_json("check", path)["people_total"] == 400.0
    printed = run_json("cover", path, "--unserved", "--no-cache")
    assert printed["all_services"]["people_total"] == pytest.approx(400.0, abs=0.5)
    assert all(abs(each["longitude_deg"]) <= 180.0 for each in printed["unserved"])


def test_the_name_of_a_crs_without_one_is_what_it_is_made_of(tmp_path):
    path = write(tmp_path, lat=84.3, wide=1.8, grid=TMERC)
    assert "+proj=tmerc +lon_0=180" in check_file(path).provenance["grid"]


@pytest.mark.parametrize("lat", [84.3, 84.8])
@pytest.mark.parametrize("grid", ["", 'crs = "EPSG:32661"', 'crs = "EPSG:3857"'])
def test_the_advice_beyond_the_utm_zones_is_accepted(tmp_path, lat, grid):
    with pytest.raises(StudyError) as caught:
        check_file(write(tmp_path, lat=lat, wide=1.8, grid=grid))
    (fault,) = caught.value.faults
    assert "leave it out" not in fault
    advised = fault[fault.rindex("crs = ") :]
    assert check_file(write(tmp_path, lat=lat, wide=1.8, grid=advised)).people_total == 400.0


@pytest.mark.parametrize("grid", ["", TMERC])
def test_a_grid_beyond_the_maps_is_a_fault_of_check(tmp_path, grid):
    with pytest.raises(
        StudyError, match=r"grid: latitude of the study area is up to 88\.100 north"
    ) as caught:
        check_file(write(tmp_path, lat=88.0, wide=5.0, grid=grid))
    assert str(caught.value).endswith("allowed: -85 to 85, where maps end; write a smaller area_deg")


def test_a_wide_grid_whose_edge_bows_beyond_the_maps_is_a_fault_too(tmp_path):
    """The parallels of 84.9° bow by kilometres on a plane, and the grid is a rectangle around them."""
    with pytest.raises(StudyError, match=r"latitude of the study grid is up to 8[56]\.\d+ north or south"):
        check_file(write(tmp_path, lat=84.85, wide=24.0, grid=TMERC))


@pytest.mark.parametrize("split", [False, True])
def test_districts_hold_their_people_however_they_cross(tmp_path, split):
    rings = [[179.91, 180.0], [-180.0, -179.91]] if split else [[179.91, 180.09]]
    parts = [[[[w, 9.9], [e, 9.9], [e, 10.1], [w, 10.1], [w, 9.9]]] for w, e in rings]
    shape = {"type": "MultiPolygon", "coordinates": parts}
    feature = {"type": "Feature", "properties": {"name": "Strait"}, "geometry": shape}
    (tmp_path / "d.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    points = "\n".join(f"{degrees(179.93 + 0.01 * n):.6f},10.0,40,P{n}" for n in range(10))
    (tmp_path / "p.csv").write_text(f"longitude_deg,latitude_deg,people,name\n{points}\n", "utf-8")
    for people in ('raster = "people.tif"', 'points = "p.csv"'):
        path = write(tmp_path, people=f'{people}\ndistricts = "d.geojson"')
        project = load_project(path)

        districts = project_people(project, project_grid(project)).districts
        assert float(districts.people_of(0).counts.sum()) == 400.0


def test_projected_people_on_both_sides_are_put_together_where_they_live(tmp_path):
    """Blocks of cells are averaged: 179.99° and -179.99° lie beside each other, and not at 0°."""
    path = write(tmp_path)
    to = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:32660", always_xy=True)
    x, y = to.transform(180.0, 10.0)
    write_tif(
        tmp_path / "people.tif", np.ones((20, 20), np.float32), x - 5000.0, y + 5000.0, 500.0, crs=32660
    )
    project = load_project(path)
    grid = project_grid(project)
    found = people_targets(project_people(project, grid).people, project_area(project, grid), most=9)
    assert float(found.people.sum()) == 400.0
    assert found.left_out == 0.0


def test_a_station_beyond_the_maps_may_cover_a_grid_below_them(tmp_path):
    area = f"{TMERC}\narea_deg = [179.2, 84.85, 180.8, 84.95]"
    path = write(tmp_path, lat=84.95, wide=1.8, grid=area)
    path.write_text(
        edited(("latitude_deg = 84.95", "latitude_deg = 85.02"), text=path.read_text("utf-8")), "utf-8"
    )
    assert run_json("check", path)["valid"]
    assert run_json("cover", path, "--no-cache")["all_services"]["people_total"] > 100.0
