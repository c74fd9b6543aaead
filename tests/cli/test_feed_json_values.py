"""The values of ``combe feed --json``, on a study of which no two things are alike, and its exit codes."""

import math

import pytest
from pyproj import Geod

from combe.answers.feed import feed_report
from combe.answers.scan import bearing_search, height_scan, scan_heights
from combe.reception.cascade import waterfall
from combe.study.project_of import load_project
from support_cli import run, run_json
from support_feed_study import DIGITAL, FAR_STATION, FEEDS, SECOND, spoilt
from support_study import edited, write_study

PARENT, RELAY = (-84.098, 36.620), (-84.2861, 36.6108)
ERPS_W = {"Mux A": 1000.0, "Mux B": 700.0, "Mux C": 400.0}
POWERS_W = (8.3, 9.4, 10.5)
UNLIKE = (
    ('"Mux A", channel = 41', '"Mux A", channel = 22'),
    ('"Mux B", channel = 25, erp_w = 1000.0', '"Mux B", channel = 25, erp_w = 700.0'),
    ('"Mux C", channel = 28, erp_w = 1000.0', '"Mux C", channel = 28, erp_w = 400.0'),
    ("count = 2", 'count = 3\nbearing_deg = 70.0\npolarization = "vertical"'),
    ("isolation_db = 85.0", "isolation_db = 125.0"),
    ("power_w = [8.3, 8.3, 8.3]", f"power_w = {list(POWERS_W)}"),
    ('"Mux C", channel = 47', '"Mux C", channel = 66'),
    ("lowest_dbm = -62.0", "lowest_dbm = -70.0"),
    ("aerial_gain_dbd = 10.0", "aerial_gain_dbd = 10.0\nequipment_db = 37.0"),
)
FAILING = SECOND.replace("required_margin_db = 6.0", "required_margin_db = 58.0")


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """Return what is printed of a study, and the report of the same."""
    text = edited(*UNLIKE, text=DIGITAL) + FAR_STATION.format(channel=25, erp_w=0.003) + FAILING
    study = write_study(tmp_path_factory.mktemp("unlike"), text)
    asked = ("--receive-height", "9:15:3", "--best-bearing")
    return run_json("feed", study, *asked, code=1), feed_report(load_project(study))


@pytest.fixture(scope="module")
def analogue(tmp_path_factory):
    """Return the third service of four that share an amplifier, as printed and as reported."""
    shared = ("common_amplifier = false", "common_amplifier = true"), ("channel = 51", "channel = 50")
    study = write_study(tmp_path_factory.mktemp("analogue"), edited(*shared, text=FEEDS["analogue"]))
    code = 0 if feed_report(load_project(study)).verdict == "passes" else 1
    report = feed_report(load_project(study)).relays[0].services[2]
    return run_json("feed", study, code=code)["relays"][0]["services"][2], report


def flat(each):
    return [each] if not isinstance(each, dict) else [one for inner in each.values() for one in flat(inner)]


def same(found, **expected):
    """Check some keys, none of whose values may be mistaken for another."""
    numbers = [value for value in flat(expected) if isinstance(value, float) and value]
    assert len(set(numbers)) == len(numbers), "the data tell all values apart"
    assert {key: found[key] for key in expected} == pytest.approx(expected, rel=1e-12)


def test_the_whole_is_as_bad_as_its_worst_relay(both):
    printed, _ = both
    assert printed["verdict"] == "fails"
    assert [(each["name"], each["parent"], each["verdict"]) for each in printed["relays"]] == [
        ("Upper Combe", "Long Moor", "passes"),
        ("Lower Combe", "Upper Combe", "fails"),
    ]
    assert printed["title"] == "Feed of Upper Combe"
    assert printed["page"].endswith("results/feed.html")
    assert printed["study"].endswith("study.toml")


def test_bearings_and_distances_by_another_program(both):
    relay = both[0]["relays"][0]
    away_deg, back_deg, apart_m = Geod(ellps="WGS84").inv(*PARENT, *RELAY)
    aerial = relay["receiving_aerial"]
    assert relay["bearing_deg"] == pytest.approx(away_deg % 360.0, abs=1e-6)
    assert aerial["bearing_to_parent_deg"] == pytest.approx(back_deg % 360.0, abs=1e-6)
    assert relay["distance_km"] == pytest.approx(apart_m / 1000.0, abs=1e-6)
    assert aerial["bearing_deg"] == 70.0
    assert abs(aerial["bearing_deg"] - aerial["bearing_to_parent_deg"]) > 10.0


