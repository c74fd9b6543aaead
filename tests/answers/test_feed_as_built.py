"""Feeds through the whole chain: sums by hand, every point, and studies that fail for one cause each."""

import math
from dataclasses import replace

import pytest

from combe.answers.feed import feed_report
from combe.answers.path import path_report
from combe.decibels import power_dbm_from_field, power_sum_db, thermal_noise_dbm
from combe.prediction.over_time import PathOverTime
from combe.prediction.path import predict_path
from combe.propagation.p2001 import TYPICAL_CLIMATES
from combe.reception.cascade import chain_quality, receiver_input, waterfall
from combe.reception.quality import picture_quality
from combe.standards.analogue import analogue_system
from combe.standards.feeders import feeder_loss_db
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, FAR_STATION, FEEDS, spoilt
from support_study import STUDY, edited, write_study

CAUSES = ("noise", "overload", "AGC floor", "co-channel", "own output")


def relay_of(folder, text):
    return feed_report(load_project(write_study(folder, text))).relays[0]


@pytest.fixture(scope="module", params=FEEDS)
def sound(request, tmp_path_factory):
    return request.param, relay_of(tmp_path_factory.mktemp(request.param), FEEDS[request.param])


def test_a_sound_feed_passes_in_all_services(sound):
    kind, relay = sound
    assert len(relay.services) == {"digital": 3, "analogue": 4}[kind]
    assert relay.verdict == "passes"
    for service in relay.services:
        assert (service.verdict, service.causes) == ("passes", ())
        assert service.window.state == "held"
        assert service.reason == service.budget.reason


@pytest.mark.parametrize("kind", FEEDS)
@pytest.mark.parametrize("cause", CAUSES)
def test_a_spoilt_feed_names_its_cause(tmp_path, kind, cause):
    relay = relay_of(tmp_path, spoilt(kind, cause))
    first, last = relay.services[0], relay.services[-1]
    assert relay.verdict == first.verdict == "fails"
    assert first.causes == (cause,)
    assert first.reason.startswith(f"{cause}: ")
    if cause == "co-channel":
        assert "Far Top Other (co-channel" in first.reason
        assert last.verdict == "passes"
    if cause == "noise":
        assert first.reason.endswith("; within the chain, receiver costs most")


def test_the_budget_and_the_cascade_are_one(sound):
    _, relay = sound
    for service in relay.services:
        name, budget = service.received.name, service.budget
        ends = receiver_input(service.cascade, name), chain_quality(service.cascade, name)
        assert budget.receiver_input_dbm == pytest.approx(ends[0].level_dbm, abs=1e-9)
        assert budget.noise_dbm == pytest.approx(ends[1].noise_dbm, abs=1e-9)
        assert budget.carrier_to_noise_db == pytest.approx(ends[1].carrier_to_noise_db, abs=1e-9)
        lumps = -budget.feeder_loss_db - budget.splitter_loss_db + budget.other_gain_db
        assert budget.receiver_input_dbm == pytest.approx(budget.aerial_output_dbm + lumps, abs=1e-9)


def test_the_levels_add_up_by_hand(tmp_path):
    """Two aerials of 10 dBi less 0.3 dB; 20 m of 1/2 in foam; 6.02 + 0.5 dB; 1.5 dB; noise figure 6 dB."""
    relay = relay_of(tmp_path, DIGITAL)
    service = relay.services[0]
    gain_dbi = 10.0 + 10.0 * math.log10(2.0) - 0.3
    assert relay.side.aerial_gain_dbi == pytest.approx(gain_dbi)
    at_aerial = power_dbm_from_field(service.budget.field_strength_dbuv_m, 482.0, gain_dbi)
    lost = feeder_loss_db("1/2 in foam", 482.0, 20.0) + 10.0 * math.log10(4.0) + 0.5 + 1.5
    assert waterfall(service.cascade, "Mux A")[0].level_dbm == pytest.approx(at_aerial)
    assert service.budget.receiver_input_dbm == pytest.approx(at_aerial - lost)
    assert service.budget.noise_dbm == pytest.approx(thermal_noise_dbm(7.61) + 6.0)
    assert [row.point for row in waterfall(service.cascade, "Mux A")] == [
        "aerial terminals",
        "jumper",
        "passive splitter",
        "channel filter",
        "receiver",
    ]


