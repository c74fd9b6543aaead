"""One edit of a study's table: what it changes, what it leaves, and what it refuses in one line."""

import copy
import re
import tomllib

import pytest

from combe.errors import RangeError, StudyError
from combe.study.edit import edited
from combe.study.file import checked_study, checked_table, read_study
from combe.study.new import demo_study_path
from combe.study.project_of import open_rasters, project_of
from support_edits import write_table_study
from support_study import STUDY, write_study

THIRD = """
[[stations]]
name = "Far Relay"
role = "relay"
longitude_deg = -84.25
latitude_deg = 36.55
aerial_height_m = 15.0
polarization = "vertical"
on_air = false

[[stations.services]]
name = "Mux 1"
channel = 50
erp_w = 5.0

[stations.feed]
from = "Combe Relay"
required_margin_db = 10.0

[stations.feed.aerial]
height_m = 12.0
gain_dbi = 10.0
bearing_deg = 80.0

[stations.output]
power_w = [1.0]
aerial_gain_dbd = 8.0

[[sfn]]
members = ["Parent Hill", "Combe Relay", "Far Relay"]
static_delay_us = { "Far Relay" = 3.0 }

[[sfn]]
members = ["Parent Hill", "Far Relay"]

[coordination]
points = "border.geojson"
stations = ["Far Relay", "Parent Hill"]

[siting.feed]
from = ["Far Relay"]
"""
NEW = {"name": "New Relay", "longitude_deg": -84.3, "latitude_deg": 36.6}


def table(text=STUDY + THIRD):
    return tomllib.loads(text)


def station(found, name):
    return next(each for each in found["stations"] if each["name"] == name)


def refused(edit, given=None):
    with pytest.raises(RangeError) as caught:
        edited(given or table(), edit)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_change_is_at_one_station_alone():
    before = table()
    after = edited(
        before,
        {
            "station": "combe  relay",
            "aerial_height_m": 25,
            "polarization": "horizontal",
            "erp_w": {"mux 2": 0.1 + 0.2},
            "channel": {"Mux 1": 43},
        },
    )
    wanted = table()
    relay = station(wanted, "Combe Relay")
    relay |= {"aerial_height_m": 25.0, "polarization": "horizontal"}
    relay["services"][0]["channel"], relay["services"][1]["erp_w"] = 43, 0.3
    assert after == wanted
    assert isinstance(station(after, "Combe Relay")["aerial_height_m"], float)


@pytest.mark.parametrize(
    "edit",
    [
        {"station": "Combe Relay", "longitude_deg": -84.21, "erp_w": {"Mux 1": 3.0}},
        {"add": NEW},
        {"remove": "Far Relay"},
        {"remove": "Combe Relay"},
    ],
)
def test_the_table_given_stays_as_it_is(edit):
    before = table()
    kept = copy.deepcopy(before)
    after = edited(before, edit)
    assert after != kept
    for each in after["stations"]:
        each.clear()
    assert before == kept


def test_what_is_usual_is_not_written_where_nothing_stood():
    usual = {"horizontal_pattern": "omni", "bearing_deg": 0, "tilt_deg": 0, "on_air": True}
    assert edited(table(), {"station": "Combe Relay", **usual}) == table()
    assert station(edited(table(), {"station": "Far Relay", "on_air": True}), "Far Relay")["on_air"] is True
    assert (
        station(edited(table(), {"station": "Combe Relay", "on_air": False}), "Combe Relay")["on_air"]
        is False
    )


def test_a_relay_more_is_a_copy_on_the_air_that_looks_at_its_parent():
    found = edited(table(), {"add": {**NEW, "like": "far relay", "parent": "PARENT HILL"}})
    new, like = found["stations"][-1], station(table(), "Far Relay")
    assert [each["name"] for each in found["stations"]][-2:] == ["Far Relay", "New Relay"]
    assert new["services"] == like["services"]
    assert new["output"] == like["output"]
    assert new["feed"] == {"from": "Parent Hill", "required_margin_db": 10.0} | {
        "aerial": {"height_m": 12.0, "gain_dbi": 10.0}
    }
    assert "on_air" not in new
    assert (new["longitude_deg"], new["latitude_deg"]) == (-84.3, 36.6)