def test_the_receiving_side(both):
    relay = both[0]["relays"][0]
    assert (relay["receiving_height_m"], relay["sea_fraction"]) == (15.0, None)
    aerial = relay["receiving_aerial"]
    assert (aerial["polarization"], aerial["count"]) == ("vertical", 3)
    # Three of 10 dBi less 0.3 dB; the parent is horizontal: 16 dB (ITU-R BT.419-3, the study's own value).
    assert aerial["gain_towards_parent_dbi"] == pytest.approx(10.0 + 10.0 * math.log10(3.0) - 0.3 - 16.0)


def test_each_service_by_hand(both):
    services = both[0]["relays"][0]["services"]
    assert [(each["name"], each["channel"], each["radiated_channel"]) for each in services] == [
        ("Mux A", 22, 22),
        ("Mux B", 25, 44),
        ("Mux C", 28, 66),
    ]
    for each, frequency_mhz in zip(services, (482.0, 506.0, 530.0), strict=True):
        assert each["frequency_mhz"] == frequency_mhz
        assert each["erp_towards_site_dbw"] == pytest.approx(10.0 * math.log10(ERPS_W[each["name"]]))
        assert each["receiver_input_dbuv"] == pytest.approx(each["receiver_input_dbm"] + 108.751, abs=1e-3)
        assert each["splitter_loss_db"] == pytest.approx(10.0 * math.log10(4.0) + 0.5)
        at_time_db = each["carrier_to_noise_db"] - each["fade_db"] - each["own_output_cost_db"]
        assert each["carrier_to_noise_at_time_db"] == pytest.approx(at_time_db)
        assert each["margin_db"] == pytest.approx(at_time_db - 20.0)
        assert (each["required_cn_db"], each["required_margin_db"], each["time_percent"]) == (20.0, 6.0, 99.0)


def test_what_is_found_of_each_service(both):
    for printed, relay in zip(both[0]["relays"], both[1].relays, strict=True):
        for found, service in zip(printed["services"], relay.services, strict=True):
            judged = service.judged
            same(
                found,
                enhancement_db=service.enhancement_db,
                carrier_to_noise_with_own_output_db=judged.carrier_to_noise_db,
                mer_at_time_db=service.mer_at_time_db,
                margin_db=service.budget.margin_db,
            )
            assert found["carrier_to_noise_db"] == pytest.approx(service.budget.carrier_to_noise_db)
            assert found["line_of_sight"] is service.prediction.line_of_sight
            assert found["controlling_km"] == service.prediction.controlling_km
            assert (found["verdict"], found["reason"]) == (service.verdict, service.reason)
            assert found["causes"] == list(service.causes)
            assert found["findings"] == [
                {"cause": each.cause, "spare_db": pytest.approx(each.spare_db), "text": each.text}
                for each in judged.findings
            ]
    assert [each["services"][0]["causes"] for each in both[0]["relays"]] == [[], ["relay chain", "noise"]]


def test_every_point_of_the_chain(both):
    relay = both[1].relays[0]
    for found, service in zip(both[0]["relays"][0]["services"], relay.services, strict=True):
        levels, loads = waterfall(service.cascade, service.received.name), service.cascade.loads
        for row, level, load in zip(found["points"], levels, loads, strict=True):
            assert (row["point"], row["strongest"], row["limited_by"]) == (
                level.point,
                load.strongest,
                load.limited_by,
            )
            for key in ("step_db", "level_dbm", "noise_dbm", "carrier_to_noise_db"):
                assert row[key] == pytest.approx(getattr(level, key)), key
            for key in ("total_dbm", "limit_dbm", "headroom_db"):
                assert row[key] == pytest.approx(getattr(load, key)), key


def test_what_else_is_on_the_input(both):
    relay = both[1].relays[0]
    first, second, _ = both[0]["relays"][0]["services"]
    loop = relay.services[0].loop
    same(
        first["loop"],
        gain_db=loop.gain_db,
        fade_db=first["fade_db"],
        isolation_db=125.0,
        gain_margin_db=125.0 - loop.gain_db,
        required_margin_db=10.0,
        echo_ci_db=loop.echo_ci_db,
    )
    assert second["loop"] is None
    (row,) = second["interference"]
    assert (row["station"], row["service"], row["step"]) == ("Far Top", "Other", "co-channel")
    assert second["interference_margin_db"] == row["margin_db"]
    assert first["interference_margin_db"] is None
    assert [each["service"] for each in first["own_output"]] == ["Mux B", "Mux C"]
    for row, output in zip(first["own_output"], both[0]["relays"][0]["output"][1:], strict=True):
        assert row["level_dbm"] == pytest.approx(output["points"][-1]["power_dbm"] - 125.0)
        assert row["over_wanted_db"] == pytest.approx(row["level_dbm"] - first["aerial_output_dbm"])