def test_all_signals_load_the_chain_and_the_filter_holds_them_off(tmp_path):
    """Three equal fields and the relay's own outputs; beyond the channel each is 25 dB down."""
    service = relay_of(tmp_path, DIGITAL).services[0]
    loads = {load.point: load for load in service.cascade.loads}
    own = [row.level_dbm for row in service.own_outputs]
    levels = [each.level_dbm for each in (waterfall(service.cascade, "Mux A")[0],)]
    others = [power_dbm_from_field(service.budget.field_strength_dbuv_m, f, 12.71) for f in (506.0, 530.0)]
    assert loads["aerial terminals"].total_dbm == pytest.approx(
        power_sum_db(*levels, *others, *own), abs=0.01
    )
    behind = loads["channel filter"].total_dbm - receiver_input(service.cascade, "Mux A").level_dbm
    assert 0.0 < behind < 0.05
    assert loads["channel filter"].limited_by == "receiver"


def test_fade_and_rise_are_those_of_the_path(tmp_path):
    service = relay_of(tmp_path, DIGITAL).services[0]
    report = path_report(load_project(write_study(tmp_path, DIGITAL)), "Long Moor", "Upper Combe")
    over = PathOverTime(report.profile, 150.0, 15.0, 482.0, "horizontal", TYPICAL_CLIMATES["temperate"])
    rise = over.enhancement_db(1.0)
    assert rise > 1.0
    assert service.enhancement_db == pytest.approx(rise, abs=1e-9)
    assert service.budget.fade_db == pytest.approx(over.fade_db(99.0), abs=1e-9)
    place = service.window
    assert place.faded_dbm == pytest.approx(place.median_dbm - service.budget.fade_db)
    assert place.enhanced_dbm == pytest.approx(place.median_dbm + rise)


def test_an_interferer_comes_over_its_own_path_for_1_percent_of_time(tmp_path):
    """Field by the exact path, 16 dB by BT.419-3 from behind, 20 dB protection: own C/N of the mode."""
    text = spoilt("digital", "co-channel")
    relay = relay_of(tmp_path, text)
    (row,) = relay.services[0].interference.rows
    report = path_report(load_project(write_study(tmp_path, text)), "Far Top", "Upper Combe")
    path = report.services[0]
    little = predict_path(
        report.profile,
        tx_height_m=100.0,
        rx_height_m=15.0,
        frequency_mhz=482.0,
        polarization="vertical",
        conditions=replace(path.prediction.conditions, time_percent=1.0),
    )
    # The other end of that report is the transmitting aerial, so the field is taken from its own loss.
    assert row.unwanted_dbuv_m == pytest.approx(little.field_strength_1kw_dbuv_m + 13.01, abs=0.01)
    assert (row.discrimination_db, row.protection_db, row.time) == (16.0, 20.0, "tropospheric")
    assert row.nuisance_dbuv_m == pytest.approx(row.unwanted_dbuv_m - 16.0 + 20.0)


def test_a_neighbour_channel_of_the_parent_fades_alike(tmp_path):
    """Adjacent channels of one mast and path: 0 dB apart, 30 dB to the protection ratio (BT.1368)."""
    text = edited(('"Mux B", channel = 25', '"Mux B", channel = 23'), text=DIGITAL)
    first, second, _ = relay_of(tmp_path, text).services
    for service, step in ((first, "upper adjacent"), (second, "lower adjacent")):
        (row,) = service.interference.rows
        assert row.step == step
        assert row.margin_db == pytest.approx(30.0, abs=0.1)


