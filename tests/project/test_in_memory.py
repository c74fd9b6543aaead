"""A project made in memory, on an array of heights and without any file, is asked all questions."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import combe
from combe.answers.visit import sheet_report
from combe.errors import RangeError
from combe.propagation.p2001 import TYPICAL_CLIMATES
from support_ridge import (
    CELL_M,
    NORTH_M,
    WEST_M,
    farms,
    place,
    ridge_feed,
    ridge_heights,
    ridge_terrain,
)

RIDGE_M = 300.0
"""Height of the ridge over the plain."""


@pytest.fixture(scope="module")
def project():
    parent_at, relay_at = place(1.0, 8.0), place(8.0, 8.0)
    parent = combe.Station(
        "Mast", "parent", *parent_at, 40.0, "horizontal", (combe.Service("Mux 1", 27, 522.0, 100.0),)
    )
    relay = combe.Station(
        "Ridge",
        "relay",
        *relay_at,
        15.0,
        "vertical",
        (combe.Service("Mux 1", 41, 634.0, 20.0),),
        parent="Mast",
    )
    return combe.Project(
        title="A ridge",
        terrain=ridge_terrain(RIDGE_M),
        television=combe.television_system("DVB-T2"),
        stations=(parent, relay),
        feeds={"Ridge": ridge_feed()},
        grid=combe.GridWish(cell_size_m=200.0),
        people=farms([(10.5, each) for each in np.linspace(6.0, 10.0, 30)]),
        siting=combe.Siting((combe.SitingService("Mux 1", 41, 20.0),), list_length=2, sites=1),
        invented=True,
    )


def test_the_path(project):
    found = combe.path(project, "Mast", "Ridge")
    assert found.profile.distance_km[-1] == pytest.approx(7.0, abs=0.01)
    assert found.services[0].prediction.line_of_sight


def test_the_feed(project):
    found = combe.feed(project)
    assert found.verdict == "passes"
    # A first budget by hand: 100 W over a dipole, 7.0 km of free space, 14 dBi, 2 dB of feeder.
    budget = found.relays[0].services[0].budget
    field = 106.92 + 10 * np.log10(0.1) - 20 * np.log10(7.0)
    assert budget.receiver_input_dbm == pytest.approx(field - 77.2 - 20 * np.log10(522.0) + 14 - 2, abs=0.2)


@pytest.fixture(scope="module")
def covered(project):
    return combe.cover(project)


def test_the_coverage(covered):
    people = covered.all_services.people
    assert people.newly_served == pytest.approx(3000.0), "everybody lives beyond the ridge"
    alone = combe.cover(replace(covered.project.without("Ridge"), siting=None)).all_services.people
    assert alone.served_before == pytest.approx(people.served_before)
    assert alone.newly_served == 0.0


@pytest.fixture(scope="module")
def sited(project):
    return combe.site(project)


def test_the_site(sited):
    best = sited.candidates[0]
    lon, _ = place(8.0, 8.0)
    assert best.station.longitude_deg == pytest.approx(lon, abs=0.02), "it stands on the ridge"
    assert best.people == pytest.approx(3000.0)


def test_the_channels(project):
    found = combe.channels(project, channels=(41, 45))
    assert {each.channel for each in found.outputs[0].ranked} == {41, 45}


def test_a_place_explained(project):
    found = combe.explain(project, *place(10.5, 8.0))
    assert found.services[0].server.station.name == "Ridge"


def test_a_visit(project, tmp_path):
    (tmp_path / "readings.csv").write_text(
        "date,station,service,test_point,quantity,value,unit,meter,meter_calibrated_on,who,weather,note\n"
        "2026-01-05,Ridge,Mux 1,receiver,level,-99,dBm,M1,2025-12-01,Ann,dry,\n"
    )
    found = combe.visit(project, tmp_path / "readings.csv", tmp_path / "log.gpkg")
    assert found.status == "out"


def test_the_check(project):
    assert [each.ground_m for each in combe.check(project).stations] == pytest.approx([100.0, 400.0], abs=2.0)


def test_changes_share_the_ground(project):
    moved = project.moved("Ridge", *place(8.0, 9.0))
    assert moved.terrain is project.terrain
    assert moved.station("Ridge").latitude_deg < project.station("Ridge").latitude_deg
    gone = project.without("Mast")
    assert gone.stations == (), "who is fed by it goes with it"
    stronger = replace(project.station("Ridge"), services=(combe.Service("Mux 1", 45, 666.0, 40.0),))
    changed = project.with_station(stronger, feed=project.feeds["Ridge"])
    assert [each.name for each in changed.stations] == ["Mast", "Ridge"]
    assert changed.stations[1].services[0].channel == 45
    assert project.stations[1].services[0].channel == 41
    louder = replace(project.station("Mast"), services=(combe.Service("Mux 1", 27, 474.0, 60.0),))
    changed = project.with_station(louder)
    assert [each.name for each in changed.stations] == ["Mast", "Ridge"], "who is fed by it stays"
    assert changed.stations[0] is louder
    assert changed.feeds == project.feeds


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"feeds": {"Rigde": None}}, r'station of the feeds is "Rigde"; allowed: Mast, Ridge'),
        ({"receive_height_m": 0.0}, "receive_height_m is 0.0; allowed: 1 to 50"),
        ({"location_percent": 40.0}, "location_percent is 40.0; allowed: 50 to 99"),
        ({"channel_raster": "9 MHz"}, "channel_raster is '9 MHz'; allowed: "),
        ({"labels": ("one",)}, "labels is 1; allowed: 2, one for each station"),
    ],
)
def test_what_contradicts_itself_is_refused(project, change, words):
    with pytest.raises(RangeError, match=words):
        replace(project, **change)


def test_a_parent_that_is_not_there(project):
    feed = replace(project.feeds["Ridge"], parent="Nowhere")
    with pytest.raises(RangeError, match='parent of the feed of Ridge is "Nowhere"'):
        replace(project, feeds={"Ridge": feed})


def test_two_stations_of_one_name(project):
    again = replace(project.stations[1], name="mast", parent="Mast")
    with pytest.raises(RangeError, match='name of a station is "Mast"'):
        replace(project, stations=(*project.stations, again), labels=())


def test_heights_in_memory_and_in_a_file_are_one_ground(project, tmp_path):
    """The same heights through a GeoTIFF give the same field to the last bit."""
    from support_terrain import write_tif

    path: Path = tmp_path / "ridge.tif"
    write_tif(path, ridge_heights(RIDGE_M), WEST_M, NORTH_M, CELL_M, crs=32616)
    filed = replace(project, terrain=combe.open_terrain([path]))
    fields = [
        combe.path(each, "Mast", "Ridge").services[0].field_strength_dbuv_m for each in (project, filed)
    ]
    assert fields[0] == fields[1]


AIR = combe.Climate(52.0, 70.0, 35.0, -420.0, 9.0, 7.0, 4.6, 3.0, 4.6, 18.0, 1)
TEMPERATE = "temperate climate, typical values from memory"


def test_the_climate_is_temperate_unless_given(project):
    assert (project.climate, project.climate_words) == (TYPICAL_CLIMATES["temperate"], TEMPERATE)
    assert [note for note in combe.check(project).notes if "climate" in note] == [
        'no climate is stated: temperate is taken; write climate = "temperate" or another in [air]'
    ]


def test_the_climate_given_is_kept_and_named(project):
    given = replace(project, climate=replace(AIR, super_slope=71.0))
    assert given.climate_words == "numbers of the project"
    assert not [note for note in combe.check(given).notes if "climate" in note]
    named = replace(project, climate=TYPICAL_CLIMATES["desert"])
    assert named.climate_words == "desert climate, typical values from memory"
    own = replace(project, climate=AIR, climate_words="read on the spot")
    for model in ("p526", "free-space", "p1812"):
        other = own.by_model(model)
        assert (other.climate, other.climate_words) == (AIR, "read on the spot")
    assert own.only(["Mast"]).climate is AIR


def test_the_climate_is_told_where_fades_over_the_year_enter(project, covered, sited):
    own = replace(project, climate=AIR, climate_words="read on the spot")
    for made in (combe.feed(own), combe.check(own), sheet_report(own, Path("none.gpkg"))):
        assert made.provenance["climate"] == "read on the spot"
    assert sited.provenance["climate"] == TEMPERATE
    others = combe.path(own, "Mast", "Ridge"), covered, combe.channels(own, channels=(41, 45))
    for made in others:
        assert "climate" not in made.provenance


def test_two_services_of_the_relay_to_be_sited_are_two():
    one = combe.SitingService("Mux 1", 41, 20.0)
    with pytest.raises(RangeError, match="service name of the siting is 'Mux 1' more than once"):
        combe.Siting((one, replace(one, channel=45)))
    with pytest.raises(RangeError, match="channel of the siting is 41 more than once"):
        combe.Siting((one, replace(one, name="Mux 2")))
