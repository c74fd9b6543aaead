"""Networks on one frequency: when their stations radiate, what coverage and one place say of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import combe
from combe.answers.check import check_report
from combe.answers.emissions import partners_among
from combe.answers.one_frequency import network_words, one_frequency_of, radiated_at
from combe.answers.spot import echoes_at, look_at, spot_margin_db
from combe.errors import RangeError
from combe.planning import services_of
from combe.project import SingleFrequencyNetwork, project_area, project_grid
from combe.study.project_of import load_project
from support_delays import KM_PER_US, write_networked
from support_ridge import farms, place, ridge_feed, ridge_terrain


def network(*members, **more):
    return SingleFrequencyNetwork("the network", members or ("Mast", "Ridge"), **more)


@pytest.fixture(scope="module")
def project():
    """Return a mast in the west, its relay on its channel on a ridge 7 km east, and people on the line."""
    service = combe.Service("Mux 1", 27, 522.0, 100.0)
    mast = combe.Station("Mast", "parent", *place(1.0, 8.0), 40.0, "horizontal", (service,))
    ridge = combe.Station(
        "Ridge", "relay", *place(8.0, 8.0), 15.0, "horizontal", (replace(service, erp_w=20.0),), parent="Mast"
    )
    return combe.Project(
        title="A ridge",
        terrain=ridge_terrain(200.0),
        television=combe.television_system("DVB-T2"),
        stations=(mast, ridge),
        feeds={"Ridge": ridge_feed()},
        grid=combe.GridWish(cell_size_m=200.0),
        people=farms([(each, 8.0) for each in np.linspace(2.0, 15.0, 53)]),
        invented=True,
    )


def in_network(project, **more):
    return replace(project, networks=(network(**more),))


def radiated(project, name, **more):
    changed = in_network(project, **more)
    station = changed.station(name)
    return radiated_at(changed, changed.networks[0], station, station.services[0])


def test_an_on_channel_relay_radiates_after_way_and_processing(project):
    found = radiated(project, "Ridge")
    # 7 km are 23.35 µs; a relay takes 8 µs where nothing is told.
    assert found.path_us == pytest.approx(7.0 / KM_PER_US, rel=2e-3)
    assert found.delay_us == pytest.approx(found.path_us + 8.0)
    assert found.heard == "Mast"
    assert radiated(project, "Mast").delay_us == 0.0


def test_told_delays_are_added_along_the_chain(project):
    delays = {"static_delay_us": {"Mast": 10.0, "Ridge": 3.0}, "processing_delay_us": {"Ridge": 5.0}}
    found = radiated(project, "Ridge", **delays)
    assert found.delay_us == pytest.approx(10.0 + found.path_us + 5.0 + 3.0)


def test_a_relay_that_changes_channel_repeats_nobody(project):
    station = project.station("Ridge")
    moved = replace(station, services=(replace(station.services[0], channel=31, frequency_mhz=554.0),))
    found = radiated(project.with_station(moved, feed=project.feeds["Ridge"]), "Ridge")
    assert found == (0.0, 0.0, 0.0, 0.0, "")


def test_members_are_echoes_and_no_interferers_of_one_another(project):
    partners = partners_among(in_network(project), services_of(project.stations))
    assert partners.echo.tolist() == [True, True]
    assert partners_among(project, services_of(project.stations)).echo.tolist() == [False, False]


def test_echoes_add_where_interference_is_not_counted(project):
    silent = replace(in_network(project), interference=combe.Interference(counted=False))
    assert partners_among(silent, services_of(project.stations)).emission.size == 2
    without = replace(project, interference=combe.Interference(counted=False))
    assert partners_among(without, services_of(project.stations)).emission.size == 0


@pytest.mark.parametrize("name", ["ATSC", "PAL I"])
def test_other_systems_have_echoes_that_only_disturb(project, name):
    station = project.station("Ridge")
    changed = replace(in_network(project), television=combe.television_system(name))
    assert one_frequency_of(changed, station, station.services[0]) is None
    assert "only disturb" in network_words(changed)["the network"]


def test_words_name_symbols_window_and_delays(project):
    words = network_words(in_network(project))["the network"]
    assert words.startswith("DVB-T2 32k, guard interval 1/8 (448 µs), PP2 (taken as usual, not told)")
    assert "window by best C/I; radiated after Mast 0.0 µs; Ridge 31.3 µs" in words
    told = network_words(in_network(project, size="8k", guard_interval="1/4"))["the network"]
    assert told.startswith("DVB-T2 8k, guard interval 1/4 (224 µs), PP2;")


@pytest.fixture(scope="module")
def covers(project):
    alone = {"interferer": project, "network": in_network(project)}
    return {name: combe.cover(each) for name, each in alone.items()}


def test_nobody_is_lost_to_a_relay_of_the_network(covers):
    interferer, joined = (covers[name].all_services for name in ("interferer", "network"))
    assert interferer.people.lost > 100.0
    assert joined.people.lost == 0.0
    assert joined.people.served > interferer.people.served
    with np.errstate(invalid="ignore"):
        assert not np.any(joined.margin_db < joined.margin_before_db - 1e-3)


def test_harm_within_the_network_is_nought(covers):
    harm = {name: sum(each.fall_below for each in covers[name].harm) for name in covers}
    assert harm["network"] == 0.0 < harm["interferer"]


def test_a_guard_interval_too_short_hurts(project, covers):
    # 1k in 8 MHz with 1/16: 7 µs. Ridge radiates 31 µs after Mast; in the west it is later still.
    short = combe.cover(in_network(project, size="1k", guard_interval="1/16", pilot_pattern="PP5"))
    (effect,) = short.on_one_frequency
    assert effect.people_hurt > 100.0
    assert effect.cells_hurt == np.count_nonzero(effect.hurt_map_db > 0.0)
    assert short.all_services.people.lost > 0.0
    (wide,) = covers["network"].on_one_frequency
    assert (wide.cells_hurt, wide.people_hurt) == (0, 0.0)


def test_effect_counts_whom_the_sum_serves(covers):
    (effect,) = covers["network"].on_one_frequency
    margin = covers["network"].all_services.margin_db
    by_sum = (margin >= 0.0) & (margin - effect.gain_map_db < 0.0)
    assert effect.cells_served_by_sum == np.count_nonzero(by_sum)
    assert np.nanmin(effect.gain_map_db) >= -1e-6
    assert [each.station for each in effect.members] == ["Mast", "Ridge"]
    assert 0.0 < effect.spread_us < 60.0


def test_gain_is_over_the_stronger_station_of_a_line(covers):
    """Behind the relay aerials look at both stations alike, and only one of them arrives there."""
    (effect,) = covers["network"].on_one_frequency
    row, column = 40, 60
    assert effect.gain_map_db[row, column] == pytest.approx(0.0, abs=0.5)
    # No sum of two gains more than that of two equal ones, 6.6 dB at 95 % of places.
    assert np.nanmax(effect.gain_map_db) < 6.8
    assert effect.people_served_by_sum < 500.0


def test_gain_of_two_equal_fields_is_that_of_drawn_fields(project):
    """In the field of both stations alike the gain at 95 % of places is 6.6 dB (two million draws)."""
    from combe.reception import Fields, OneFrequency, gain_of_network, make_judges
    from combe.reception.emission import Emission
    from combe.reception.protection_ratios import Channel

    symbol = OneFrequency("n", 0.0, 896.0, 224.0, 261.0)
    pair = [
        Emission(
            name,
            "A",
            Channel("DVB", 602.0, 8.0),
            "horizontal",
            0.0,
            1e4,
            45.0,
            20.0,
            5.5,
            one_frequency=symbol,
        )
        for name in ("One", "Two")
    ]
    layers = np.full((2, 1, 1), 60.0, dtype=np.float32)
    found = gain_of_network(make_judges(pair), Fields(np.zeros(1), np.zeros(1), layers, layers), 0)
    gain_db = float(found.noise_margin_db[0, 0] - found.alone_db[0, 0])
    assert gain_db == pytest.approx(6.6, abs=0.2)
    assert float(found.spread_us[0, 0]) == 0.0


def test_the_map_and_a_place_agree(project, covers):
    changed = in_network(project)
    grid, margin = project_grid(changed), covers["network"].all_services.margin_db
    row, column = 40, 50
    from combe.terrain import cell_centres_m, to_lonlat_deg

    x_m, y_m = cell_centres_m(grid)
    lon, lat = (float(each) for each in to_lonlat_deg(grid, x_m[column], y_m[row]))
    spot = look_at(changed, project_area(changed, grid), lon, lat)
    best = max(spot_margin_db(spot, each) for each in (0, 1))
    assert best == pytest.approx(float(margin[row, column]), abs=0.5)


def test_a_place_tells_its_echoes(project):
    lon, lat = place(12.0, 8.0)
    found = combe.explain(in_network(project), lon, lat).services[0].candidates[0]
    assert [each.station.name for each in found.echoes] == ["Ridge", "Mast"]
    # In line behind the relay its parent comes in 8 µs earlier: the processing alone is between the two.
    late = {each.station.name: each.echo.late_us for each in found.echoes}
    assert late["Mast"] == 0.0
    assert late["Ridge"] == pytest.approx(8.0, abs=0.1)
    assert [each.echo.weight for each in found.echoes] == [1.0, 1.0]
    assert found.disturbers == ()


def test_a_place_in_front_of_the_relay_hears_it_late(project):
    # 2 km in front: 8 µs and twice the way from there, 13.3 µs.
    spot_km = place(6.0, 8.0)
    changed = in_network(project)
    spot = look_at(changed, project_area(changed, project_grid(changed)), *spot_km)
    late = {spot.radiated[each.emission].station.name: each.late_us for each in echoes_at(spot, 0)}
    assert late["Ridge"] - late["Mast"] == pytest.approx(8.0 + 2 * 2.0 / KM_PER_US, abs=0.1)


def test_an_echo_beyond_the_guard_interval_is_an_interferer_of_the_place(project):
    short = in_network(project, size="1k", guard_interval="1/16", pilot_pattern="PP5")
    found = combe.explain(short, *place(6.0, 8.0)).services[0].candidates[0]
    assert [each.nuisance.time for each in found.disturbers] == ["echo"]
    assert found.margin_db < found.noise_margin_db


def test_retiring_counts_members_without_their_echoes(project):
    found = combe.retire(in_network(project), keep_percent=50.0)
    assert found.relays[0].without >= 0.0


def test_check_tells_of_relays_on_the_channel_of_their_parent(project):
    notes = " ".join(check_report(project).notes)
    assert 'write [[sfn]] with members = ["Mast", "Ridge"]' in notes
    assert "[[sfn]]" not in " ".join(check_report(in_network(project)).notes)


def test_check_tells_of_networks_in_which_nothing_adds(project):
    station = project.station("Ridge")
    moved = replace(station, services=(replace(station.services[0], channel=31, frequency_mhz=554.0),))
    apart = in_network(project.with_station(moved, feed=project.feeds["Ridge"]))
    assert any("so nothing adds" in note for note in check_report(apart).notes)
    atsc = replace(in_network(project), television=combe.television_system("ATSC"), location_percent=50.0)
    assert any("echoes of ATSC do not add" in note for note in check_report(atsc).notes)


@pytest.mark.parametrize(
    ("members", "more", "words"),
    [
        (("Mast",), {}, "two stations or more"),
        (("Mast", "Mast"), {}, "each once"),
        (("Mast", "Ridge"), {"window": "last"}, "window of the network is 'last'"),
        (("Mast", "Ridge"), {"static_delay_us": {"Hill": 1.0}}, 'is "Hill"; allowed: Mast, Ridge'),
        (("Mast", "Ridge"), {"processing_delay_us": {"Ridge": -1.0}}, "processing_delay_us of Ridge"),
    ],
)
def test_impossible_networks_are_refused(members, more, words):
    with pytest.raises(RangeError) as caught:
        network(*members, **more)
    assert words in str(caught.value)


def test_members_are_stations_of_one_network(project):
    with pytest.raises(RangeError, match="member of the network"):
        replace(project, networks=(network("Mast", "Hill"),))
    with pytest.raises(RangeError, match="two or more"):
        replace(project, networks=(network(), replace(network(), name="another")))


def test_a_network_of_one_that_is_left_is_none(project):
    assert in_network(project).without("Ridge").networks == ()
    left = in_network(project, static_delay_us={"Mast": 1.0}).only(["Mast", "Ridge"]).networks
    assert left == (network(static_delay_us={"Mast": 1.0}),)
    assert network().delayed("Mast", 4.0).static_delay_us == {"Mast": 4.0}


def test_places_where_echoes_disturb_more_than_they_help_are_hurt(tmp_path):
    study = load_project(write_networked(tmp_path, relay=True, east_w=3.0))
    report = combe.cover(study)
    (effect,) = report.on_one_frequency
    margin = report.all_services.margin_db
    # On the plain the field is enough everywhere, so whoever is unserved is so by the echoes.
    assert (margin < 0.0).any()
    assert effect.cells_hurt == np.count_nonzero(margin < 0.0)
    assert not np.isinf(effect.hurt_map_db).any()
    assert np.array_equal(effect.hurt_map_db >= 0.0, margin < 0.0)
