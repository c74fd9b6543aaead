"""Checks of video signal-to-noise, vision to sound, and sums of modulation errors."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.evidence.analogue import VIDEO_NOISE
from combe.evidence.relays import ERRORS
from combe.reception.quality import (
    noise_degradation_db,
    picture_quality,
    required_cn_with_mer_db,
    sound_ratio,
    sum_of_impairments_db,
)
from combe.standards.analogue import ANALOGUE_SYSTEMS, analogue_system

ratios = st.lists(st.floats(-20.0, 80.0), min_size=1, max_size=8)


# S/N = C/N + 20 log(m/2) + 3.01 with the modulation of BT.470; worked; 7.4 dB is the unified weighting.
@pytest.mark.parametrize(("name", "unweighted_db"), VIDEO_NOISE)  # fmt: skip
def test_video_signal_to_noise(name: str, unweighted_db: float) -> None:
    quality = picture_quality(analogue_system(name), 45.0)
    assert quality.unweighted_sn_db == pytest.approx(45.0 + unweighted_db, abs=0.005)
    assert quality.weighted_sn_db - quality.unweighted_sn_db == pytest.approx(7.4)


def test_weighted_signal_to_noise_is_about_the_carrier_to_noise() -> None:
    """Common practice, no source: within about 1 dB."""
    for system in ANALOGUE_SYSTEMS.values():
        assert abs(picture_quality(system, 40.0).weighted_sn_db - 40.0) < 1.0


def test_vision_to_sound() -> None:
    assert sound_ratio(-40.0, -51.5, 10.0) == (11.5, 10.0, 1.5)


# 1/MER = sum of 1/MERi in linear measure, worked in double.
@pytest.mark.parametrize(("parts_db", "total_db"), ERRORS)
def test_sum_of_modulation_errors(parts_db: tuple[float, ...], total_db: float) -> None:
    assert sum_of_impairments_db(parts_db) == pytest.approx(total_db, abs=0.01)


def test_nothing_impairs_nothing() -> None:
    assert sum_of_impairments_db([]) == math.inf
    assert sum_of_impairments_db([math.inf, 30.0]) == pytest.approx(30.0)


@given(ratios, st.floats(-20.0, 80.0))
def test_every_further_impairment_hurts(parts_db: list[float], more_db: float) -> None:
    total_db = sum_of_impairments_db([*parts_db, more_db])
    assert total_db <= sum_of_impairments_db(parts_db) + 1e-9
    assert total_db <= min(*parts_db, more_db) + 1e-9
    assert total_db == pytest.approx(sum_of_impairments_db([more_db, *parts_db[::-1]]), abs=1e-9)


@given(st.floats(0.0, 60.0), st.integers(1, 20))
def test_equal_hops_cost_ten_log_of_their_number(each_db: float, number: int) -> None:
    expected_db = each_db - 10.0 * math.log10(number)
    assert sum_of_impairments_db([each_db] * number) == pytest.approx(expected_db, abs=1e-9)


def test_degradation_by_a_finite_modulation_error() -> None:
    """1/C/N = 1/100 - 1/1995.3 gives 20.223 dB; worked."""
    assert required_cn_with_mer_db(20.0, 33.0) == pytest.approx(20.223, abs=0.0005)
    assert noise_degradation_db(20.0, 33.0) == pytest.approx(0.223, abs=0.0005)


@given(st.floats(0.0, 40.0), st.floats(0.5, 40.0))
def test_degraded_signal_at_its_needed_cn_has_the_required_ratio(required_db: float, over_db: float) -> None:
    mer_db = required_db + over_db
    needed_db = required_cn_with_mer_db(required_db, mer_db)
    assert needed_db >= required_db
    assert sum_of_impairments_db([needed_db, mer_db]) == pytest.approx(required_db, abs=1e-7)


def test_no_cn_is_enough() -> None:
    with pytest.raises(
        RangeError,
        match=r"mer_db of the signal is 20.0; allowed: more than the required C/N of 20 dB",
    ):
        required_cn_with_mer_db(20.0, 20.0)
