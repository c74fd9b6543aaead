"""Drift and step: told apart exactly without scatter, and seldom mistaken with it."""

import numpy as np
import pytest

from combe.planning.visits.drift import Step, find_steps, fit_trend

YEARS = np.arange(10) / 2.0
USUAL = 2.0


def judged(values, years=YEARS):
    steps = find_steps(years, values, USUAL)
    return steps, fit_trend(years, values, steps)


def rates(shape, scatter, *, draws=150, seed=7):
    """Return how often a step and a drift are found in shape plus normal scatter."""
    random = np.random.default_rng(seed)
    found = [judged(shape + random.normal(0.0, scatter, shape.size)) for _ in range(draws)]
    steps = np.mean([bool(steps) for steps, _ in found])
    drifts = np.mean([trend.significant for _, trend in found])
    return steps, drifts


def test_ten_visits_with_a_drift_of_1_db_a_year_and_a_step_of_6_db():
    values = -50.0 - YEARS - 6.0 * (np.arange(10) >= 6)
    steps, trend = judged(values)
    assert steps == (Step(6, pytest.approx(-6.0)),)
    assert trend.slope == pytest.approx(-1.0)
    assert trend.significant
    assert trend.level_at_end == pytest.approx(values[-1])
    assert (trend.count, trend.span_years) == (10, 4.5)


def test_a_drift_alone_is_no_step():
    steps, trend = judged(-50.0 - YEARS)
    assert steps == ()
    assert (trend.slope, trend.significant) == (pytest.approx(-1.0), True)
    assert trend.change == pytest.approx(-4.5)


@pytest.mark.parametrize("index", range(1, 10))
def test_a_step_alone_is_no_drift(index):
    steps, trend = judged(-50.0 - 6.0 * (np.arange(10) >= index))
    assert steps == (Step(index, pytest.approx(-6.0)),)
    assert not trend.significant


def test_two_steps():
    values = -50.0 - 6.0 * (np.arange(10) >= 3) + 5.0 * (np.arange(10) >= 7)
    steps, trend = judged(values)
    assert [(step.index, step.size) for step in steps] == [
        (3, pytest.approx(-6.0)),
        (7, pytest.approx(5.0)),
    ]
    assert not trend.significant


def test_a_stray_reading_is_neither():
    values = np.array([0.1, -0.1, 0.0, 0.2, -6.0, 0.1, -0.2, 0.0, 0.1, -0.1])
    steps, trend = judged(values)
    assert steps == ()
    assert abs(trend.slope) < 0.1
    assert not trend.significant


def test_what_is_usual_between_visits_is_no_step():
    assert find_steps(YEARS, -3.9 * (np.arange(10) >= 5), USUAL) == ()
    assert find_steps(YEARS, -4.1 * (np.arange(10) >= 5), USUAL) != ()


def test_few_readings():
    assert find_steps([0.0], [1.0], USUAL) == ()
    assert find_steps([0.0, 0.5], [0.0, -6.0], USUAL) == (Step(1, -6.0),)
    assert fit_trend(YEARS[:5], YEARS[:5]) is None
    assert fit_trend(YEARS[:6], YEARS[:6]).significant


def test_equal_readings_show_no_drift():
    steps, trend = judged(np.full(10, -50.0))
    assert steps == ()
    assert (trend.slope, trend.chance) == (0.0, 1.0)


def test_drift_agrees_with_scipy_where_there_is_no_step():
    """SciPy's Theil-Sen slope and Kendall's rank test, by the same approximation, are the oracle."""
    from scipy.stats import kendalltau, theilslopes

    values = np.random.default_rng(3).normal(0.0, 1.0, 14) - 0.3 * np.arange(14)
    years = np.cumsum(np.random.default_rng(4).uniform(0.2, 1.0, 14))
    trend = fit_trend(years, values)
    line = theilslopes(values, years, 0.95)
    assert trend.slope == pytest.approx(line.slope, abs=1e-12)
    assert trend.slope_low == pytest.approx(line.low_slope, abs=1e-12)
    assert trend.slope_high == pytest.approx(line.high_slope, abs=1e-12)
    assert trend.chance == pytest.approx(kendalltau(years, values, method="asymptotic").pvalue, rel=0.3)


@pytest.mark.parametrize("scatter", [0.3, 0.7, 1.0])
def test_scatter_alone_is_seldom_taken_for_more(scatter):
    steps, drifts = rates(np.zeros(10), scatter)
    assert steps <= 0.03
    assert drifts <= 0.04


@pytest.mark.parametrize(("scatter", "often"), [(0.3, 1.0), (0.7, 0.95), (1.0, 0.85)])
def test_a_step_of_6_db_is_found_in_scatter(scatter, often):
    steps, drifts = rates(-6.0 * (np.arange(10) >= 6), scatter)
    assert steps >= often
    assert drifts <= 0.15


@pytest.mark.parametrize(("scatter", "often"), [(0.3, 0.99), (0.7, 0.85), (1.0, 0.6)])
def test_a_drift_of_1_db_a_year_is_found_in_scatter(scatter, often):
    steps, drifts = rates(-YEARS, scatter)
    assert steps <= 0.03
    assert drifts >= often


def test_both_are_found_in_scatter():
    steps, drifts = rates(-YEARS - 6.0 * (np.arange(10) >= 6), 0.3)
    assert steps == 1.0
    assert drifts >= 0.85