def test_a_station_on_the_same_mast_is_heard_in_free_space(tmp_path):
    beside = FAR_STATION.replace("-84.36", "-84.2861").replace("36.60", "36.6108")
    (row,) = relay_of(tmp_path, DIGITAL + beside.format(channel=22, erp_w=1.0)).services[0].interference.rows
    # 1 W at 10 m: 106.92 - 20 log 0.01 + 0 - 30 = 116.9 dB(µV/m) (ITU-R P.525).
    assert row.unwanted_dbuv_m == pytest.approx(116.9, abs=0.05)


def test_a_weak_far_station_counts_for_nothing(tmp_path):
    assert (
        not relay_of(tmp_path, DIGITAL + FAR_STATION.format(channel=22, erp_w=1e-15))
        .services[0]
        .interference.rows
    )


def test_the_receive_aerial_can_look_elsewhere_and_listen_crosswise(tmp_path):
    """BT.419-3 at 40 degrees off the axis is 8 dB; against the other polarization 16 dB counts, not 24."""
    straight = relay_of(tmp_path, DIGITAL)
    bearing = straight.site.way.arrival_deg + 40.0
    turned = edited(("count = 2", f"count = 2\nbearing_deg = {bearing}"), text=DIGITAL)
    crossed = edited(
        ("count = 2", f'count = 2\nbearing_deg = {bearing}\npolarization = "vertical"'), text=DIGITAL
    )
    gain_dbi = straight.side.aerial_gain_dbi
    assert relay_of(tmp_path, turned).side.aerial_gain_dbi == pytest.approx(gain_dbi - 8.0)
    assert relay_of(tmp_path, crossed).side.aerial_gain_dbi == pytest.approx(gain_dbi - 16.0)


def test_pictures_and_their_sound(tmp_path):
    service = relay_of(tmp_path, FEEDS["analogue"]).services[0]
    expected = picture_quality(analogue_system("I"), service.judged.carrier_to_noise_db)
    assert service.picture == expected
    assert service.picture_at_time.unweighted_sn_db == pytest.approx(
        expected.unweighted_sn_db - service.budget.fade_db
    )
    assert service.sound.vision_to_sound_db == pytest.approx(10.0, abs=0.05)
    assert service.mer_at_time_db is None
    # A filter that ends between vision and sound (474 + 1.25 to 7.25 MHz over the edge of channel 22) shows.
    narrow = edited(('passband = "channel"', "passband_mhz = [470.0, 482.0]"), text=FEEDS["analogue"])
    assert relay_of(tmp_path, narrow).services[0].sound.error_db == pytest.approx(25.0, abs=0.1)


def test_a_masthead_amplifier_lowers_the_noise_of_what_follows(tmp_path):
    amplifier = (
        'kind = "masthead amplifier"\ngain_db = 20.0\nnoise_figure_db = 2.0\n\n[[stations.feed.stages]]\n'
    )
    text = edited(('kind = "feeder"', f'{amplifier}kind = "feeder"'), text=DIGITAL)
    with_it, without = (
        relay_of(tmp_path, text).services[0].budget,
        relay_of(tmp_path, DIGITAL).services[0].budget,
    )
    assert with_it.receiver_input_dbm == pytest.approx(without.receiver_input_dbm + 20.0)
    # Friis: 2 dB, then (10^1.509 - 1)/100 of the 9.09 dB loss and the 6 dB receiver behind it.
    factor = 10.0**0.2 + (10.0 ** ((9.0912 + 6.0) / 10.0) - 1.0) / 100.0
    expected = without.aerial_output_dbm - thermal_noise_dbm(7.61) - 10.0 * math.log10(factor)
    assert with_it.carrier_to_noise_db == pytest.approx(expected, abs=0.001)


