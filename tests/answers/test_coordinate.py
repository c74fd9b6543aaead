"""Fields for coordination: those of ``combe path``, algebra in free space, nothing unknown called low."""

import json
import math
from dataclasses import replace

import geopandas
import numpy as np
import pyproj
import pytest
import shapely

import combe
from combe.answers.coordinate import at_time, coordinate_report
from combe.errors import RangeError, StudyError
from combe.prediction import Conditions, PathOverTime
from combe.project import Coordination, Given
from combe.reports.coordinate_files import write_csv, write_gpkg
from combe.standards import TriggerBand
from combe.stations import Pattern
from combe.terrain import Feature, Features
from support_flat import HEAD, lonlat_of, station_text, write_plain_study
from support_study import edited, write_study
from support_terrain import write_tif

PLACE = (-84.25, 36.62)
BEYOND = (-84.9, 36.62)
TRIGGER = (TriggerBand(0.0, 1e6, 30.0),)


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    return combe.load(write_study(tmp_path_factory.mktemp("coordinate")))


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    stations = (
        station_text("Mast", 735_000.0, 4_040_000.0, [("A", 40, 1000.0)]),
        station_text("Other", 735_000.0, 4_045_000.0, [("Z", 40, 1000.0), ("Y", 43, 10.0)]),
    )
    return combe.load(write_plain_study(tmp_path_factory.mktemp("plain"), *stations, head=HEAD, people=False))


def asked(*places, time_percent=1.0, **more):
    return Coordination(places_deg=places or (PLACE,), time_percent=time_percent, **more)


@pytest.mark.parametrize("time_percent", [1.0, 10.0, 50.0])
def test_the_field_is_that_of_a_path_to_the_same_place(project, time_percent):
    found = coordinate_report(project, asked(time_percent=time_percent, height_m=12.0, triggers=TRIGGER))
    sender = project.station("Parent Hill")
    there = replace(
        project.station("Combe Relay"),
        longitude_deg=PLACE[0],
        latitude_deg=PLACE[1],
        aerial_height_m=12.0,
        parent=None,
    )
    shown = replace(project, shown_time_percent=time_percent).with_station(there)
    path = combe.path(shown, "Parent Hill", "Combe Relay")
    of_parent = {each.service.name: each for each in found.fields if each.station is sender}
    for service in path.services:
        assert of_parent[service.service.name].field_dbuv_m == pytest.approx(
            service.field_strength_dbuv_m, abs=0.01
        )
        assert of_parent[service.service.name].excess_db == pytest.approx(
            service.field_strength_dbuv_m - 30.0, abs=0.01
        )
    assert len(found.fields) == 4
    assert found.provenance["percentages"].startswith(f"exceeded for {time_percent:g} % of time")


def test_free_space_is_as_the_algebra_of_a_half_wave_dipole_has_it(plain):
    x_m = 755_000.0
    found = coordinate_report(plain, asked(lonlat_of(x_m, 4_040_000.0), time_percent=50.0, triggers=TRIGGER))
    mast = next(each for each in found.fields if each.station.name == "Mast")
    # 1 kW of ERP makes 106.92 dB(µV/m) at 1 km.
    assert mast.field_dbuv_m == pytest.approx(106.92 - 20.0 * math.log10(mast.distance_km), abs=0.01)
    assert mast.distance_km == pytest.approx(20.0, abs=0.02)
    assert mast.excess_db == pytest.approx(mast.field_dbuv_m - 30.0)
    (sector,) = [each for each in found.sectors if each.station.name == "Mast"]
    # Turned down by so much the field just meets the trigger.
    assert sector.reduction_db == mast.excess_db
    weaker = replace(mast.service, erp_w=1000.0 * 10.0 ** (-sector.reduction_db / 10.0))
    turned_down = plain.with_station(replace(mast.station, services=(weaker,)))
    again = coordinate_report(turned_down, found.asked)
    assert next(e for e in again.fields if e.station.name == "Mast").excess_db == pytest.approx(0.0, abs=1e-9)


def test_stations_of_one_channel_are_summed(plain):
    midway = lonlat_of(755_000.0, 4_042_500.0)
    found = coordinate_report(plain, asked(midway, time_percent=50.0))
    (together,) = found.sums
    alone = [each.field_dbuv_m for each in found.fields if each.service.channel == 40]
    assert together.field_dbuv_m == pytest.approx(np.mean(alone) + 3.01, abs=0.02)
    assert together.excess_db is None


def test_free_space_knows_no_time_and_says_so(plain):
    found = coordinate_report(plain, asked(lonlat_of(755_000.0, 4_040_000.0), triggers=TRIGGER))
    assert {each.held for each in found.fields} == {"not judged"}
    assert found.highest is None
    assert found.highest_path is None
    assert list(found.reasons) == ["free space knows no time, so nothing is known of 1 % of it"]