def test_a_relay_more_without_a_wish_is_the_first_relay_again():
    new = edited(table(), {"add": NEW})["stations"][-1]
    first = station(table(), "Combe Relay")
    assert {**first, **NEW} == new


def test_a_relay_more_with_services_has_no_powers_of_others():
    services = [{"name": "Mux 1", "channel": 33, "erp_w": 7}, {"name": "Mux 2", "channel": 36, "erp_w": 7}]
    new = edited(table(), {"add": {**NEW, "like": "Far Relay", "services": services}})["stations"][-1]
    assert [each["channel"] for each in new["services"]] == [33, 36]
    assert new["output"] == {"aerial_gain_dbd": 8.0}


def test_where_no_relay_is_a_plain_one_is_added_and_passes_the_checks(tmp_path):
    text = STUDY.rpartition("[[stations]]\nname")[0]
    reading = read_study(write_study(tmp_path, text))
    services = [{"name": "Mux 1", "channel": 41, "erp_w": 5.0}]
    found = edited(reading.table, {"add": {**NEW, "services": services}})
    relay = checked_table(checked_study(reading), found).content.stations[-1]
    assert (relay.role, relay.aerial_height_m, relay.polarization) == ("relay", 30.0, "vertical")
    assert relay.feed.from_ == "Parent Hill"
    assert "services is not given" in refused({"add": NEW}, reading.table)


def test_a_plain_relay_is_as_the_siting_has_it():
    text = STUDY.rpartition("[[stations]]\nname")[0] + (
        "[siting]\naerial_height_m = 22.0\n[siting.feed]\naerial_gain_dbi = 9.0\n"
        '[[siting.services]]\nname = "Mux 2"\nchannel = 48\nerp_w = 2.0\n'
    )
    new = edited(table(text), {"add": NEW})["stations"][-1]
    assert new["services"] == [{"name": "Mux 2", "channel": 48, "erp_w": 2.0}]
    assert (new["aerial_height_m"], new["feed"]["aerial_gain_dbi"]) == (22.0, 9.0)


def test_a_station_taken_away_takes_along_what_only_it_feeds():
    found = edited(table(), {"remove": "combe relay"})
    assert [each["name"] for each in found["stations"]] == ["Parent Hill"]
    assert "sfn" not in found
    assert found["coordination"]["stations"] == ["Parent Hill"]
    assert found["siting"] == {"feed": {}}


def test_a_network_keeps_the_members_that_stay():
    found = edited(table(), {"remove": "Far Relay"})
    assert found["sfn"] == [{"members": ["Parent Hill", "Combe Relay"], "static_delay_us": {}}]


def test_coordination_that_asks_about_nobody_does_not_ask_about_all():
    given = table()
    given["coordination"]["stations"] = ["Far Relay"]
    assert "coordination" not in edited(given, {"remove": "Far Relay"})


