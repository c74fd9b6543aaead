"""The section on coordination: what it asks, its files, and its faults."""

import json

import geopandas
import pytest
import shapely

from combe.errors import StudyError, TableError
from combe.library import check_file
from combe.standards import TRIGGER_TABLES, trigger_at
from combe.study.coordination_of import read_points
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import load_project
from support_study import STUDY, write_study

SECTION = '\n[coordination]\npoints = "border.geojson"\n'
LINE = {"type": "LineString", "coordinates": [[-84.3, 36.55], [-84.2, 36.55]]}


def written(folder, section=SECTION):
    path = write_study(folder, STUDY + section)
    (folder / "border.geojson").write_text(
        json.dumps({"type": "Feature", "properties": {}, "geometry": LINE})
    )
    return path


def bands(*edges):
    entries = (f"{{ from_mhz = {low}, to_mhz = {high}, field_dbuv_m = 20.0 }}" for low, high in edges)
    return f"{SECTION}triggers = [{', '.join(entries)}]\n"


def faults(folder, section):
    with pytest.raises(StudyError) as caught:
        load_study(written(folder, section))
    return list(caught.value.faults)


def test_a_section_with_its_points_alone_asks_what_is_usual(tmp_path):
    asked = load_project(written(tmp_path)).coordination
    assert (asked.spacing_km, asked.time_percent, asked.height_m) == (1.0, 1.0, 10.0)
    assert (asked.triggers, asked.stations) == ((), ())
    assert [each.words for each in asked.places()][:2] == ["border, 0.0 km", "border, 1.0 km"]


@pytest.mark.parametrize(
    ("keys", "fields"),
    [
        ("trigger_dbuv_m = 23.5", {522.0: 23.5, 100.0: 23.5}),
        ('trigger_table = "GE06"', {522.0: 21.0, 634.0: 23.0}),
        (
            "triggers = [{ from_mhz = 470.0, to_mhz = 600.0, field_dbuv_m = 20.0 }]",
            {522.0: 20.0, 634.0: None},
        ),
    ],
)
def test_triggers_are_given_in_three_ways(tmp_path, keys, fields):
    project = load_project(written(tmp_path, f'{SECTION}{keys}\nstations = ["Combe Relay"]\n'))
    triggers = project.coordination.triggers
    assert {mhz: trigger_at(triggers, mhz, analogue=False) for mhz in fields} == fields
    assert (triggers == TRIGGER_TABLES["GE06"]) == ("GE06" in keys)
    assert project.coordination.stations == ("Combe Relay",)


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ("\n[coordination]\nspacing_km = 1.0\n", "points: is missing; write"),
        ('\n[coordination]\npoints = "gone.csv"\n', 'points: "gone.csv": there is no such file'),
        (f"{SECTION}time_percent = 0.1\n", "time_percent: 0.1 is out of range"),
        (f"{SECTION}heigth_m = 3.0\n", 'heigth_m: is no key of a study; did you mean "height_m"?'),
        (
            f'{SECTION}stations = ["Combe Rely"]\n',
            'stations[0]: "Combe Rely" is no station of this study; did you mean "Combe Relay"?',
        ),
        (
            f'{SECTION}trigger_dbuv_m = 20.0\ntrigger_table = "GE06"\n',
            "trigger_table: stands beside trigger_dbuv_m",
        ),
        (bands((600.0, 500.0)), "triggers[0]: band of a trigger is 600 to 500 MHz"),
        (bands((400.0, 500.0), (490.0, 600.0)), "triggers[1]: overlaps a band before it"),
        (
            f"{SECTION}triggers = [{{ from_mhz = 400.0, field_dbuv_m = 20.0 }}]\n",
            "triggers[0].to_mhz: is missing",
        ),
    ],
)  # fmt: skip
def test_each_fault_is_told_once_with_its_place(tmp_path, section, words):
    (found,) = faults(tmp_path, section)
    assert found.startswith(f"coordination.{words}")


def test_a_table_of_points_is_read_or_every_fault_told(tmp_path):
    table = tmp_path / "points.CSV"
    table.write_text("latitude_deg,longitude_deg,name\n50.5,-1.25,Post\n51,2,\n", encoding="utf-8")
    found = read_points(table).features
    assert [(each.geometry.x, each.geometry.y, dict(each.properties)) for each in found] == [
        (-1.25, 50.5, {"name": "Post"}), (2.0, 51.0, {}),
    ]  # fmt: skip
    table.write_text("longitude_deg,latitude_deg\n500,1\nx,1\n1,91\n", encoding="utf-8")
    with pytest.raises(
        TableError, match=r"3 faults, nothing was taken.*row 2.*500, 1 is outside.*row 3.*row 4"
    ):
        read_points(table)
    table.write_text("longitude_deg,latitude_deg\n", encoding="utf-8")
    with pytest.raises(TableError, match="it holds no point"):
        read_points(table)


def test_a_geopackage_of_lines_is_read(tmp_path):
    frame = geopandas.GeoDataFrame(
        {"name": ["A"]}, geometry=[shapely.LineString([(0, 0), (1e4, 0)])], crs="EPSG:32631"
    )
    frame.to_file(tmp_path / "line.gpkg")
    (feature,) = read_points(tmp_path / "line.gpkg").features
    assert feature.properties["name"] == "A"


def test_check_opens_the_points_also_of_a_study_with_faults(tmp_path):
    path = written(tmp_path)
    (tmp_path / "border.geojson").write_text("{}", encoding="utf-8")
    with pytest.raises(StudyError, match=r"coordination.points: table .*border.geojson: is no GeoJSON"):
        check_file(path)
    path.write_text(path.read_text("utf-8").replace("channel = 27", "channel = 99"), encoding="utf-8")
    with pytest.raises(StudyError) as caught:
        check_file(path)
    assert [each.partition(":")[0] for each in caught.value.faults] == [
        "stations[0].services[0].channel",
        "coordination.points",
    ]


def test_a_copy_of_a_study_has_its_points_and_says_the_same(tmp_path):
    trigger = "[[coordination.triggers]]\nfrom_mhz = 470.0\nto_mhz = 600.0\nfield_dbuv_m = 20.0\n"
    section = f"{SECTION}spacing_km = 2.5\n{trigger}"
    first = written(tmp_path / "first", section)
    copy = new_study(tmp_path / "copy", first)
    assert load_study(copy).content.coordination == load_study(first).content.coordination
    assert (tmp_path / "copy" / "border.geojson").is_file()
    bare = new_study(tmp_path / "bare", write_study(tmp_path / "without"))
    text = bare.read_text("utf-8")
    assert "# [coordination]" in text
    assert "# [[coordination.triggers]]" in text
    assert load_study(bare).content.coordination is None
