"""Checks of the relay's own outputs on its receive aerial."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import RangeError
from combe.reception.cascade import FeedSignal, work_out
from combe.reception.own_output import (
    OwnOutput,
    OwnOutputRow,
    estimated_isolation_db,
    own_output_rows,
    own_output_signal,
)
from combe.reception.protection_ratios import Channel
from combe.reception.stages import receiver

WANTED = FeedSignal("A", 546.0, -50.0, 7.61)
CHANNEL = Channel("DVB", 546.0, 8.0)
OUTPUT = OwnOutput("A out", Channel("DVB", 554.0, 8.0), 40.0, out_of_channel_db=90.0)


def row(output: OwnOutput = OUTPUT, isolation_db: float = 70.0) -> OwnOutputRow:
    (only,) = own_output_rows(WANTED, CHANNEL, [output], isolation_db=isolation_db, required_cn_db=20.0)
    return only


def test_next_to_the_wanted_channel() -> None:
    """40 dBm through 70 dB is -30 dBm, 20 dB over the wanted; -30 dB is allowed (BT.1368, from memory)."""
    found = row()
    assert (found.level_dbm, found.over_wanted_db, found.step) == (-30.0, 20.0, "upper adjacent")
    assert (found.protection_db, found.margin_db) == (-30.0, 10.0)
    assert (found.noise_dbm, found.carrier_to_noise_db) == (-120.0, 70.0)
    assert found.reference == "ITU-R BT.1368-13 Annex 2 (from memory, unverified)"


def test_far_from_the_wanted_channel_only_noise_and_load_count() -> None:
    far = row(replace(OUTPUT, channel=Channel("DVB", 650.0, 8.0), out_of_channel_db=None))
    assert (far.step, far.protection_db, far.margin_db, far.reference) == (None, None, None, "")
    assert (far.noise_dbm, far.carrier_to_noise_db) == (None, None)
    assert far.level_dbm == -30.0


def test_continuous_ratio_for_it_never_ceases() -> None:
    picture = Channel("analogue 625", 546.0, 8.0)
    output = replace(OUTPUT, channel=Channel("analogue 625", 554.0, 8.0))
    (found,) = own_output_rows(WANTED, picture, [output], isolation_db=70.0, required_cn_db=40.0)
    assert found.protection_db == -2.0


def test_on_the_wanted_channel_it_is_left_to_the_loop() -> None:
    assert row(replace(OUTPUT, channel=CHANNEL)).margin_db is None


def test_it_loads_the_receiver() -> None:
    own = own_output_signal(OUTPUT, 70.0, 8.0)
    stages = [receiver("receiver", noise_figure_db=6.0, input_limit_dbm=-35.0)]
    load = work_out(stages, [WANTED], others=[own]).loads[0]
    assert own.name == "own A out"
    assert load.headroom_db == pytest.approx(-5.04, abs=0.01)


@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_more_isolation_helps(one_db: float, other_db: float) -> None:
    less, more = sorted((one_db, other_db))
    weak, strong = row(isolation_db=less), row(isolation_db=more)
    assert weak.margin_db is not None
    assert strong.margin_db is not None
    assert strong.margin_db >= weak.margin_db


@given(st.floats(1.0, 1000.0), st.floats(470.0, 862.0))
def test_isolation_side_by_side_is_free_space(separation_m: float, frequency_mhz: float) -> None:
    """ITU-R P.525: 20 log(4 pi d / lambda), less the gains towards each other."""
    wavelengths = separation_m * frequency_mhz * 1e6 / SPEED_OF_LIGHT_M_S
    estimate_db = estimated_isolation_db(
        separation_m, frequency_mhz, arrangement="side by side", transmit_gain_dbi=-3.0, receive_gain_dbi=2.0
    )
    assert estimate_db == pytest.approx(20.0 * math.log10(4.0 * math.pi * wavelengths) + 1.0, abs=0.06)


def test_isolation_one_above_the_other() -> None:
    """Common practice, no source: 28 + 40 log(d/lambda); ten wavelengths give 68 dB."""
    wavelength_m = SPEED_OF_LIGHT_M_S / 600e6
    estimate_db = estimated_isolation_db(10.0 * wavelength_m, 600.0, arrangement="one above the other")
    assert estimate_db == pytest.approx(68.0)
    assert estimate_db > estimated_isolation_db(10.0 * wavelength_m, 600.0, arrangement="side by side")


def test_refused() -> None:
    with pytest.raises(RangeError, match=r"isolation_db of the aerials is -1.0; allowed: 0 to 200"):
        row(isolation_db=-1.0)
    with pytest.raises(RangeError, match=r"separation_m of the aerials is 0.1; allowed: 0.5 to 1000"):
        estimated_isolation_db(0.1, 600.0, arrangement="side by side")
    with pytest.raises(RangeError, match=r"power_dbm of own output 'x' is 90.0; allowed: -30 to 80"):
        OwnOutput("x", CHANNEL, 90.0)


def test_it_is_held_against_the_wanted_signal_in_its_fade() -> None:
    """It never fades: 20 dB over the wanted one's median are 27 dB over it in a fade of 7; −30 is allowed."""
    (found,) = own_output_rows(WANTED, CHANNEL, [OUTPUT], isolation_db=70.0, required_cn_db=20.0, fade_db=7.0)
    assert (found.over_wanted_db, found.margin_db) == (20.0, 3.0)
    with pytest.raises(RangeError, match=r"fade_db of the wanted service is -1\.0; allowed: 0 to 100"):
        own_output_rows(WANTED, CHANNEL, [OUTPUT], isolation_db=70.0, required_cn_db=20.0, fade_db=-1.0)
