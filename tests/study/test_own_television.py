"""Televisions of stations and services of their own: what results, by table too, and what is refused."""

from dataclasses import replace

import pytest

from combe.errors import RangeError, StudyError
from combe.project import Television
from combe.standards import television_system
from combe.study.project_of import load_project
from support_study import SITING, edited, write_study

MODE = 'modulation = "256-QAM"\ncode_rate = "2/3"'
PARENT = 'role = "parent"'
RELAY = 'role = "relay"'
FEED_CN = ("required_margin_db = 10.0", "required_margin_db = 10.0\nrequired_cn_db = 40.0")


def project_of(folder, *changes, text=None):
    return load_project(write_study(folder, edited(*changes) if text is None else text))


def faults(folder, *changes):
    with pytest.raises(StudyError) as caught:
        project_of(folder, *changes)
    return list(caught.value.faults)


def test_a_station_that_writes_nothing_has_what_the_study_has(tmp_path):
    project = project_of(tmp_path)
    assert project.televisions == {}
    assert all(not service.television for station in project.stations for service in station.services)
    assert project.systems == (project.television,)


def test_another_system_starts_anew_and_the_same_changes_what_it_writes(tmp_path):
    project = project_of(
        tmp_path,
        (PARENT, f'{PARENT}\ntelevision = {{ code_rate = "3/5" }}'),
        (RELAY, f'{RELAY}\ntelevision = {{ system = "DVB-T", location_percent = 70.0 }}'),
    )
    parent, relay = (project.planned(station.services[0]) for station in project.stations)
    assert (parent.system.modulation, parent.system.code_rate) == ("256-QAM", "3/5")
    # Not 256-QAM, which DVB-T has not: 64-QAM 2/3 is its usual mode.
    assert (relay.system.name, relay.system.modulation, relay.system.code_rate) == ("DVB-T", "64-QAM", "2/3")
    assert (parent.location_percent, relay.location_percent) == (project.location_percent, 70.0)
    assert list(project.televisions) == ["DVB-T2, 256-QAM, 3/5", "DVB-T, 70 %"]


def test_a_service_may_differ_from_its_station_and_have_another_raster(tmp_path):
    project = project_of(
        tmp_path,
        (PARENT, f'{PARENT}\ntelevision = {{ system = "PAL I" }}'),
        ("channel = 27", 'channel = 30\ntelevision = { system = "DVB-T2 7 MHz" }'),
    )
    services = project.stations[0].services
    assert project.television_of(services[0]).name == "DVB-T2 7 MHz"
    # 7 MHz channel 30 in the raster whose channel 28 is 526 to 533 MHz.
    assert services[0].frequency_mhz == 543.5
    assert {project.television_of(each).name for each in services[1:]} <= {"PAL I"}


def test_what_is_wrong_in_one_is_told_at_its_place(tmp_path):
    told = faults(
        tmp_path,
        (PARENT, f'{PARENT}\ntelevision = {{ system = "PAL J", colour = true }}'),
        (RELAY, f'{RELAY}\ntelevision = {{ modulation = "1024-QAM" }}'),
    )
    assert any(each.startswith('stations[0].television.system: "PAL J" is unknown') for each in told)
    assert any(each.startswith("stations[0].television.colour: is no key of a study") for each in told)
    assert any(each.startswith('stations[1].television.modulation: "1024-QAM" is unknown') for each in told)
    pictures = faults(tmp_path, (RELAY, f'{RELAY}\ntelevision = {{ system = "PAL I", code_rate = "2/3" }}'))
    assert pictures[0].startswith('stations[1].television.code_rate: stands beside system "PAL I"')
    assert any(each.startswith("stations[1].feed.required_cn_db: ") for each in pictures)


def test_channels_are_held_against_the_raster_of_their_service(tmp_path):
    told = faults(tmp_path, ("channel = 27", 'channel = 27\ntelevision = { system = "DVB-T 7 MHz" }'))
    assert [each.partition(": ")[0] for each in told] == ["stations[0].services[0].channel"]
    assert "7 MHz" in told[0]


def test_a_relay_to_be_sited_has_a_system_of_its_own_and_is_fed_by_those_that_send_it(tmp_path):
    asked = SITING.replace("[siting]\n", '[siting]\ntelevision = { system = "DVB-T" }\n', 1)
    project = project_of(tmp_path, text=edited() + asked)
    assert {project.television_of(each).name for each in project.siting.services} == {"DVB-T"}
    assert [each.name for each in project.systems] == ["DVB-T2", "DVB-T"]


def test_a_service_names_a_television_that_the_project_has(tmp_path):
    project = project_of(tmp_path)
    station = project.stations[0]
    strange = replace(station, services=tuple(replace(each, television="X") for each in station.services))
    with pytest.raises(RangeError, match=r'television of .* is "X"; allowed: none is given to the project'):
        project.with_station(strange)
    known = replace(project, televisions={"X": Television(television_system("DVB-T"))})
    assert known.with_station(strange).television_of(strange.services[0]).name == "DVB-T"


def test_a_table_of_stations_has_columns_for_it(tmp_path):
    path = write_study(tmp_path, edited() + '\n[network]\nstations = "more.csv"\n')
    (tmp_path / "more.csv").write_text(
        "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_w,"
        "television_system,television_location_percent\n"
        "Old Hill,parent,-84.2,36.6,40,horizontal,Mux 1,30,100,PAL I,\n"
        "Old Hill,,,,,,Mux 2,33,100,,90\n",
        encoding="utf-8",
    )
    project = load_project(path)
    first, second = (project.planned(each) for each in project.station("Old Hill").services)
    assert (first.system.name, first.location_percent) == ("PAL I", 50.0)
    assert (second.system, second.location_percent) == (project.television, 90.0)