def test_the_last_station_stays():
    assert "a study has one station at least" in refused({"remove": "Parent Hill"})


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        ({}, r"edit is nothing; allowed: one of station, add, remove"),
        ({"station": "Far Relay", "remove": "Far Relay"}, r"edit is station and remove"),
        ({"station": "Fa Relay"}, r'station is "Fa Relay"; allowed: .*; did you mean "Far Relay"\?'),
        ({"station": 7}, r"station is 7; allowed: a text"),
        ({"station": "Far Relay", "hight_m": 3}, r'a key of a change is "hight_m"; .*; did you mean "'),
        ({"station": "Far Relay", "aerial_height_m": "3"}, r'aerial_height_m is "3"; allowed: a number'),
        ({"station": "Far Relay", "aerial_height_m": True}, r"aerial_height_m is True; allowed: a number"),
        ({"station": "Far Relay", "tilt_deg": float("nan")}, r"tilt_deg is nan; allowed: a number"),
        ({"station": "Far Relay", "on_air": 1}, r"on_air is 1; allowed: true or false"),
        ({"station": "Far Relay", "polarization": None}, r"polarization is None; allowed: a text"),
        ({"station": "Far Relay", "erp_w": 5}, r"erp_w is 5; allowed: a table of services"),
        ({"station": "Far Relay", "erp_w": {"Mx 1": 5}}, r'service of Far Relay is "Mx 1"; .*"Mux 1"\?'),
        ({"station": "Far Relay", "channel": {"Mux 1": 41.5}}, r"channel of Mux 1 is 41.5; .*whole number"),
        ({"add": 5}, r"add is 5; allowed: a table"),
        ({"add": {**NEW, "x": 1}}, r'a key of add is "x"'),
        ({"add": {"name": "New"}}, r"longitude_deg is not given"),
        (
            {"add": {**NEW, "name": "far  RELAY"}},
            r'name is "far  RELAY"; allowed: a name that no station has',
        ),
        ({"add": {**NEW, "like": "Parent Hill"}}, r'like is "Parent Hill"; allowed: Combe Relay, Far Relay'),
        ({"add": {**NEW, "parent": "Nobody"}}, r'parent is "Nobody"'),
        ({"add": {**NEW, "services": "all"}}, r'services is "all"; allowed: a list'),
        ({"add": {**NEW, "services": [{"name": "Mux 1"}]}}, r"channel of a new service is not given"),
        ({"remove": "Fr Relay"}, r'remove is "Fr Relay"; .*did you mean "Far Relay"\?'),
        ({"remove": "Far Relay", "more": 1}, r'a key of an edit is "more"'),
    ],
)
def test_a_wrong_edit_is_told_in_one_line(edit, told):
    assert re.search(told, refused(edit))


def test_an_edited_table_is_a_study_with_the_rasters_that_are_open():
    reading = read_study(demo_study_path())
    study = checked_study(reading)
    rasters = open_rasters(study)
    moved = edited(reading.table, {"station": "Larkcombe", "longitude_deg": -84.28, "erp_w": {"Mux A": 80}})
    project = project_of(checked_table(study, moved), rasters)
    assert project.stations[1].longitude_deg == -84.28
    assert project.stations[1].services[0].erp_w == 80.0
    assert project.terrain is rasters.terrain
    assert project.stations[0] == project_of(study, rasters).stations[0]


def test_what_is_impossible_is_told_by_the_checks():
    reading = read_study(demo_study_path())
    edit = {"station": "Larkcombe", "aerial_height_m": -3, "channel": {"Mux A": 99}}
    with pytest.raises(StudyError) as caught:
        checked_table(checked_study(reading), edited(reading.table, edit))
    told = " ".join(caught.value.faults)
    assert "stations[1].aerial_height_m: -3.0 is out of range" in told
    assert "stations[1].services[0].channel: channel 99 is unknown" in told


def test_faults_name_the_row_that_a_station_was_read_from(tmp_path):
    reading = read_study(write_table_study(tmp_path))
    study = checked_study(reading)
    fewer = edited(edited(reading.table, {"remove": "Far Hill"}), {"add": NEW})
    wrong = edited(fewer, {"station": "Combe Relay", "erp_w": {"Mux 2": -1}})
    with pytest.raises(StudyError) as caught:
        checked_table(study, edited(wrong, {"station": "New Relay", "aerial_height_m": -1}))
    told = caught.value.faults
    assert [fault.partition(":")[0] for fault in told] == [
        "stations.csv row 8, erp_w",
        "stations[2].aerial_height_m",
    ]
    assert project_of(checked_table(study, fewer)).labels == (
        "stations.csv row 5",
        "stations.csv row 7",
        "stations[2]",
    )
