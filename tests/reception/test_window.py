"""Checks of the receiver's window: where a service sits, and when the output falls."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.reception.window import (
    AgcWindow,
    output_fall_db,
    place_in_window,
)

WINDOW = AgcWindow(lowest_dbm=-62.0, highest_dbm=-22.0, mute_dbm=-72.0)


def test_under_the_window_the_output_falls_db_by_db_until_it_is_muted() -> None:
    """Common practice, no source: a transposer's AGC holds its output for about 16 dB fall of input."""
    window = AgcWindow(-62.0, -30.0, -71.0)
    assert output_fall_db(window, -46.0 - 16.0) == 0.0
    assert output_fall_db(window, -46.0 - 17.0) == pytest.approx(1.0)
    assert output_fall_db(window, -71.5) == float("inf")


def test_place_of_a_service_that_is_held() -> None:
    place = place_in_window(WINDOW, "A", -42.0, fade_db=8.0, enhancement_db=4.0)
    assert (place.faded_dbm, place.enhanced_dbm, place.place_fraction) == (-50.0, -38.0, 0.5)
    assert (place.reserve_at_median_db, place.reserve_db) == (20.0, 12.0)
    assert (place.mute_reserve_db, place.headroom_db, place.output_fall_db) == (22.0, 16.0, 0.0)
    assert place.state == "held"
    assert place.reason == (
        "the faded input -50.0 dBm is 12.0 dB over the least that holds the output, -62.0 dBm"
    )


@pytest.mark.parametrize(
    ("median_dbm", "fade_db", "enhancement_db", "state", "fall_db", "reason"),
    [
        (-55.0, 7.0, 0.0, "held", 0.0, "the faded input -62.0 dBm is 0.0 dB over"),
        (-55.0, 10.0, 0.0, "output falls", 3.0, "the faded input -65.0 dBm is 3.0 dB under the least"),
        (-55.0, 17.0, 0.0, "output falls", 10.0, "the faded input -72.0 dBm is 10.0 dB under the least"),
        (-55.0, 18.0, 0.0, "muted", math.inf, "the faded input -73.0 dBm is 1.0 dB under the mute level"),
        (-25.0, 0.0, 5.0, "overloaded", 0.0, "the enhanced input -20.0 dBm is 2.0 dB over the window's top"),
    ],
)
def test_states(
    median_dbm: float, fade_db: float, enhancement_db: float, state: str, fall_db: float, reason: str
) -> None:
    place = place_in_window(WINDOW, "A", median_dbm, fade_db=fade_db, enhancement_db=enhancement_db)
    assert (place.state, place.output_fall_db) == (state, pytest.approx(fall_db))
    assert place.reason.startswith(reason)


@pytest.mark.parametrize(
    ("median_dbm", "state", "reason"),
    [
        (-25.0, "held", "the faded input -29.0 dBm is"),
        (-20.0, "overloaded", "the median input -20.0 dBm is 2.0 dB over the window's top -22.0 dBm"),
    ],
)
def test_where_nothing_is_known_of_rare_times_the_top_is_judged_at_the_median(
    median_dbm: float, state: str, reason: str
) -> None:
    place = place_in_window(WINDOW, "A", median_dbm, fade_db=4.0, enhancement_db=None)
    assert (place.enhanced_dbm, place.headroom_db) == (None, -22.0 - median_dbm)
    assert place.state == state
    assert place.reason.startswith(reason)


@given(st.floats(-100.0, 0.0), st.floats(0.0, 40.0), st.floats(0.0, 40.0))
def test_a_deeper_fade_never_leaves_more(median_dbm: float, one_db: float, other_db: float) -> None:
    less, more = sorted((one_db, other_db))
    shallow, deep = (place_in_window(WINDOW, "A", median_dbm, fade_db=fade) for fade in (less, more))
    assert deep.reserve_db <= shallow.reserve_db
    assert deep.output_fall_db >= shallow.output_fall_db


@given(st.floats(-100.0, 10.0))
def test_state_agrees_with_the_numbers(median_dbm: float) -> None:
    place = place_in_window(WINDOW, "A", median_dbm, fade_db=0.0)
    assert (place.state == "held") == (place.reserve_db >= -1e-9 and place.headroom_db >= -1e-9)
    assert (place.state == "muted") == (place.mute_reserve_db < -1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"highest_dbm": -62.0}, "highest_dbm of the AGC window is -62.0; allowed: more than -62"),
        ({"mute_dbm": -50.0}, "mute_dbm of the AGC window is -50.0; allowed: -62 or less"),
        ({"lowest_dbm": -200.0}, "lowest_dbm of the AGC window is -200.0; allowed: -130 to 40"),
    ],
)
def test_window_refused(change: dict[str, float], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(WINDOW, **change)
    assert str(caught.value) == message


def test_place_refused() -> None:
    with pytest.raises(RangeError, match=r"fade_db of service 'A' is -1.0; allowed: 0 to 100"):
        place_in_window(WINDOW, "A", -40.0, fade_db=-1.0)
