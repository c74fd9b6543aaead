"""Which reading is the record, when a drift counts before it has eaten much, and what is scatter."""

from __future__ import annotations

import datetime

import numpy as np
import pytest

from combe.planning.visits.drift import find_steps, fit_trend
from combe.planning.visits.judge import judge_series
from support_visits import level

TENTHS = np.arange(7) / 10.0
START = datetime.date(2025, 1, 1)


def readings(values, **changes):
    """Return levels a tenth of a year apart."""
    days = [START + datetime.timedelta(round(36.525 * index)) for index in range(len(values))]
    return tuple(level(day, value, **changes) for day, value in zip(days, values, strict=True))


def drift_of(values, **changes):
    found = judge_series(readings(values, **changes))
    return next(each for each in found.comparisons if each.against == "drift")


def test_the_last_commissioning_is_the_record():
    days = [
        level(0, -40.0, visit="commissioning"),
        level(100, -44.0),
        level(200, -50.0, visit="commissioning"),
        level(300, -51.0),
    ]
    found = judge_series(tuple(days))
    assert found.record == 2
    assert found.status == "within tolerance"
    fall = next(each for each in found.comparisons if each.against == "commissioning")
    assert fall.difference == pytest.approx(-1.0)


# The tolerance of a level is 3 dB; 0.6 years have eaten less than half of it.
@pytest.mark.parametrize(
    ("slope", "status"),
    [(-1.2, "drifting"), (1.2, "drifting"), (-1.0, "within tolerance"), (1.0, "within tolerance")],
)
def test_a_young_drift_counts_where_it_leaves_the_tolerance_within_two_years(slope, status):
    # Two years after the last reading: 1.2 dB a year make 3.12 dB from the record, 1.0 make 2.6.
    found = drift_of(-50.0 + slope * TENTHS)
    assert (found.status, found.difference) == (status, pytest.approx(slope, abs=0.01))
    assert found.words.startswith(f"drift {slope:+.1f} dB a year")


def test_a_rise_of_what_may_only_fall_is_no_drift():
    ratio = {"test_point": "receiver", "quantity": "C/N", "unit": "dB"}
    assert drift_of(30.0 + 2.0 * TENTHS, **ratio).status == "within tolerance"
    assert drift_of(30.0 - 2.0 * TENTHS, **ratio).status == "drifting"


def test_what_comes_back_after_a_fall_is_out_and_no_drift():
    """Two years on it is still 2.4 dB under the record, and allowed are 2; but it is on its way up."""
    values = np.concatenate([[30.0], 25.0 + TENTHS])
    ratio = {"test_point": "receiver", "quantity": "C/N", "unit": "dB"}
    found = drift_of(values, **ratio)
    assert found.words.startswith("drift +1.0 dB a year")
    assert found.status == "within tolerance"
    assert judge_series(readings(values, **ratio)).status == "out"


def scattered(step, stray=0.0):
    """Return 16 readings half a decibel to both sides of their level, which steps in the middle."""
    values = np.where(np.arange(16) % 2, 0.5, -0.5)
    values[4] += stray
    return np.arange(16) / 2.0, values + step * (np.arange(16) >= 8)


# Median residual 0.5 dB, so the scatter is 0.741 dB and the floor of a step four times that, 2.97 dB.
@pytest.mark.parametrize(("step", "found"), [(2.6, 0), (3.4, 1), (-2.6, 0), (-3.4, 1)])
def test_a_step_stands_four_scatters_high(step, found):
    assert len(find_steps(*scattered(step), usual=0.1)) == found


def test_the_scatter_is_not_bent_by_a_stray_reading():
    # The mean of the residuals would be 1.3 dB, and the floor 7.5 dB.
    (step,) = find_steps(*scattered(5.0, stray=12.0), usual=0.1)
    assert step.index == 8


def test_a_step_stands_over_twice_the_usual_change_too():
    assert len(find_steps(*scattered(3.4), usual=1.6)) == 1
    assert len(find_steps(*scattered(3.4), usual=1.8)) == 0


def test_equal_readings_count_as_such():
    """Three pairs of ties among six: S = 12, its variance (510 − 3·18)/18, z = 11/5.033 (from memory)."""
    trend = fit_trend(np.arange(6.0), [1.0, 1.0, 2.0, 2.0, 3.0, 3.0])
    assert trend.chance == pytest.approx(0.02885, abs=2e-5)
    untied = fit_trend(np.arange(6.0), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    # S = 15, variance 28.33, z = 14/5.323.
    assert untied.chance == pytest.approx(0.00853, abs=2e-5)
