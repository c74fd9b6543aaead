"""People of a study from points, districts and rasters, counted by hand on the flat plain."""

import re

import geopandas
import pytest
import rasterio
from rasterio.transform import Affine
from shapely.geometry import box

from combe.answers.check import check_report
from combe.answers.cover import cover_report
from combe.errors import StudyError, TableError
from combe.study.project_of import load_project
from support_cli import run, run_json
from support_flat import HEAD, NORTH_M, SIDE_M, WEST_M, lonlat_of, station_text, write_plain_study
from support_study import STUDY, write_study

WEAK = station_text("West", 738_000.0, 4_040_000.0, [("A", 40, 0.005)])
"""Free space: 44.9 dB(µV/m) for half of the places at 626 MHz lies 2.8 km from 5 mW."""


def points_csv(folder, rows):
    lines = ["longitude_deg,latitude_deg,people,name"]
    for x, y, people, name in rows:
        lon, lat = lonlat_of(x, y)
        lines.append(f"{lon:.8f},{lat:.8f},{people},{name}")
    (folder / "people.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def districts_gpkg(folder, rows):
    table = {"name": [name for name, _, _ in rows], "people": [people for _, _, people in rows]}
    frame = geopandas.GeoDataFrame(table, geometry=[area for _, area, _ in rows], crs="EPSG:32616")
    frame.to_file(folder / "districts.gpkg", layer="districts", driver="GPKG")


PLACES = [
    (738_500.0, 4_040_500.0, 120, "Nearby"),
    (740_000.0, 4_040_000.0, 30, "Two Kilometres"),
    (746_000.0, 4_040_000.0, 500, "Eight Kilometres"),
    (754_000.0, 4_040_000.0, 70, "Sixteen Kilometres"),
]


def point_study(folder, section='\n[people]\npoints = "people.csv"\n'):
    path = write_plain_study(folder, WEAK, head=HEAD + section, people=False)
    points_csv(folder, PLACES)
    return path


def test_points_are_counted_where_they_stand(tmp_path):
    people = cover_report(load_project(point_study(tmp_path))).all_services.people
    assert people.total == pytest.approx(720.0)
    assert people.served == pytest.approx(150.0)
    assert people.unserved == pytest.approx(570.0)


def test_points_that_are_all_elsewhere(tmp_path):
    """Longitude and latitude changed round count nobody, and are told."""
    path = point_study(tmp_path)
    (tmp_path / "people.csv").write_text("longitude_deg,latitude_deg,people\n36.5,-84.3,120\n")
    with pytest.raises(StudyError) as caught:
        check_report(load_project(path))
    (fault,) = caught.value.faults
    assert fault.endswith(
        "none of its places is on the study grid, the first is longitude 36.5, latitude -84.3; "
        "take the people of this area; or are longitude and latitude exchanged, or is crs another?"
    )


def test_districts_split_points_exactly(tmp_path):
    path = point_study(tmp_path, '\n[people]\npoints = "people.csv"\ndistricts = "districts.gpkg"\n')
    near = box(738_000, 4_039_000, 741_000, 4_041_000)
    far = box(741_000, 4_039_000, 750_000, 4_041_000)
    districts_gpkg(tmp_path, [("Near", near, 0.0), ("Far", far, 0.0)])
    districts = dict(cover_report(load_project(path)).all_services.districts)
    assert {name: (round(d.total), round(d.served)) for name, d in districts.items()} == {
        "Near": (150, 150),
        "Far": (500, 0),
        "elsewhere": (70, 0),
    }
    printed = run_json("cover", path, "--no-cache")
    assert [each["name"] for each in printed["services"][0]["districts"]] == ["Near", "Far", "elsewhere"]
    assert "All services, by district" in run("cover", path, "--no-cache").stdout


def test_districts_bring_their_own_people(tmp_path):
    path = write_plain_study(
        tmp_path, WEAK, head=HEAD + '\n[people]\ndistricts = "districts.gpkg"\n', people=False
    )
    near, far = box(737_000, 4_039_000, 739_000, 4_041_000), box(755_000, 4_030_000, 760_000, 4_040_000)
    districts_gpkg(tmp_path, [("Near", near, 900.0), ("Far", far, 100.0)])
    report = cover_report(load_project(path))
    assert report.all_services.people.total == pytest.approx(1000.0, rel=1e-3)
    assert report.all_services.people.served == pytest.approx(900.0, rel=1e-3)
    assert "spread evenly over each district" in report.provenance["people"]


def test_districts_that_overlap_are_noted_the_worst_by_name(tmp_path):
    path = write_plain_study(
        tmp_path, WEAK, head=HEAD + '\n[people]\ndistricts = "districts.gpkg"\n', people=False
    )
    near = box(WEST_M, NORTH_M - SIDE_M, WEST_M + 10_000.0, NORTH_M)
    half = box(WEST_M, NORTH_M - SIDE_M, WEST_M + 5_000.0, NORTH_M)
    districts_gpkg(tmp_path, [("Near", near, 900.0), ("Half", half, 100.0)])
    assert check_report(load_project(path)).notes[-1] == (
        "the districts Near and Half overlap by 100% of the smaller; who lives there counts for the first"
    )
    districts_gpkg(tmp_path, [(f"Copy {number}", near, 10.0) for number in range(4)])
    notes = check_report(load_project(path)).notes
    assert sum("overlap by" in note for note in notes) == 3
    assert notes[-1] == "3 more pairs of districts overlap"


def test_districts_split_a_raster(tmp_path):
    path = write_plain_study(tmp_path, WEAK, head=HEAD)
    text = path.read_text().replace(
        'raster = "people.tif"', 'raster = "people.tif"\ndistricts = "districts.gpkg"'
    )
    path.write_text(text)
    half = box(WEST_M, NORTH_M - SIDE_M, WEST_M + SIDE_M / 2, NORTH_M)
    districts_gpkg(tmp_path, [("West half", half, 0.0)])
    report = cover_report(load_project(path))
    districts = dict(report.all_services.districts)
    assert districts["West half"].total == pytest.approx(20_000.0)
    assert districts["elsewhere"].total == pytest.approx(20_000.0)
    assert districts["West half"].served == pytest.approx(report.all_services.people.served)


def test_settlements_that_stay_unserved(tmp_path):
    printed = run_json("cover", point_study(tmp_path), "--no-cache", "--unserved")
    found = {each["name"]: each for each in printed["unserved"]}
    assert list(found) == ["Eight Kilometres", "Sixteen Kilometres"]
    # Free space loses 6.02 dB for twice the distance.
    step = found["Sixteen Kilometres"]["missing_db"] - found["Eight Kilometres"]["missing_db"]
    assert step == pytest.approx(6.02, abs=0.25)  # cells of 200 m
    words = run("cover", point_study(tmp_path / "again"), "--no-cache", "--unserved", "--full").stdout
    assert "Settlements with people unserved" in words
    assert "Eight Kilometres" in words


def test_settlements_of_a_raster_are_groups(tmp_path):
    printed = run_json("cover", write_plain_study(tmp_path, WEAK), "--no-cache", "--unserved")
    (only,) = printed["unserved"]
    assert only["people_unserved"] == pytest.approx(printed["all_services"]["people_unserved"], rel=1e-3)


@pytest.mark.parametrize(
    ("section", "fault"),
    [
        ("[people]\n", "people.raster: is missing; write raster"),
        ('[people]\nraster = "plain.tif"\npoints = "plain.tif"\n', "people.points: stands beside raster"),
        ('[people]\npoints = "gone.csv"\n', 'people.points: "gone.csv": there is no such file'),
        ('[people]\ndistricts = "gone.gpkg"\n', 'people.districts: "gone.gpkg": there is no such file'),
    ],
)
def test_faults_of_the_section(tmp_path, section, fault):
    with pytest.raises(StudyError) as caught:
        load_project(write_plain_study(tmp_path, WEAK, head=HEAD + "\n" + section, people=False))
    assert [each for each in caught.value.faults if each.startswith(fault)], caught.value.faults


def test_districts_that_count_nobody(tmp_path):
    path = write_plain_study(
        tmp_path, WEAK, head=HEAD + '\n[people]\ndistricts = "districts.gpkg"\n', people=False
    )
    frame = geopandas.GeoDataFrame(
        {"name": ["A"]}, geometry=[box(738e3, 4e6, 739e3, 4.01e6)], crs="EPSG:32616"
    )
    frame.to_file(tmp_path / "districts.gpkg", layer="districts", driver="GPKG")
    with pytest.raises(TableError, match="its districts count nobody"):
        cover_report(load_project(path))


def test_people_beyond_the_antimeridian_are_counted(tmp_path):
    """The study's ground, people and stations, moved so that the meridian of 180 degrees runs through all."""
    at_home = load_project(write_study(tmp_path / "home"))
    path = write_study(tmp_path / "moved")
    for name in ("terrain.tif", "people.tif"):
        with rasterio.open(path.parent / name, "r+") as raster:
            at = raster.transform
            raster.transform = Affine(at.a, at.b, at.c + 264.25, at.d, at.e, at.f - 53.0)
    text = re.sub(
        r"longitude_deg = (-84\.\d+)", lambda m: f"longitude_deg = {_wrapped(float(m[1]) + 264.25)}", STUDY
    )
    text = re.sub(r"latitude_deg = (36\.\d+)", lambda m: f"latitude_deg = {float(m[1]) - 53.0:.6f}", text)
    path.write_text(text)
    moved = load_project(path)
    assert check_report(moved).people_total == check_report(at_home).people_total
    people, usual = (cover_report(each).all_services.people for each in (moved, at_home))
    assert people.total == pytest.approx(usual.total)
    # Nearer to the equator a degree is wider, so a little less is in reach.
    assert people.served == pytest.approx(usual.served, rel=0.2)


def _wrapped(longitude_deg: float) -> str:
    return f"{(longitude_deg + 180.0) % 360.0 - 180.0:.6f}"