def test_an_on_channel_relay_is_judged_by_its_loop(tmp_path):
    loop = "[stations.feed.on_channel]\n{}\n[stations.output]"
    same = ('"Mux A", channel = 41', '"Mux A", channel = 22')
    stated = edited(
        same, ("[stations.output]", loop.format("gain_db = 80.0\ncanceller_db = 10.0")), text=DIGITAL
    )
    service = relay_of(tmp_path, stated).services[0]
    fade_db = service.budget.fade_db
    assert fade_db > 1.0
    assert service.loop.gain_margin_db == pytest.approx(85.0 + 10.0 - 80.0 - fade_db)
    assert service.loop.verdict == "passes"
    assert service.causes == ("loop",)
    assert "dB less by the echo of its loop, against 20 dB" in service.reason
    nearer = ("isolation_db = 85.0", "isolation_db = 80.0")
    worked = edited(same, nearer, ("[stations.output]", loop.format("")), text=DIGITAL)
    relay = relay_of(tmp_path, worked)
    service = relay.services[0]
    power_dbm = relay.output.services[0].budget.points[-1].power_dbm
    fade_db = service.budget.fade_db
    assert service.loop.gain_db == pytest.approx(power_dbm - service.budget.aerial_output_dbm + fade_db)
    assert service.causes == ("loop",)
    assert [row.service for row in service.own_outputs] == ["Mux B", "Mux C"]
    assert all(other.loop is None for other in relay.services[1:])


SAME = ('"Mux A", channel = 41', '"Mux A", channel = 22')


def test_a_loop_is_judged_without_a_table_of_its_own(tmp_path):
    oscillating = edited(SAME, ("isolation_db = 85.0", "isolation_db = 40.0"), text=DIGITAL)
    service = relay_of(tmp_path, oscillating).services[0]
    assert service.verdict == "fails"
    assert "loop" in service.causes
    assert "the relay oscillates" in service.reason
    assert service.mer_at_time_db < 0.0


def test_a_loop_of_unknown_isolation_is_not_judged(tmp_path):
    start, end = DIGITAL.index("[stations.feed.own_output]"), DIGITAL.index("[stations.output]")
    relay = relay_of(tmp_path, edited(SAME, text=DIGITAL[:start] + DIGITAL[end:]))
    assert [service.verdict for service in relay.services] == ["not judged", "passes", "passes"]
    assert relay.verdict == "not judged"
    assert relay.services[0].loop is None
    assert "write isolation_db in a [stations.feed.own_output] table" in relay.services[0].reason


def test_the_echo_of_a_loop_enters_ratios_and_the_chain_of_relays(tmp_path):
    wide, near = (
        relay_of(tmp_path, edited(SAME, ("isolation_db = 85.0", f"isolation_db = {db}"), text=DIGITAL))
        for db in (140.0, 95.0)
    )
    before, after = wide.services[0], near.services[0]
    faded = [-after.loop.echo_ci_db, -before.mer_at_time_db]
    together_db = -10.0 * math.log10(sum(10.0 ** (part / 10.0) for part in faded))
    assert after.mer_at_time_db == pytest.approx(together_db, abs=0.02)
    assert after.judged.carrier_to_noise_db < before.judged.carrier_to_noise_db - 0.5
    assert after.hops[-1].carrier_to_noise_db < before.hops[-1].carrier_to_noise_db - 0.5
    assert after.loop.median_echo_ci_db > after.loop.echo_ci_db + before.budget.fade_db


def test_names_as_long_as_they_may_be(tmp_path):
    longest = "Mux A".ljust(80, "x")
    relay = relay_of(tmp_path, DIGITAL.replace('"Mux A"', f'"{longest}"'))
    assert relay.services[0].received.name == longest
    assert relay.verdict == relay_of(tmp_path, DIGITAL).verdict


