"""Checks of the loop of an on-channel relay."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.evidence.relays import LOOPS
from combe.reception.own_output import echo_ci_db, loop_result, ripple_db


# Feedback m = 10^(-GM/20): ripple 20 log((1+m)/(1-m)), echoes m^2/(1-m^2); worked in double.
@pytest.mark.parametrize(("gain_margin_db", "expected_ripple_db", "expected_ci_db"), LOOPS)
def test_ripple_and_echo(gain_margin_db: float, expected_ripple_db: float, expected_ci_db: float) -> None:
    result = loop_result(70.0, 70.0 + gain_margin_db)
    assert result.ripple_db == pytest.approx(expected_ripple_db, abs=0.006)
    assert result.echo_ci_db == pytest.approx(expected_ci_db, abs=0.006)
    assert result.gain_margin_db == pytest.approx(gain_margin_db)


@given(st.floats(1.0, 40.0))
def test_ripple_is_that_of_a_loop_turned_through_all_phases(gain_margin_db: float) -> None:
    returned = 10.0 ** (-gain_margin_db / 20.0)
    response = np.abs(1.0 / (1.0 - returned * np.exp(1j * np.linspace(0.0, 2.0 * np.pi, 721))))
    assert ripple_db(gain_margin_db) == pytest.approx(
        20.0 * math.log10(response.max() / response.min()), abs=1e-6
    )


@given(st.floats(1.0, 60.0))
def test_echoes_are_the_sum_of_all_rounds(gain_margin_db: float) -> None:
    once = 10.0 ** (-gain_margin_db / 10.0)
    rounds = sum(once**n for n in range(1, 400))
    assert echo_ci_db(gain_margin_db) == pytest.approx(-10.0 * math.log10(rounds), abs=1e-6)


@given(st.floats(0.1, 40.0), st.floats(0.1, 40.0))
def test_more_margin_less_ripple(one_db: float, other_db: float) -> None:
    less, more = sorted((one_db, other_db))
    assert ripple_db(more) <= ripple_db(less)
    assert echo_ci_db(more) >= echo_ci_db(less)


@pytest.mark.parametrize(
    ("gain_db", "isolation_db", "verdict", "reason"),
    [
        (70.0, 85.0, "passes", "the gain margin of 15.0 dB is 5.0 dB over the 10 dB asked"),
        (70.0, 76.0, "fails", "the gain margin of 6.0 dB is 4.0 dB short of the 10 dB asked"),
        (70.0, 65.0, "fails", "the gain is 5.0 dB over the isolation: the relay oscillates"),
    ],
)
def test_verdict(gain_db: float, isolation_db: float, verdict: str, reason: str) -> None:
    result = loop_result(gain_db, isolation_db)
    assert (result.verdict, result.reason) == (verdict, reason)


def test_oscillation_has_no_finite_ripple() -> None:
    result = loop_result(70.0, 70.0, required_margin_db=0.0)
    assert (result.ripple_db, result.echo_ci_db, result.verdict) == (math.inf, -math.inf, "fails")


def test_a_canceller_counts_as_isolation() -> None:
    assert loop_result(90.0, 80.0, canceller_db=25.0).gain_margin_db == 15.0


def test_refused() -> None:
    with pytest.raises(RangeError, match=r"isolation_db of the aerials is -1.0; allowed: 0 to 200"):
        loop_result(70.0, -1.0)