def test_p526_takes_what_rare_times_add_from_p2001(project):
    by_p526 = project.by_model("p526")
    half, rare = (coordinate_report(by_p526, asked(time_percent=time)) for time in (50.0, 1.0))
    path = rare.highest_path
    over_time = PathOverTime(
        path.profile, path.tx_height_m, 10.0, rare.highest.service.frequency_mhz, "vertical", project.climate
    )
    if rare.highest.station.name == "Parent Hill":
        over_time = replace(over_time, polarization="horizontal")
    before = next(
        each
        for each in half.fields
        if (each.station, each.service) == (rare.highest.station, rare.highest.service)
    )
    rise_db = over_time.enhancement_db(1.0)
    assert rise_db > 0.5
    assert rare.highest.field_dbuv_m - before.field_dbuv_m == pytest.approx(rise_db, abs=1e-6)
    assert "P.2001-4" in rare.provenance["time"]
    assert "climate" in rare.provenance
    assert "time" not in half.provenance


def test_beyond_the_terrain_nothing_is_low_but_what_a_bound_shows(project):
    found = coordinate_report(project, asked(BEYOND, triggers=(TriggerBand(0.0, 1e6, 75.0),)))
    held = {(each.station.name): each.held for each in found.fields}
    assert held == {"Parent Hill": "not judged", "Combe Relay": "under even in free space"}
    for each in found.fields:
        assert (each.field_dbuv_m, each.excess_db, each.reason) == (None, None, "no terrain all the way")
        free = 106.92 + 10.0 * math.log10(each.service.erp_w / 1000.0) - 20.0 * math.log10(each.distance_km)
        # Focusing raises a field of 1 % of time by 2.6 log(50) at most; its free space is 0.05 dB less.
        assert each.at_most_dbuv_m == pytest.approx(free + 2.6 * math.log10(50.0) + 0.048, abs=0.01)
    assert all(
        each.at_most_dbuv_m is None
        for each in coordinate_report(project.by_model("p526"), asked(BEYOND)).fields
    )
    half = coordinate_report(project.by_model("p526"), asked(BEYOND, time_percent=50.0))
    assert half.fields[0].at_most_dbuv_m is not None


@pytest.mark.parametrize("time_percent", [1.0, 50.0])
def test_the_bound_holds_wherever_a_field_is_known(project, time_percent):
    from combe.answers.coordinate import _at_most_dbuv_m

    rng = np.random.default_rng(3)
    lon, lat = rng.uniform(-84.40, -84.05, 60), rng.uniform(36.45, 36.70, 60)
    # Upwards, where many of these places lie, and little towards the horizon.
    angles = (-90.0, -60.0, -30.0, 0.0, 1.0, 30.0, 60.0, 90.0)
    tilted = Pattern(angles, (-30.0, -30.0, -30.0, -12.0, 0.0, -30.0, -30.0, -30.0), "vertical", "made up")
    stations = tuple(replace(each, vertical_pattern=tilted) for each in project.stations)
    tilted_all = replace(project, stations=stations)
    question = asked(*zip(lon.tolist(), lat.tolist(), strict=True), time_percent=time_percent, height_m=200.0)
    found = coordinate_report(tilted_all, question)
    assert found.highest is not None
    judged = [each for each in found.fields if each.field_dbuv_m is not None]
    bounds = [_at_most_dbuv_m(tilted_all, question, each) for each in judged]
    assert len(judged) > 200
    assert min(bound - each.field_dbuv_m for bound, each in zip(bounds, judged, strict=True)) > -1e-9
    # It is no idle bound: some field comes as near to it as its pattern lets it.
    assert min(bound - each.field_dbuv_m for bound, each in zip(bounds, judged, strict=True)) < 5.0


def test_too_near_a_place_is_not_judged(project):
    relay = project.station("Combe Relay")
    found = coordinate_report(
        project,
        asked((relay.longitude_deg, relay.latitude_deg + 0.001), stations=("combe relay",), triggers=TRIGGER),
    )
    assert {each.reason for each in found.fields} == {"nearer than 0.25 km, where the model begins"}
    assert {each.held for each in found.fields} == {"not judged"}


def test_a_border_is_walked_for_the_stations_meant(project):
    line = Features(
        (Feature(shapely.LineString([(-84.3, 36.55), (-84.2, 36.55)]), {"name": "border"}),),
        pyproj.CRS(4326),
        0,
    )
    question = Coordination(
        layers=(Given("line.geojson", lambda: line),), spacing_km=2.0, stations=("Combe Relay",)
    )
    told = []
    found = combe.coordinate(
        replace(project, coordination=question), progress=lambda *each: told.append(each)
    )
    assert len(found.places) == 6
    assert len(found.fields) == 12
    assert told[-1] == (6, 6, "paths of Combe Relay")
    assert [each.rank for each in found.fields] == sorted(each.rank for each in found.fields)
    assert found.sums == ()


