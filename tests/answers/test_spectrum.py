"""What an analyser should show: the levels of the feed's own table, in the resolution bandwidth."""

import math

import pytest

from combe.answers.feed import feed_report
from combe.answers.output_side import output_side
from combe.answers.spectrum import spectra_of, with_spectra
from combe.answers.visit import sheet_report
from combe.decibels import power_dbm_from_field, power_sum_db, thermal_noise_dbm
from combe.reception import Analyser, discrimination_db, stack_gain_dbi, waterfall
from combe.standards import analogue_system, feeder_loss_db
from combe.study.project_of import load_project
from support_feed_study import ANALOGUE, DIGITAL, FAR_STATION, untold
from support_study import edited, write_study

ANALYSER = Analyser(30.0, 20.0)


def relay_of(folder, text):
    report = with_spectra(feed_report(load_project(write_study(folder, text))), ANALYSER)
    return report.project, report.relays[0]


@pytest.fixture(scope="module")
def digital(tmp_path_factory):
    text = DIGITAL + FAR_STATION.format(channel=30, erp_w=500.0)
    return relay_of(tmp_path_factory.mktemp("digital"), text)


@pytest.fixture(scope="module")
def analogue(tmp_path_factory):
    return relay_of(tmp_path_factory.mktemp("analogue"), ANALOGUE)


def signals(relay, name):
    (point,) = (each for each in relay.spectrum if each.test_point == name)
    return [signal for screen in point.screens for signal in screen.signals]


def total_dbm(signal):
    """Return the power of a block, summed over as many resolution bandwidths as it is wide."""
    return signal.level_dbm + 10.0 * math.log10(signal.width_mhz / ANALYSER.resolution_mhz)


@pytest.mark.parametrize(("point", "end"), [("feeder", 1), ("splitter ports 1 to 3", 2)])
def test_blocks_sum_to_the_levels_that_the_feed_tells(digital, point, end):
    _, relay = digital
    shown = {each.signal: each for each in signals(relay, point) if each.whose == "wanted"}
    assert len(shown) == 3
    for service in relay.services:
        told = waterfall(service.cascade, service.received.name)[end].level_dbm
        assert total_dbm(shown[service.received.name]) == pytest.approx(told, abs=0.01)
        assert shown[service.received.name].power_dbm == pytest.approx(told, abs=0.01)


def test_another_station_is_heard_through_the_pattern_of_the_aerial(digital):
    _, relay = digital
    (far,) = (each for each in signals(relay, "feeder") if each.whose == "other station")
    (arrival,) = (each for each in relay.site.arrivals if each.signal.station == "Far Top")
    aerial, signal = relay.side.aerial, arrival.signal
    taken_db = discrimination_db(aerial, signal.bearing_deg, signal.polarization)
    assert taken_db > 5.0
    gain_dbi = stack_gain_dbi(aerial) - taken_db
    level_dbm = power_dbm_from_field(signal.median_dbuv_m, arrival.service.frequency_mhz, gain_dbi)
    loss_db = feeder_loss_db("1/2 in foam", arrival.service.frequency_mhz, 20.0)
    assert far.power_dbm == pytest.approx(level_dbm - loss_db, abs=0.02)
    assert far.signal == "Far Top Other"


def test_the_relay_s_own_outputs_come_through_the_isolation(digital):
    project, relay = digital
    own = [each for each in signals(relay, "feeder") if each.whose == "own output"]
    side = output_side(project, relay.relay)
    assert [each.signal for each in own] == [f"Upper Combe {name}" for name in ("Mux A", "Mux B", "Mux C")]
    for shown, sent in zip(own, side.services, strict=True):
        loss_db = feeder_loss_db("1/2 in foam", sent.air.carrier_mhz, 20.0)
        assert shown.power_dbm == pytest.approx(sent.budget.points[-1].power_dbm - 85.0 - loss_db, abs=0.02)


def test_the_output_coupler_has_the_amplifier_s_powers_and_no_known_noise(digital):
    _, relay = digital
    shown = signals(relay, "output coupler")
    # 8.3 W are 39.19 dBm.
    assert [total_dbm(each) for each in shown] == pytest.approx([39.19] * 3, abs=0.01)
    assert {(each.noise_dbm, each.over_noise_db) for each in shown} == {(None, None)}


