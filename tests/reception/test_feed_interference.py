"""Checks of other stations on the receive aerial, and of the receiver's frequency traps."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.reception.feed_interference import (
    UnwantedSignal,
    WantedSignal,
    interference,
    interference_row,
)
from combe.reception.protection_ratios import Channel, channel_relation
from combe.reception.receive_aerial import ReceiveAerial
from combe.reception.traps import find_traps
from combe.standards.analogue import analogue_system
from combe.standards.channels import analogue_conversion
from combe.standards.protection import CarrierOffset

AERIAL = ReceiveAerial(gain_dbi=14.15, bearing_deg=90.0, polarization="horizontal")
CHANNEL_30 = Channel("DVB", 546.0, 8.0)
PICTURE_30 = Channel("analogue 625", 546.0, 8.0)
WANTED = WantedSignal("A", CHANNEL_30, 90.0, "horizontal", 65.0, 20.0)
PICTURE = replace(WANTED, channel=PICTURE_30)
OTHER = UnwantedSignal("Far", "X", CHANNEL_30, 270.0, "horizontal", 20.0, 40.0)


def on(step: int, kind: str = "DVB") -> Channel:
    return Channel(kind, 546.0 + 8.0 * step, 8.0)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("step", "relation"),
    [(0, "co-channel"), (1, "upper adjacent"), (-1, "lower adjacent"), (2, None), (-2, None), (9, None)],
)
def test_relation_on_one_raster(step: int, relation: str | None) -> None:
    assert channel_relation(CHANNEL_30, on(step)) == relation


def test_relation_of_unequal_channels() -> None:
    assert channel_relation(CHANNEL_30, Channel("DVB", 552.0, 6.0)) == "co-channel"
    assert channel_relation(CHANNEL_30, Channel("DVB", 553.0, 6.0)) == "upper adjacent"
    assert channel_relation(CHANNEL_30, Channel("DVB", 560.0, 6.0)) is None


def test_co_channel_digital_from_behind() -> None:
    """40 dB(µV/m) for 1 % behind the aerial (16 dB, BT.419-3) needs 20 dB: nuisance 44, margin 21; worked."""
    row = interference_row(WANTED, OTHER, AERIAL)
    assert row is not None
    assert (row.step, row.time, row.unwanted_dbuv_m) == ("co-channel", "tropospheric", 40.0)
    assert (row.discrimination_db, row.protection_db, row.nuisance_dbuv_m) == (16.0, 20.0, 44.0)
    assert (row.carrier_to_interference_db, row.margin_db) == (41.0, 21.0)
    assert row.reference == "ITU-R BT.1368-13 Annex 2 (from memory, unverified)"


def test_the_greater_nuisance_field_counts() -> None:
    """Practice of BT.655: continuous when E(50 %) + PRc exceeds E(1 %) + PRt; 45 and 52 dB without offset."""
    steady = replace(OTHER, channel=PICTURE_30, median_dbuv_m=20.0, one_percent_dbuv_m=25.0)
    fickle = replace(steady, one_percent_dbuv_m=28.0)
    first, second = (interference_row(PICTURE, each, AERIAL) for each in (steady, fickle))
    assert first is not None
    assert second is not None
    assert (first.time, first.protection_db, first.nuisance_dbuv_m) == ("continuous", 52.0, 56.0)
    assert (second.time, second.protection_db, second.nuisance_dbuv_m) == ("tropospheric", 45.0, 57.0)


@pytest.mark.parametrize(("twelfths", "precision", "protection_db"), [(8, False, 30.0), (-8, True, 22.0)])
def test_offset_helps(twelfths: int, precision: bool, protection_db: float) -> None:
    other = replace(OTHER, channel=PICTURE_30, carrier=CarrierOffset(twelfths, precision))
    row = interference_row(replace(PICTURE, carrier=CarrierOffset(0, precision)), other, AERIAL)
    assert row is not None
    assert row.protection_db == protection_db


def test_precision_takes_two_and_the_difference_counts() -> None:
    """ITU-R BT.655-7, from memory: 8/12 apart 30 dB unless both carriers are held, then 22 dB."""
    other = replace(OTHER, channel=PICTURE_30, carrier=CarrierOffset(-4, precision=True))
    for held, protection_db in ((False, 30.0), (True, 22.0)):
        row = interference_row(replace(PICTURE, carrier=CarrierOffset(4, held)), other, AERIAL)
        assert row is not None
        assert row.protection_db == protection_db


@pytest.mark.parametrize(
    ("wanted", "channel", "protection_db"),
    [
        (WANTED, on(1), -30.0),
        (WANTED, on(-1, "analogue 625"), -35.0),
        (WANTED, on(0, "analogue 625"), 4.0),
        (PICTURE, on(0), 34.0),
        (PICTURE, on(1, "analogue 625"), -12.0),
        (PICTURE, on(-1, "analogue 625"), -6.0),
    ],
)
def test_ratio_of_the_pair(wanted: WantedSignal, channel: Channel, protection_db: float) -> None:
    row = interference_row(wanted, replace(OTHER, channel=channel), AERIAL)
    assert row is not None
    assert row.protection_db == protection_db


def test_report_sums_and_sorts() -> None:
    """Nuisance fields of 44, 44 and none: two equal powers are 3.01 dB more."""
    twin = replace(OTHER, station="Twin")
    report = interference(WANTED, [OTHER, replace(OTHER, channel=on(4)), twin], AERIAL)
    assert len(report.rows) == 2
    assert report.nuisance_dbuv_m == pytest.approx(47.01, abs=0.005)
    assert report.margin_db == pytest.approx(17.99, abs=0.005)
    assert report.verdict == "passes"
    assert report.reason == (
        "the wanted field is 18.0 dB over all interference; "
        "most is from Far X (co-channel, tropospheric)"
    )  # fmt: skip


def test_report_that_fails_names_the_cause() -> None:
    report = interference(
        WANTED,
        [replace(OTHER, channel=on(1)), replace(OTHER, bearing_deg=90.0, one_percent_dbuv_m=50.0)],
        AERIAL,
    )
    assert report.verdict == "fails"
    assert [row.step for row in report.rows] == ["co-channel", "upper adjacent"]
    assert report.reason.startswith(
        "the wanted field is 5.0 dB under what the interference asks; most is from"
    )


def test_nothing_on_the_channel() -> None:
    report = interference(WANTED, [replace(OTHER, channel=on(3))], AERIAL)
    assert (report.nuisance_dbuv_m, report.margin_db, report.verdict) == (-math.inf, math.inf, "passes")
    assert report.reason == "no other station is on the channel or next to it"


def test_an_aerial_turned_away_weakens_the_wanted_one_too() -> None:
    row = interference_row(WANTED, OTHER, replace(AERIAL, bearing_deg=130.0))
    assert row is not None
    assert row.wanted_dbuv_m == pytest.approx(57.0)


@given(st.floats(-20.0, 60.0), st.floats(0.0, 20.0))
def test_a_stronger_interferer_never_helps(field_dbuv_m: float, more_db: float) -> None:
    weak = replace(OTHER, median_dbuv_m=field_dbuv_m, one_percent_dbuv_m=field_dbuv_m + 5.0)
    strong = replace(weak, one_percent_dbuv_m=weak.one_percent_dbuv_m + more_db)
    assert interference(WANTED, [strong], AERIAL).margin_db <= interference(WANTED, [weak], AERIAL).margin_db


@given(st.lists(st.floats(-20.0, 60.0), min_size=1, max_size=5))
def test_the_sum_is_at_least_the_worst(fields_dbuv_m: list[float]) -> None:
    several = [replace(OTHER, median_dbuv_m=each, one_percent_dbuv_m=each) for each in fields_dbuv_m]
    report = interference(WANTED, several, AERIAL)
    worst_db = report.rows[0].margin_db
    assert worst_db - 10.0 * math.log10(len(several)) - 1e-9 <= report.margin_db <= worst_db + 1e-9


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"one_percent_dbuv_m": 10.0},
            "one_percent_dbuv_m of Far X is 10.0; allowed: 20 or more, the median",
        ),
        ({"median_dbuv_m": math.nan}, "median_dbuv_m of Far X is nan; allowed: -200 to 200"),
    ],
)
def test_unwanted_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(OTHER, **change)
    assert str(caught.value) == message


def test_pair_without_a_ratio() -> None:
    with pytest.raises(RangeError, match="protection ratio is DVB by ATSC, co-channel"):
        interference(WANTED, [replace(OTHER, channel=on(0, "ATSC"))], AERIAL)


CONVERSION = analogue_conversion(analogue_system("I"))


def traps(*steps: int, rejection_db: float = 60.0) -> list[tuple[int, str, float | None]]:
    several = [replace(OTHER, channel=on(step, "analogue 625"), one_percent_dbuv_m=70.0) for step in steps]
    found = find_traps(PICTURE, several, AERIAL, CONVERSION, image_rejection_db=rejection_db)
    return [(trap.channel_step, trap.relation, trap.carrier_to_interference_db) for trap in found]


def test_image_of_system_i_behind_the_rejection() -> None:
    """System I, 39.5 and 33.5 MHz: images n + 10 and n + 9. 70 - 16 dB against 65 leaves 60 + 11 dB."""
    assert traps(9) == [(9, "image of sound", 71.0)]
    assert traps(10, rejection_db=40.0) == [(10, "image of vision", 51.0)]


def test_oscillator_and_beat_are_cautions() -> None:
    assert traps(5) == [(5, "beat at the IF", None), (5, "oscillator", None)]
    assert traps(-4) == [(-4, "beat at the IF", None)]
    assert traps(0, 1, -1, 2, 7) == []


def test_rejection_refused() -> None:
    with pytest.raises(RangeError, match=r"image_rejection_db of the receiver is -1.0; allowed: 0 to 150"):
        traps(9, rejection_db=-1.0)


def test_two_525_line_signals_on_one_channel_take_the_ratio_without_offset() -> None:
    """47 CFR 74.705(d): 45 dB without carrier offset (from memory)."""
    channel = Channel("analogue 525", 575.0, 6.0)
    wanted = WantedSignal("A", channel, 0.0, "horizontal", 70.0, 40.0)
    unwanted = UnwantedSignal("Far", "X", channel, 180.0, "horizontal", 30.0, 36.0)
    aerial = ReceiveAerial(10.0, 0.0, "horizontal")
    row = interference_row(wanted, unwanted, aerial)
    assert row is not None
    assert (row.protection_db, row.nuisance_dbuv_m) == (45.0, 36.0 - 16.0 + 45.0)


FADING = replace(WANTED, fade_db=10.0)


def test_in_its_fade_the_wanted_signal_meets_usual_interference() -> None:
    """Against the 1 % field 65 − (40 − 16 + 20) = 21; in the fade 55 − (38 − 16 + 20) = 13 dB; worked."""
    near = replace(OTHER, median_dbuv_m=38.0)
    row = interference_row(FADING, near, AERIAL)
    assert row is not None
    assert (row.wanted_at, row.time, row.unwanted_dbuv_m) == ("fade", "continuous", 38.0)
    assert (row.wanted_dbuv_m, row.nuisance_dbuv_m, row.margin_db) == (55.0, 42.0, 13.0)
    assert row.carrier_to_interference_db == 33.0
    # What is heard for 1 % of time alone does not meet the fade: 65 − 44 is less than 55 − (20 − 16 + 20).
    rare = interference_row(FADING, OTHER, AERIAL)
    assert rare is not None
    assert (rare.wanted_at, rare.time, rare.margin_db) == ("median", "tropospheric", 21.0)


def test_what_comes_over_the_same_path_fades_alike() -> None:
    beside = replace(OTHER, channel=on(1), bearing_deg=90.0, polarization="horizontal", fades_alike=True)
    beside = replace(beside, median_dbuv_m=65.0, one_percent_dbuv_m=65.0)
    row = interference_row(FADING, beside, AERIAL)
    assert row is not None
    assert (row.wanted_at, row.margin_db) == ("median", 30.0)
    own = interference_row(FADING, replace(beside, fades_alike=False), AERIAL)
    assert own is not None
    assert (own.wanted_at, own.margin_db) == ("fade", 20.0)


def test_fades_and_rare_interference_do_not_come_together() -> None:
    """Two stations, each of which leaves 13 dB by itself, one in the fade and one at 1 % of time.

    In the fade their medians of 38 and 20 make 42 and 24 with 4 dB of ratio and aerial: 42.07. At the median
    their 1 % fields of 38 and 48 make 42 and 52: 52.41. So 55 − 42.07 = 12.93 and 65 − 52.41 = 12.59 dB.
    """
    near = replace(OTHER, median_dbuv_m=38.0, one_percent_dbuv_m=38.0)
    far = replace(OTHER, station="Farther", one_percent_dbuv_m=48.0)
    report = interference(FADING, [near, far], AERIAL)
    assert [(row.station, row.wanted_at, row.margin_db) for row in report.rows] == [
        ("Far", "fade", 13.0),
        ("Farther", "median", 13.0),
    ]
    assert (report.wanted_at, report.margin_db) == ("median", pytest.approx(12.59, abs=0.01))
    assert report.reason.startswith(
        "the wanted field is 12.6 dB over all interference; most is from Farther X"
    )
    alone = interference(FADING, [near, OTHER], AERIAL)
    assert (alone.wanted_at, alone.margin_db) == ("fade", pytest.approx(12.93, abs=0.01))
    assert alone.reason.startswith(
        "the faded wanted field is 12.9 dB over all interference; most is from Far X"
    )


def test_noise_gains_on_a_faded_signal_where_the_ratio_goes_by_it() -> None:
    """ATSC at an S/N of 30 dB has a ratio of 15 dB or so on its channel; 14 dB lower it is 23 dB and more."""
    atsc = Channel("ATSC", 575.0, 6.0)
    wanted = WantedSignal("A", atsc, 90.0, "horizontal", 65.0, 15.0, signal_to_noise_db=30.0)
    other = replace(OTHER, channel=atsc, median_dbuv_m=30.0, one_percent_dbuv_m=30.0)
    usual = interference_row(wanted, other, AERIAL)
    faded = interference_row(replace(wanted, fade_db=13.5), other, AERIAL)
    assert usual is not None
    assert faded is not None
    assert faded.wanted_at == "fade"
    assert faded.protection_db > usual.protection_db + 3.0


def test_an_image_that_does_not_fade_is_held_against_the_fade() -> None:
    """Rejection 60 dB; 9 channels up: 40 for 1 % of time less 16 dB is 41 under 65; 38 is 33 under 55."""
    image = replace(OTHER, channel=on(9, "analogue 625"), median_dbuv_m=38.0)
    conversion = analogue_conversion(analogue_system("I"))
    wanted = replace(PICTURE, fade_db=10.0)

    def found(signal: UnwantedSignal) -> tuple[str, float, float | None]:
        trap = find_traps(wanted, [signal], AERIAL, conversion, image_rejection_db=60.0)[0]
        return trap.wanted_at, trap.unwanted_over_wanted_db, trap.carrier_to_interference_db

    assert found(image) == ("fade", -33.0, 93.0)
    assert found(replace(image, median_dbuv_m=20.0)) == ("median", -41.0, 101.0)
    assert found(replace(image, fades_alike=True)) == ("median", -41.0, 101.0)


@pytest.mark.parametrize("fade_db", [-0.1, 100.1])
def test_a_fade_out_of_range_is_refused(fade_db: float) -> None:
    with pytest.raises(RangeError, match=r"fade_db of 'A' is .*; allowed: 0 to 100"):
        replace(WANTED, fade_db=fade_db)
