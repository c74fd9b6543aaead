"""Checks of the feed budget and its chain against a worked example and the laws it follows."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.decibels import field_from_loss_dbuv_m
from combe.errors import RangeError
from combe.evidence.relays import FEED_CHAIN as CHAIN
from combe.reception.budget import FeedBudget, FeedChain, feed_budget, judge


def budget(chain: FeedChain = CHAIN, **change: float) -> FeedBudget:
    items = {
        "erp_towards_site_dbw": 30.0,
        "distance_km": 20.0,
        "frequency_mhz": 634.0,
        "free_space_loss_db": 114.510,
        "diffraction_loss_db": 0.0,
    }
    return feed_budget(**(items | change), chain=chain)


def budget_of_field(field_dbuv_m: float, chain: FeedChain = CHAIN) -> FeedBudget:
    loss_db = field_from_loss_dbuv_m(30.0, 0.0, 634.0) - field_dbuv_m
    return budget(chain, free_space_loss_db=loss_db)


def test_worked_feed() -> None:
    """72 dB(µV/m) at 634 MHz by P = E - 20 log f + G - 77.216, and k·T0·B + NF: worked in double."""
    result = budget_of_field(72.0)
    assert result.field_strength_dbuv_m == pytest.approx(72.0, abs=1e-9)
    assert result.aerial_output_dbm == pytest.approx(-47.11, abs=0.005)
    assert result.receiver_input_dbm == pytest.approx(-56.11, abs=0.005)
    assert result.receiver_input_dbuv == pytest.approx(-56.11 + 108.751, abs=0.005)
    assert result.noise_dbm == pytest.approx(-105.16 + 6.0, abs=0.006)
    assert result.carrier_to_noise_db == pytest.approx(43.05, abs=0.02)
    assert result.margin_db == pytest.approx(23.05, abs=0.02)
    assert result.verdict == "passes"


def test_field_in_free_space() -> None:
    """ITU-R P.1546-6 Annex 5: 1 kW e.r.p. at 20 km in free space is 80.88 dB(µV/m), Lbf 114.51 dB."""
    assert budget().field_strength_dbuv_m == pytest.approx(80.8794, abs=0.03)


def test_receiver_noise_behind_passive_loss_is_friis() -> None:
    """Loss at T0 adds to the noise figure (Friis): feeder 3 dB, splitter 4 dB, receiver 6 dB make 13 dB."""
    lossy = replace(CHAIN, feeder_loss_db=3.0, splitter_loss_db=4.0)
    bare = replace(CHAIN, feeder_loss_db=0.0, splitter_loss_db=0.0, noise_figure_db=13.0)
    assert budget(lossy).carrier_to_noise_db == pytest.approx(budget(bare).carrier_to_noise_db, abs=1e-9)


def test_every_item_follows_from_those_before() -> None:
    result = budget(diffraction_loss_db=17.0)
    assert result.receiver_input_dbm == pytest.approx(
        result.erp_towards_site_dbw + 30.0 + 2.15 - result.free_space_loss_db - result.diffraction_loss_db
        + result.aerial_gain_dbi - result.feeder_loss_db - result.splitter_loss_db
    )  # fmt: skip
    assert result.carrier_to_noise_db == pytest.approx(result.receiver_input_dbm - result.noise_dbm)
    assert result.margin_db == pytest.approx(result.carrier_to_noise_db - result.required_cn_db)


@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0))
def test_more_diffraction_never_helps(one_db: float, other_db: float) -> None:
    less, more = sorted((one_db, other_db))
    assert budget(diffraction_loss_db=less).margin_db >= budget(diffraction_loss_db=more).margin_db


@given(st.floats(0.0, 60.0))
def test_verdict_agrees_with_the_numbers(diffraction_db: float) -> None:
    result = budget(diffraction_loss_db=diffraction_db)
    assert (result.verdict == "passes") == (result.margin_db >= result.required_margin_db - 1e-9)


@pytest.mark.parametrize(
    ("carrier_to_noise_db", "verdict", "reason"),
    [
        (43.05, "passes", "margin 23.05 dB, 13.05 dB more than the 10 dB asked"),
        (30.0, "passes", "margin 10.00 dB, 0.00 dB more than the 10 dB asked"),
        (26.8, "fails", "margin 6.80 dB is 3.20 dB short of the 10 dB asked"),
        (
            12.0,
            "fails",
            "C/N 12.00 dB is 8.00 dB short of the 20 dB required "
            "and 18.00 dB short with the margin of 10 dB asked",
        ),
    ],
)
def test_verdict_and_reason(carrier_to_noise_db: float, verdict: str, reason: str) -> None:
    assert judge(carrier_to_noise_db, 20.0, 10.0) == (verdict, reason)


def test_the_margin_is_judged_at_the_stated_time() -> None:
    median, faded = budget(), budget(time_percent=99.0, fade_db=4.4, time_method="a construction")
    assert faded.field_strength_dbuv_m == median.field_strength_dbuv_m
    assert faded.receiver_input_dbm == median.receiver_input_dbm
    assert faded.carrier_to_noise_db == median.carrier_to_noise_db
    assert faded.field_strength_at_time_dbuv_m == pytest.approx(median.field_strength_dbuv_m - 4.4)
    assert faded.carrier_to_noise_at_time_db == pytest.approx(median.carrier_to_noise_db - 4.4)
    assert faded.margin_db == pytest.approx(median.margin_db - 4.4)
    assert faded.reason.startswith("for 99 % of time, margin ")
    assert (median.time_percent, median.fade_db) == (50.0, 0.0)


def test_other_mechanisms_count() -> None:
    assert budget(other_mechanisms_db=-3.0).field_strength_dbuv_m == pytest.approx(
        budget().field_strength_dbuv_m + 3.0
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"fade_db": -1.0}, "fade_db of the feed is -1.0; allowed: 0 to 500"),
        ({"time_percent": 1.0}, "time_percent of the feed is 1.0; allowed: 50 to 99.99"),
        ({"other_mechanisms_db": math.nan}, "other_mechanisms_db of the feed is nan"),
    ],
)
def test_time_out_of_range(change: dict[str, float], words: str) -> None:
    with pytest.raises(RangeError) as caught:
        budget(**change)
    assert words in str(caught.value)


def test_the_reason_is_in_the_budget() -> None:
    result = budget_of_field(42.0)
    assert (result.verdict, result.reason[:13]) == ("fails", "C/N 13.05 dB ")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"erp_towards_site_dbw": math.nan},
            "erp_towards_site_dbw of the feed is nan; allowed: a finite number",
        ),
        ({"distance_km": 0.0}, "distance_km of the feed is 0.0; allowed: more than 0"),
        ({"frequency_mhz": -634.0}, "frequency_mhz of the feed is -634.0; allowed: more than 0"),
        ({"free_space_loss_db": math.inf}, "free_space_loss_db of the feed is inf; allowed: a finite number"),
        (
            {"diffraction_loss_db": math.nan},
            "diffraction_loss_db of the feed is nan; allowed: a finite number",
        ),
    ],
)
def test_budget_refused(change: dict[str, float], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        budget(**change)
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"aerial_height_m": 0.5}, "aerial_height_m of the feed chain is 0.5; allowed: 1 to 500"),
        ({"aerial_gain_dbi": 53.0}, "aerial_gain_dbi of the feed chain is 53.0; allowed: -80 to 52"),
        ({"feeder_loss_db": -1.0}, "feeder_loss_db of the feed chain is -1.0; allowed: 0 to 60"),
        ({"splitter_loss_db": math.nan}, "splitter_loss_db of the feed chain is nan; allowed: 0 to 60"),
        ({"noise_figure_db": -0.1}, "noise_figure_db of the feed chain is -0.1; allowed: 0 to 30"),
        ({"bandwidth_mhz": 7610000.0}, "bandwidth_mhz of the feed chain is 7610000.0; allowed: 0.1 to 20"),
        ({"required_cn_db": 61.0}, "required_cn_db of the feed chain is 61.0; allowed: -10 to 60"),
        ({"required_margin_db": -1.0}, "required_margin_db of the feed chain is -1.0; allowed: 0 to 60"),
    ],
)
def test_chain_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(CHAIN, **change)
    assert str(caught.value) == message
