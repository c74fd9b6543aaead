"""Checks of whole feeds: four analogue services and three digital multiplexes, sound and spoilt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from combe.reception.bearing_choice import best_bearing
from combe.reception.cascade import FeedSignal, chain_quality, receiver_input, work_out
from combe.reception.feed_interference import UnwantedSignal, WantedSignal, interference
from combe.reception.feed_verdict import Demands, FeedVerdict, judge_feed
from combe.reception.intermodulation import ToneCarrier, judge_products, third_order_products
from combe.reception.own_output import OwnOutput, loop_result, own_output_rows, own_output_signal
from combe.reception.protection_ratios import Channel
from combe.reception.quality import Hop, judge_chain, picture_quality
from combe.reception.receive_aerial import ReceiveAerial, stack_gain_dbi
from combe.reception.stages import Stage, feeder, masthead_amplifier, passive_splitter, receiver
from combe.reception.traps import find_traps
from combe.reception.window import AgcWindow, place_in_window
from combe.standards.analogue import analogue_system
from combe.standards.channels import analogue_conversion, digital_conversion
from support_chain import feed_signal

# Invented feeds; the sums are the formulas tested elsewhere.
SYSTEM_I = analogue_system("I")
AERIAL = ReceiveAerial(14.15, 90.0, "horizontal", count=2, stacking_loss_db=0.3)
CHAIN = (
    feeder("feeder", 1.5, at_mhz=600.0),
    passive_splitter("splitter", 4, excess_loss_db=0.5),
    receiver("receiver", noise_figure_db=6.0, input_limit_dbm=-20.0),
)
WINDOW = AgcWindow(lowest_dbm=-64.0, highest_dbm=-24.0, mute_dbm=-75.0)
ANALOGUE = {f"P{channel}": Channel("analogue 625", 306.0 + 8 * channel, 8.0) for channel in (41, 44, 47, 51)}
DIGITAL = {f"M{channel}": Channel("DVB", 306.0 + 8 * channel, 8.0) for channel in (30, 33, 36)}
PICTURE_CN_DB = 36.0 - picture_quality(SYSTEM_I, 0.0).unweighted_sn_db


def feed(
    channels: dict[str, Channel],
    *,
    field_dbuv_m: float = 78.0,
    chain: Sequence[Stage] = CHAIN,
    unwanted: Sequence[UnwantedSignal] = (),
    outputs: Sequence[OwnOutput] = (),
    isolation_db: float = 80.0,
    fade_db: float = 6.0,
    gain_db: float | None = None,
) -> dict[str, FeedVerdict]:
    analogue = next(iter(channels.values())).kind == "analogue 625"
    required_cn_db = PICTURE_CN_DB if analogue else 20.0
    signals = [
        feed_signal(
            name,
            frequency_mhz=channel.centre_mhz,
            field_dbuv_m=field_dbuv_m,
            gain_dbi=stack_gain_dbi(AERIAL),
            bandwidth_mhz=SYSTEM_I.noise_bandwidth_mhz if analogue else 7.61,
        )
        for name, channel in channels.items()
    ]
    own = [own_output_signal(each, isolation_db, 8.0) for each in outputs]
    cascade = work_out(chain, signals, others=own)
    conversion = analogue_conversion(SYSTEM_I) if analogue else digital_conversion(8.0)

    def verdict(signal: FeedSignal) -> FeedVerdict:
        channel = channels[signal.name]
        wanted = WantedSignal(signal.name, channel, 90.0, "horizontal", field_dbuv_m, required_cn_db)
        return judge_feed(
            cascade,
            signal.name,
            Demands(required_cn_db, required_margin_db=0.0, fade_db=fade_db, image_ratio_db=50.0),
            place=place_in_window(
                WINDOW, signal.name, receiver_input(cascade, signal.name).level_dbm, fade_db=fade_db
            ),
            interference=interference(wanted, unwanted, AERIAL),
            traps=find_traps(wanted, unwanted, AERIAL, conversion, image_rejection_db=60.0),
            own_outputs=own_output_rows(
                signal, channel, outputs, isolation_db=isolation_db, required_cn_db=required_cn_db
            ),
            loop=None if gain_db is None else loop_result(gain_db, isolation_db),
        )

    return {signal.name: verdict(signal) for signal in signals}


def other(channel: Channel, field_dbuv_m: float) -> UnwantedSignal:
    return UnwantedSignal("Far", "X", channel, 200.0, "vertical", field_dbuv_m - 10.0, field_dbuv_m)


@pytest.mark.parametrize("channels", [ANALOGUE, DIGITAL], ids=["analogue", "digital"])
def test_sound_feed_passes(channels: dict[str, Channel]) -> None:
    quiet = [other(replace(next(iter(channels.values())), centre_mhz=770.0), 40.0)]
    verdicts = feed(channels, unwanted=quiet)
    assert list(verdicts) == list(channels)
    for verdict in verdicts.values():
        assert (verdict.verdict, verdict.causes) == ("passes", ())
        assert {finding.cause for finding in verdict.findings} == {"noise", "overload", "AGC floor"}


def test_picture_of_the_sound_feed() -> None:
    """The picture asked for has 36 dB of unweighted S/N; a sound feed has it at the bottom of the fade."""
    verdict = feed(ANALOGUE)["P41"]
    assert picture_quality(SYSTEM_I, verdict.carrier_to_noise_db - 6.0).unweighted_sn_db > 36.0


@pytest.mark.parametrize("channels", [ANALOGUE, DIGITAL], ids=["analogue", "digital"])
class TestSpoiltFeedNamesItsCause:
    def test_noise(self, channels: dict[str, Channel]) -> None:
        noisy = [*CHAIN[:2], receiver("receiver", noise_figure_db=30.0)]
        verdict = next(iter(feed(channels, chain=noisy, field_dbuv_m=68.0).values()))
        assert verdict.causes == ("noise",)
        assert verdict.reason.startswith("C/N ")
        assert verdict.reason.endswith("receiver costs most")

    def test_overload(self, channels: dict[str, Channel]) -> None:
        amplifier = masthead_amplifier("amplifier", gain_db=25.0, noise_figure_db=2.0, output_limit_dbm=-15.0)
        for verdict in feed(channels, chain=[amplifier, *CHAIN], field_dbuv_m=82.0).values():
            assert "overload" in verdict.causes
            assert "noise" not in verdict.causes
            assert "to the limit of " in verdict.reason

    def test_agc_floor(self, channels: dict[str, Channel]) -> None:
        for verdict in feed(channels, fade_db=18.0, field_dbuv_m=69.0).values():
            assert "AGC floor" in verdict.causes
            assert "under the least that holds the output" in verdict.reason

    def test_co_channel(self, channels: dict[str, Channel]) -> None:
        name, channel = next(iter(channels.items()))
        verdicts = feed(channels, unwanted=[other(channel, 76.0)])
        assert verdicts.pop(name).causes == ("co-channel",)
        assert all(verdict.verdict == "passes" for verdict in verdicts.values())

    def test_own_output(self, channels: dict[str, Channel]) -> None:
        name, channel = next(iter(channels.items()))
        beside = OwnOutput("out", replace(channel, centre_mhz=channel.centre_mhz - 8.0), 43.0)
        assert feed(channels, outputs=[beside], isolation_db=90.0)[name].verdict == "passes"
        spoilt = feed(channels, outputs=[beside], isolation_db=45.0)[name]
        assert "own out the strongest" in spoilt.reason
        assert set(spoilt.causes) == {"own output", "overload"}

    def test_own_output_noise(self, channels: dict[str, Channel]) -> None:
        name, channel = next(iter(channels.items()))
        away = replace(channel, centre_mhz=channel.centre_mhz + 160.0)
        clean, dirty = (OwnOutput("out", away, 43.0, out_of_channel_db=x) for x in (110.0, 20.0))
        assert feed(channels, outputs=[clean])[name].verdict == "passes"
        spoilt = feed(channels, outputs=[dirty])[name]
        assert spoilt.causes == ("own output noise",)
        assert spoilt.carrier_to_noise_db < feed(channels)[name].carrier_to_noise_db

    def test_loop(self, channels: dict[str, Channel]) -> None:
        verdict = next(iter(feed(channels, gain_db=75.0).values()))
        assert (verdict.causes, verdict.reason) == (
            ("loop",),
            "the gain margin of 5.0 dB is 5.0 dB short of the 10 dB asked",
        )


def test_image_and_adjacent_channel() -> None:
    at_image = replace(ANALOGUE["P41"], centre_mhz=ANALOGUE["P41"].centre_mhz + 9 * 8.0)
    verdict = feed(ANALOGUE, unwanted=[other(at_image, 108.0)])["P41"]
    assert verdict.causes == ("image",)
    assert verdict.reason == "Far X on the image of sound: -4.0 dB"
    beside = replace(DIGITAL["M30"], centre_mhz=DIGITAL["M30"].centre_mhz + 8.0)
    assert feed(DIGITAL, unwanted=[other(beside, 125.0)])["M30"].causes == ("adjacent channel",)


def test_findings_are_sorted_and_all_faults_are_told() -> None:
    verdict = feed(DIGITAL, field_dbuv_m=40.0)["M30"]
    spares = [finding.spare_db for finding in verdict.findings]
    assert spares == sorted(spares)
    assert verdict.causes == ("AGC floor", "noise")
    assert verdict.reason.count("; ") == 2


def test_a_turned_aerial_protects_better() -> None:
    """An interferer 40 degrees off: 8 dB less by BT.419-3, 16 dB when turned 20 degrees away at no loss."""
    channel = DIGITAL["M30"]
    wanted = WantedSignal("A", channel, 90.0, "horizontal", 65.0, 20.0)
    rival = UnwantedSignal("Far", "X", channel, 130.0, "horizontal", 30.0, 50.0)
    choice = best_bearing([wanted], [rival], AERIAL)
    assert choice.bearing_deg == pytest.approx(70.0)
    assert choice.margin_at_parent_db == pytest.approx(65.0 - 50.0 - 20.0 + 8.0)
    assert choice.margin_db == pytest.approx(choice.margin_at_parent_db + 8.0)
    assert choice.wanted_loss_db == pytest.approx(0.0)


def test_nothing_to_gain_by_turning() -> None:
    wanted = WantedSignal("A", DIGITAL["M30"], 90.0, "horizontal", 65.0, 20.0)
    rival = UnwantedSignal("Far", "X", DIGITAL["M30"], 270.0, "horizontal", 30.0, 50.0)
    assert best_bearing([wanted], [rival], AERIAL).bearing_deg == 90.0


def test_the_margin_stands_over_the_faded_signal() -> None:
    """C/N less the fade less the required C/N less the margin, so both are asked for at once."""
    signal = feed_signal("A", frequency_mhz=600.0, field_dbuv_m=60.0, gain_dbi=14.0, bandwidth_mhz=7.61)
    cascade = work_out(CHAIN, [signal])
    (noise,) = (
        finding
        for finding in judge_feed(cascade, "A", Demands(20.0, required_margin_db=6.0, fade_db=5.0)).findings
        if finding.cause == "noise"
    )
    assert noise.spare_db == pytest.approx(chain_quality(cascade, "A").carrier_to_noise_db - 31.0)


def test_products_and_relay_chain_are_causes() -> None:
    signal = feed_signal("A", frequency_mhz=600.0, field_dbuv_m=78.0, gain_dbi=14.0, bandwidth_mhz=7.61)
    carriers = [ToneCarrier("a", 600.0, 40.0), ToneCarrier("b", 608.0, 40.0)]
    products = third_order_products(carriers, 50.0)
    hops = [Hop("parent", None), Hop("first", 24.0, regenerates=True), Hop("second", 40.0)]
    verdict = judge_feed(
        work_out(CHAIN, [signal]),
        "A",
        Demands(20.0),
        products=judge_products(products, reference_dbm=40.0, limit_db=-54.0),
        chain=judge_chain(hops, required_db=30.0),
    )
    assert set(verdict.causes) == {"intermodulation", "relay chain"}
    # 2 (P - OIP3) = -20 dB: 34 dB over the limit.
    assert "is -20.0 dB against -54 dB: -34.0 dB" in verdict.reason
    assert "first cannot regenerate" in verdict.reason


def test_overload_is_judged_by_the_enhanced_signals() -> None:
    """10 dB more of everything takes 10 dB of the headroom, and nothing of C/N in the fade."""
    usual, risen = (
        feed_signal("A", frequency_mhz=600.0, field_dbuv_m=field, gain_dbi=14.0, bandwidth_mhz=7.61)
        for field in (78.0, 88.0)
    )
    cascade, enhanced = work_out(CHAIN, [usual]), work_out(CHAIN, [risen])
    plain = judge_feed(cascade, "A", Demands(20.0))
    judged = judge_feed(cascade, "A", Demands(20.0), enhanced=enhanced)
    spare = {found.cause: found.spare_db for found in plain.findings}
    assert {found.cause: found.spare_db for found in judged.findings} == {
        "noise": spare["noise"],
        "overload": pytest.approx(spare["overload"] - 10.0),
    }
    text = {found.cause: found.text for found in judged.findings}["overload"]
    assert "with all signals present in the enhancement, A the strongest" in text


def test_an_image_against_the_fade_has_the_ratio_of_the_fade() -> None:
    image = replace(DIGITAL["M30"], centre_mhz=DIGITAL["M30"].centre_mhz + 9 * 8.0)
    wanted = WantedSignal("A", DIGITAL["M30"], 90.0, "horizontal", 78.0, 20.0, fade_db=12.0)
    rival = UnwantedSignal("Far", "X", image, 90.0, "horizontal", 100.0, 100.0)
    traps = find_traps(wanted, [rival], AERIAL, digital_conversion(8.0), image_rejection_db=60.0)
    signal = feed_signal("A", frequency_mhz=546.0, field_dbuv_m=78.0, gain_dbi=14.0, bandwidth_mhz=7.61)
    cascade = work_out(CHAIN, [signal])
    demands = Demands(20.0, image_ratio_db=20.0, faded_image_ratio_db=23.0)
    (finding,) = (
        each for each in judge_feed(cascade, "A", demands, traps=traps).findings if each.cause == "image"
    )
    # 78 − 12 − 100 + 60 = 26 dB of C/I behind the rejection, 23 asked in the fade.
    assert finding.spare_db == pytest.approx(3.0)
    assert finding.text == "Far X on the image in the fade: +3.0 dB"