def test_another_output_on_the_wanted_channel_is_co_channel_interference(tmp_path):
    text = edited(('"Mux B", channel = 44', '"Mux B", channel = 22'), text=DIGITAL)
    service = relay_of(tmp_path, text).services[0]
    (row,) = service.interference.rows
    assert (row.station, row.service, row.step) == ("own output", "Mux B", "co-channel")
    # The own output does not fade, so it is held against the wanted signal in its fade.
    in_fade_db = -service.own_outputs[1].over_wanted_db - service.budget.fade_db
    assert (row.wanted_at, row.time) == ("fade", "continuous")
    assert row.carrier_to_interference_db == pytest.approx(in_fade_db)


def test_the_own_output_on_the_image_is_seen(tmp_path):
    """Digital, 36.125 MHz: the image is 72.25 MHz over the channel, n + 9 of the 8 MHz raster."""
    text = edited(('"Mux A", channel = 41', '"Mux A", channel = 31'), text=DIGITAL)
    service = relay_of(tmp_path, text).services[0]
    (image,) = (trap for trap in service.traps if trap.relation == "image")
    assert (image.station, image.service, image.channel_step) == ("own output", "Mux A", 9)
    # 60 dB of the receiver and 25 dB of the filter, against the wanted signal in its fade.
    faded_dbm = service.budget.aerial_output_dbm - service.budget.fade_db
    expected = 85.0 + faded_dbm - service.own_outputs[0].level_dbm
    assert image.wanted_at == "fade"
    assert image.carrier_to_interference_db == pytest.approx(expected)


def test_the_flat_wording_says_the_same_as_its_stages(tmp_path):
    flat = "aerial_height_m = 12.0\naerial_gain_dbi = 14.0\nfeeder_loss_db = 2.0\nsplitter_loss_db = 3.5\n"
    kinds = (
        ("feeder", "loss_db = 2.0"),
        ("attenuator", "loss_db = 3.5"),
        ("receiver", "noise_figure_db = 6.0"),
    )
    stages = "".join(f'\n[[stations.feed.stages]]\nkind = "{kind}"\n{keys}\n' for kind, keys in kinds)
    full = f"required_margin_db = 10.0\n[stations.feed.aerial]\nheight_m = 12.0\ngain_dbi = 14.0\n{stages}"
    old = relay_of(tmp_path, STUDY)
    new = relay_of(
        tmp_path,
        edited((flat, ""), ("noise_figure_db = 6.0\n", ""), ("required_margin_db = 10.0\n", full)),
    )
    assert not old.side.in_full
    assert new.side.in_full
    for one, other in zip(old.services, new.services, strict=True):
        assert one.budget.margin_db == pytest.approx(other.budget.margin_db, abs=1e-9)
        assert (one.verdict, one.window, one.own_outputs) == (other.verdict, other.window, other.own_outputs)


def test_the_time_can_be_asked_otherwise(tmp_path):
    study = load_project(write_study(tmp_path, DIGITAL))
    most, half = (feed_report(study, time_percent=each).relays[0].services[0].budget for each in (99.0, 50.0))
    assert (most.time_percent, half.time_percent, half.fade_db) == (99.0, 50.0, 0.0)
    assert half.margin_db == pytest.approx(most.margin_db + most.fade_db)


def test_far_stations_count_only_on_channels_that_concern_the_relay(tmp_path, monkeypatch):
    """Within reach all load; beyond it only what is co-channel, adjacent or on a troubled channel counts."""
    text = DIGITAL + FAR_STATION.replace(
        "services = [", 'services = [{{ name = "Away", channel = 60, erp_w = 10.0 }}, '
    ).format(channel=22, erp_w=0.01)
    near = {each.service.name for each in relay_of(tmp_path, text).site.arrivals}
    monkeypatch.setattr("combe.answers.relay_site.LOADING_KM", 1.0)
    far = {each.service.name for each in relay_of(tmp_path, text).site.arrivals}
    assert near - far == {"Away"}
    assert "Other" in far