def test_what_is_asked_follows_the_stations(project):
    both = replace(project, coordination=asked(stations=("Combe Relay", "parent hill")))
    left = both.without("Combe Relay").coordination
    assert left == asked(stations=("parent hill",))
    one = replace(project, coordination=asked(stations=("Combe Relay",)))
    assert one.without("Combe Relay").coordination is None
    everyone = replace(project, coordination=asked())
    assert everyone.without("Combe Relay").coordination == everyone.coordination
    with pytest.raises(RangeError, match='station is "Nobody"; allowed: Parent Hill, Combe Relay'):
        replace(project, coordination=asked(stations=("Nobody",)))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"time_percent": 0.5}, "time_percent of coordination is 0.5; allowed: 1 to 50"),
        ({"height_m": 0.0}, "height_m of coordination is 0"),
        ({"spacing_km": 0.0}, "spacing_km is 0"),
        ({"places_deg": ()}, "places of coordination is none"),
        ({"places_deg": ((200.0, 0.0),)}, "longitude_deg of a place is 200"),
        (
            {"triggers": (TriggerBand(470.0, 600.0, 21.0), TriggerBand(590.0, 700.0, 23.0))},
            "bands of triggers is 470 to 600 and 590 to 700 MHz",
        ),
    ],
)
def test_what_cannot_be_asked_is_refused(more, words):
    with pytest.raises(RangeError, match=words):
        Coordination(**({"places_deg": (PLACE,)} | more))


def test_a_project_without_the_question_says_what_to_write(project):
    with pytest.raises(
        StudyError, match=r"coordination: is missing; write a \[coordination\] table with points"
    ):
        coordinate_report(project)


def test_time_is_the_models_own_where_it_knows_it(project):
    assert at_time(project, asked()).conditions == replace(project.conditions, time_percent=1.0)
    assert at_time(project.by_model("p526"), asked()).conditions == Conditions(
        "p526", effective_radius_km=project.conditions.effective_radius_km
    )


def test_the_files_hold_every_field_under_the_keys_of_the_json(project, tmp_path):
    found = coordinate_report(project, asked(PLACE, BEYOND, triggers=TRIGGER))
    write_csv(found, tmp_path / "all.csv")
    write_gpkg(found, tmp_path / "all.gpkg")
    written = geopandas.read_file(tmp_path / "all.gpkg", layer="fields")
    rows = (tmp_path / "all.csv").read_text("utf-8").splitlines()
    said = json.loads(combe.report(found).json())["fields"]
    assert rows[0].split(",") == list(written.columns[:-1]) == list(said[0])
    assert (len(rows), len(written)) == (9, 8)
    assert written["field_dbuv_m"].tolist()[:4] == [each.field_dbuv_m for each in found.fields[:4]]
    assert written["field_dbuv_m"].isna().tolist() == [False] * 4 + [True] * 4
    assert rows[-1].split(",")[11] == ""
    assert (written.geometry[0].x, written.geometry[0].y) == PLACE
    assert len(geopandas.read_file(tmp_path / "all.gpkg", layer="stations")) == 2
    first = (tmp_path / "all.csv").read_bytes(), (tmp_path / "all.gpkg").read_bytes()
    write_csv(found, tmp_path / "all.csv")
    write_gpkg(found, tmp_path / "all.gpkg")
    assert first == ((tmp_path / "all.csv").read_bytes(), (tmp_path / "all.gpkg").read_bytes())


def test_a_name_is_no_formula_in_the_table(project, tmp_path):
    line = Features((Feature(shapely.Point(*PLACE), {"name": "=1+1"}),), pyproj.CRS(4326), 0)
    found = coordinate_report(project, Coordination(layers=(Given("a.geojson", lambda: line),)))
    write_csv(found, tmp_path / "all.csv")
    assert ",'=1+1," not in (tmp_path / "all.csv").read_text("utf-8").splitlines()[0]
    assert (tmp_path / "all.csv").read_text("utf-8").splitlines()[1].split(",")[1] == "'=1+1"


def test_check_tells_of_what_to_think_about(project):
    question = asked(PLACE, BEYOND, triggers=(TriggerBand(600.0, 620.0, 23.0, "a table", "from memory"),))
    notes = combe.check(replace(project, coordination=question)).notes
    assert "1 of 2 points of coordination have no terrain: fields there are not judged" in notes
    assert "coordination has no trigger for Mux 1 of Parent Hill at 522 MHz" in notes
    assert any("hold the triggers against the text: a table (from memory" in each for each in notes)
    line = Features((Feature(shapely.LineString([(-90.0, 36.0), (90.0, 36.0)]), {}),), pyproj.CRS(4326), 0)
    endless = Coordination(layers=(Given("a.geojson", lambda: line),), spacing_km=0.01)
    notes = combe.check(replace(project, coordination=endless)).notes
    assert any(each.startswith("coordination cannot be asked: number of places is over") for each in notes)


def test_where_the_cover_ends_nothing_is_judged(tmp_path):
    section = '[clutter]\nraster = "cover.tif"\ncanopy = true\n\n[grid]'
    path = write_study(tmp_path, edited(("[grid]", section)))
    write_tif(tmp_path / "cover.tif", np.full((200, 240), 5.0, dtype=np.float32), -84.38, 36.74, 0.001)
    found = coordinate_report(combe.load(path), asked(PLACE, (-84.10, 36.62)))
    assert {each.number: each.reason for each in found.fields} == {
        1: "",
        2: "cover.tif does not hold all the way",
    }
