"""Faults of the file and those of its rasters and places are told together, and none only repeats another."""

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.feed import feed_report
from combe.answers.path import path_report
from combe.errors import StudyError
from combe.library import check, check_file
from combe.study.project_of import load_project
from support_study import STUDY, edited, strip_crs, void_under, write_study
from support_terrain import write_tif

OFF = ("longitude_deg = -84.20", "longitude_deg = -80.0")
CHANNEL = ("channel = 27", "channel = 99")
CHANNEL_FAULT = "stations[0].services[0].channel: channel 99 is unknown"
OFF_FAULT = "stations[1]: no terrain height at longitude -80.0"
SURVEY = ("[people]", '[survey]\npoints = "points.csv"\n\n[people]')
SITING = """
[siting]
aerial_height_m = 30.0
inside = "inside.geojson"
services = [{ name = "Mux 1", channel = 50, erp_w = 10.0 }]
"""
CLUTTER = ("[people]", '[clutter]\nraster = "cover.tif"\ncanopy = true\n\n[people]')
HEADER = "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_w\n"
TABLE = STUDY.partition("[[stations]]")[0] + '[network]\nstations = "stations.csv"\n'


def faults(path):
    with pytest.raises(StudyError) as caught:
        check_file(path)
    assert "\n" not in str(caught.value)
    return list(caught.value.faults)


def starts(path, *expected):
    found = faults(path)
    assert len(found) == len(expected), found
    for fault, start in zip(found, expected, strict=True):
        assert fault.startswith(start), found


def test_a_key_a_missing_file_and_a_station_off_the_terrain(tmp_path):
    path = write_study(tmp_path, edited(OFF, CHANNEL))
    (tmp_path / "people.tif").unlink()
    starts(path, 'people.raster: "people.tif": there is no such file', CHANNEL_FAULT, OFF_FAULT)


def test_a_key_a_void_an_impossible_grid_and_people_that_cannot_be_used(tmp_path):
    area = ("cell_size_m = 300", "cell_size_m = 300\narea_deg = [10.0, 50.0, 10.2, 50.2]")
    path = write_study(tmp_path, edited(CHANNEL, area))
    void_under(path, -84.33, 36.70)
    strip_crs(tmp_path / "people.tif")
    starts(
        path,
        CHANNEL_FAULT,
        "stations[0]: no terrain height",
        "grid: no terrain height at the study area",
        "people: raster",
    )


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (('["terrain.tif"]', '["gone.tif"]'), 'terrain.tiles[0]: "gone.tif": there is no such file'),
        (('tiles = ["terrain.tif"]', 'tile = ["terrain.tif"]'), "terrain.tile: is no key of a study"),
    ],
)
def test_nothing_is_said_of_places_where_the_terrain_is_at_fault(tmp_path, change, fault):
    path = write_study(tmp_path, edited(OFF, change))
    strip_crs(tmp_path / "people.tif")
    starts(path, fault, "people: raster")


def test_words_about_the_terrain_do_not_hide_its_faults(tmp_path):
    path = write_study(tmp_path, edited(OFF, ('vertical_datum = "EGM96"', "vertical_datum = 96")))
    starts(path, "terrain.vertical_datum: 96 is not text", OFF_FAULT)


def test_a_place_at_fault_is_not_looked_for(tmp_path):
    path = write_study(tmp_path, edited(("longitude_deg = -84.20", "longitude_deg = -284.20"), CHANNEL))
    starts(path, "stations[1].longitude_deg: -284.2 is out of range", CHANNEL_FAULT)


def test_people_at_fault_are_not_opened(tmp_path):
    path = write_study(tmp_path, edited(OFF, ('raster = "people.tif"', 'raster = "terrain.tif"')))
    starts(path, 'people.raster: "terrain.tif" is a tile of the terrain', OFF_FAULT)


def test_cover_is_not_missed_where_there_is_no_terrain(tmp_path):
    path = write_study(tmp_path, edited(OFF, CLUTTER))
    cover = np.zeros((40, 40))
    write_tif(tmp_path / "cover.tif", cover, -84.45, 36.75, 0.01)
    starts(path, OFF_FAULT)
    cover = np.zeros((40, 20))
    write_tif(tmp_path / "cover.tif", cover, -84.25, 36.75, 0.01)
    starts(path, 'stations[0]: station "Parent Hill": raster', OFF_FAULT)