def test_noise_is_that_of_the_chain_and_of_the_analyser(digital):
    _, relay = digital
    for point, end in (("feeder", 1), ("splitter ports 1 to 3", 2)):
        first = next(each for each in signals(relay, point) if each.signal == "Mux A")
        told = waterfall(relay.services[0].cascade, "Mux A")[end]
        width = relay.side.bandwidth_mhz
        chain_dbm = told.noise_dbm - 10.0 * math.log10(width / ANALYSER.resolution_mhz)
        own_dbm = thermal_noise_dbm(0.03) + 20.0
        assert first.noise_dbm == pytest.approx(power_sum_db(chain_dbm, own_dbm), abs=1e-6)
        assert first.over_noise_db == pytest.approx(first.level_dbm - first.noise_dbm)


def test_an_analogue_service_stands_there_with_all_its_carriers(analogue):
    _, relay = analogue
    parts = {each.part: each for each in signals(relay, "feeder") if each.signal == "One"}
    assert set(parts) == {"vision", "colour", "sound", "digital sound"}
    told = waterfall(relay.services[0].cascade, "One")[1].level_dbm
    vision = parts["vision"]
    assert vision.level_dbm == vision.power_dbm == pytest.approx(told, abs=0.01)
    assert [name for name, part in parts.items() if part.peak_sync] == ["vision"]
    # Channel 22 of 8 MHz is 478 to 486 MHz; vision 1.25 MHz over its edge, sound 5.9996 over vision.
    assert vision.frequency_mhz == pytest.approx(479.25)
    assert parts["sound"].frequency_mhz == pytest.approx(479.25 + analogue_system("I").sound_over_vision_mhz)
    assert parts["sound"].level_dbm == pytest.approx(told - 10.0, abs=0.05)
    assert parts["colour"].level_dbm == pytest.approx(told - 16.0, abs=0.05)
    # 20 dB under vision, and spread over 0.728 MHz in 30 kHz: 13.85 dB more.
    assert parts["digital sound"].level_dbm == pytest.approx(told - 33.85, abs=0.05)


def test_ports_differ_where_a_filter_stands_before_the_splitter(tmp_path):
    filtered = edited(
        ('[[stations.feed.stages]]\nkind = "passive splitter"',
         '[[stations.feed.stages]]\nkind = "channel filter"\nname = "ahead"\nloss_db = 1.0\n'
         'passband = "channel"\nrejection_db = 20.0\n\n[[stations.feed.stages]]\nkind = "passive splitter"'),
        text=DIGITAL,
    )  # fmt: skip
    _, relay = relay_of(tmp_path, filtered)
    names = [each.test_point for each in relay.spectrum]
    assert names == ["feeder", "splitter port 1", "splitter port 2", "splitter port 3", "output coupler"]
    for number, service in enumerate(relay.services, start=1):
        shown = {each.signal: each.power_dbm for each in signals(relay, f"splitter port {number}")}
        told = waterfall(service.cascade, service.received.name)[3].level_dbm
        assert shown[service.received.name] == pytest.approx(told, abs=0.01)
        assert max(shown, key=shown.get) == service.received.name


def test_what_is_not_known_is_said_and_not_shown(tmp_path):
    _, relay = relay_of(tmp_path, untold(DIGITAL))
    point = relay.spectrum[0]
    assert "own outputs are left out: the isolation of its aerials is not known" in point.left_out
    assert {each.whose for each in signals(relay, "feeder")} == {"wanted"}


def test_a_station_without_a_feed_has_its_output_alone(digital):
    project, relay = digital
    assert [each.test_point for each in spectra_of(project, relay.relay, None, ANALYSER)] == [
        "output coupler"
    ]
    assert spectra_of(project, relay.parent, None, ANALYSER) == ()


def test_the_sheet_has_the_same(digital, tmp_path):
    project, relay = digital
    sheets = sheet_report(project, tmp_path / "visits.gpkg", analyser=ANALYSER).sheets
    assert sheets[0].spectrum == relay.spectrum