def test_the_chain_of_relays(both):
    upper, lower = both[1].relays
    chain, judged = both[0]["relays"][1]["services"][0]["relay_chain"], lower.services[0].chain
    same(
        chain,
        end_db=judged.end_db,
        required_db=78.0,
        margin_db=judged.end_db - 78.0,
    )
    assert (chain["degradation_db"], chain["verdict"], chain["reason"]) == (None, "fails", judged.reason)
    assert (chain["costliest"], chain["broken_at"]) == (judged.costliest, None)
    assert [each["name"] for each in chain["hops"]] == ["Long Moor", "Upper Combe", "Lower Combe"]
    whole = both[0]["relays"][0]["services"][0]["relay_chain"]
    degradation_db = upper.services[0].chain.degradation_db
    assert whole["degradation_db"] == pytest.approx(degradation_db)
    assert 0.1 < degradation_db < 3.0


def test_the_output_side_by_hand(both):
    """Powers less losses, 10 dBd of gain, and how far that is over the 50 W that the study states."""
    found = both[0]["relays"][0]["output"]
    assert [(each["name"], each["frequency_mhz"]) for each in found] == [
        ("Mux A", 482.0),
        ("Mux B", 658.0),
        ("Mux C", 834.0),
    ]
    for each, power_w in zip(found, POWERS_W, strict=True):
        losses_db = sum(point["loss_db"] for point in each["points"])
        assert each["points"][0]["power_w"] == power_w
        assert each["aerial_gain_dbd"] == 10.0
        assert each["erp_w"] == pytest.approx(power_w * 10.0 ** ((10.0 - losses_db) / 10.0))
        assert each["erp_difference_db"] == pytest.approx(10.0 * math.log10(each["erp_w"] / 50.0))
    assert len({round(each["erp_difference_db"], 2) for each in found}) == 3
    assert both[0]["relays"][1]["output"] is None


def test_scans_and_the_best_bearing(both):
    relay, printed = both[1].relays[0], both[0]["relays"][0]
    scan, found = height_scan(relay.site, scan_heights(9.0, 15.0, 3.0)), printed["height_scan"]
    assert found["height_m"] == [9.0, 12.0, 15.0]
    same(found, planned_height_m=15.0, null_spacing_m=scan.null_spacing_m)
    for row, each in zip(found["services"], scan.services, strict=True):
        assert (row["name"], row["course"]) == (each.service.name, each.course)
        assert row["field_strength_dbuv_m"] == pytest.approx(list(each.field_dbuv_m))
        same(
            row,
            slope_db_per_m=each.slope_db_per_m,
            best_height_m=each.best_height_m,
            best_gain_db=each.best_gain_db,
        )
    choice = bearing_search(relay.site)
    assert printed["best_bearing"] == pytest.approx(choice._asdict())
    assert both[0]["relays"][1]["height_scan"]["planned_height_m"] == 12.0


def test_products_of_several_outputs(analogue):
    found, products = analogue[0]["intermodulation"], analogue[1].products
    same(
        found,
        worst_relative_db=products.worst_relative_db,
        sum_db=products.sum_db,
        limit_db=-54.0,
        margin_db=-54.0 - products.worst_relative_db,
    )
    assert found["products"] == len(products.products) > 1
    assert found["worst"]["made_of"] == list(products.worst.made_of)
    assert found["worst"]["level_dbm"] == products.worst.level_dbm


def test_pictures(analogue):
    found, service = analogue
    same(found["picture"], **service.picture._asdict())
    same(found["picture_at_time"], **service.picture_at_time._asdict())
    assert found["picture_at_time"]["unweighted_sn_db"] < found["picture"]["unweighted_sn_db"] - 1.0
    assert found["sound"] == pytest.approx(service.sound._asdict())
    assert found["mer_at_time_db"] is None


@pytest.mark.parametrize(
    ("text", "code", "verdict"), [(DIGITAL, 0, "passes"), (spoilt("digital", "noise"), 1, "fails")]
)
def test_exit_codes_go_with_the_verdict(tmp_path, text, code, verdict):
    study = write_study(tmp_path, text)
    assert run_json("feed", study, code=code)["verdict"] == verdict
    assert run("feed", study).exit_code == code