def test_survey_and_layers_of_siting_are_opened(tmp_path):
    path = write_study(tmp_path, edited(SURVEY) + SITING)
    (tmp_path / "points.csv").write_text("longitude_deg,latitude_deg\n", encoding="utf-8")
    (tmp_path / "inside.geojson").write_text("{}", encoding="utf-8")
    starts(path, "siting.inside: table", "survey.points: table")
    path.write_text(edited(SURVEY, OFF) + SITING.replace("30.0", "-3.0"), encoding="utf-8")
    starts(path, "siting.aerial_height_m: -3.0", OFF_FAULT, "siting.inside: table", "survey.points: table")
    path.write_text(edited(SURVEY, CHANNEL) + SITING, encoding="utf-8")
    starts(path, CHANNEL_FAULT, "siting.inside: table")


def test_a_survey_of_too_few_places_to_correct_by_is_told(tmp_path):
    correcting = (SURVEY[0], SURVEY[1].replace('"points.csv"\n', '"points.csv"\napply_correction = true\n'))
    path = write_study(tmp_path, edited(correcting))
    rows = [f"{-84.30 + 0.01 * number:.2f},36.66,Parent Hill,Mux 1,60.0" for number in range(6)]

    def measured(*chosen):
        lines = ["longitude_deg,latitude_deg,station,service,field_dbuv_m", *chosen]
        (tmp_path / "points.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")

    # A second service at a place is no second place.
    measured(*rows[:4], rows[0].replace("Mux 1", "Mux 2"))
    few = "survey.apply_correction: survey places of Parent Hill in points.csv is 4; allowed: 5 or more"
    starts(path, few)
    path.write_text(edited(correcting, CHANNEL), encoding="utf-8")
    starts(path, CHANNEL_FAULT)
    path.write_text(edited(correcting, OFF), encoding="utf-8")
    starts(path, OFF_FAULT, few)
    measured(*rows)
    path.write_text(edited(correcting), encoding="utf-8")
    assert check_file(path).project.survey.apply_correction
    measured(*rows[:4])
    with pytest.raises(StudyError, match=r"survey places of Parent Hill in points\.csv is 4"):
        check(load_project(path))
    path.write_text(edited(SURVEY), encoding="utf-8")
    assert not check_file(path).project.survey.apply_correction


def test_stations_of_a_table_are_told_by_row(tmp_path):
    path = write_study(tmp_path, TABLE)
    rows = "Far Hill,parent,-80.0,36.70,60,horizontal,Mux 1,27,1000\n"
    (tmp_path / "stations.csv").write_text(HEADER + rows, encoding="utf-8")
    starts(path, "stations.csv row 2: no terrain height at longitude -80.0")
    (tmp_path / "stations.csv").write_text(HEADER + rows.replace("27", "99"), encoding="utf-8")
    starts(path, "stations.csv row 2, channel: channel 99", "stations.csv row 2: no terrain height")


def test_a_table_that_cannot_be_read_is_not_told_again_by_the_relays_of_the_file(tmp_path):
    relay = STUDY[STUDY.index('[[stations]]\nname = "Combe Relay"') :]
    path = write_study(tmp_path, TABLE + "\n" + relay)
    (tmp_path / "stations.csv").write_text("name,role\n", encoding="utf-8")
    starts(path, "network.stations: table")


def test_a_file_that_is_no_toml_is_told_alone(tmp_path):
    starts(write_study(tmp_path, edited(OFF, ("channel = 27", "channel = = 27"))), "line ")


def test_every_void_under_a_station_is_told_by_the_other_commands(tmp_path):
    path = write_study(tmp_path)
    void_under(path, -84.33, 36.70)
    void_under(path, -84.20, 36.60)
    study = load_project(path)
    asked = (cover_report, feed_report, lambda it: path_report(it, "Parent Hill", "Combe Relay"))
    for ask in asked:
        with pytest.raises(StudyError) as caught:
            ask(study)
        first, second = caught.value.faults
        assert first.startswith("stations[0]: no terrain height")
        assert second.startswith("stations[1]: no terrain height")
