"""Sums of fields that scatter over places: published figures, chance, and what must hold of any sum."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from combe.errors import RangeError
from combe.evidence.place_statistics import CHANCE, POWERS
from combe.reception.multiplication import multiplied_field_dbuv_m
from combe.reception.summation import Summation, draw_fields, draw_sums, sum_fields
from combe.reception.summing import LOGS_PER_DB, pair_integrals, pair_table, read_pair

fields = st.lists(st.floats(20.0, 80.0), min_size=1, max_size=8).map(np.array)
sigmas = st.floats(0.0, 12.0)
methods = st.sampled_from(["schwartz-yeh", "k-lnm", "power sum"])


def schwartz_yeh_by_integrals(levels_db, sigmas_db, correlation):
    """Return mean and deviation [dB] by the method without table, kernel or neglect: the plain way."""
    order = sorted(
        range(len(levels_db)),
        key=lambda i: -(levels_db[i] * LOGS_PER_DB + (sigmas_db[i] * LOGS_PER_DB) ** 2 / 2),
    )
    mean, variance, load = None, None, None
    for i in order:
        m, s = levels_db[i] * LOGS_PER_DB, sigmas_db[i] * LOGS_PER_DB
        a = math.sqrt(correlation) * s
        if mean is None:
            mean, variance, load = m, s * s, a
            continue
        gap, spread = m - mean, math.sqrt(max(variance + s * s - 2 * load * a, 0.0))
        rise, scatter, share = (float(each) for each in pair_integrals(gap, spread))
        mean, variance = mean + rise, variance + scatter + 2 * (load * a - variance) * share
        load = load + (a - load) * share
    return mean / LOGS_PER_DB, math.sqrt(variance) / LOGS_PER_DB


# Published Schwartz-Yeh sums, sums drawn by chance, k-LNM, power sums and simplified multiplication are cases
# of evidence (combe.evidence.place_statistics), which tests/evidence runs.


@pytest.mark.parametrize(("levels", "total_db"), POWERS)
def test_a_power_sum_does_not_touch_the_deviation(levels, total_db):
    total = sum_fields(np.array(levels), 5.5, Summation("power sum"))
    assert float(total.mean_dbuv_m) == pytest.approx(total_db, abs=0.001)
    assert float(total.sigma_db) == pytest.approx(5.5)


@pytest.mark.parametrize(("medians", "sigma_db", "mean_db", "deviation_db"), CHANCE)
def test_where_the_plainer_methods_stand_to_chance(medians, sigma_db, mean_db, deviation_db):
    """A power sum of medians is lowest; Wilkinson's sum is low too, and too wide."""
    powers, wilkinson = (
        sum_fields(np.array(medians), sigma_db, how) for how in (Summation("power sum"), Summation("k-lnm"))
    )
    assert float(powers.mean_dbuv_m) < float(wilkinson.mean_dbuv_m) < mean_db
    assert float(wilkinson.sigma_db) > deviation_db


@given(fields, st.floats(1.0, 12.0), st.floats(0.05, 0.99), st.floats(0.0, 0.9))
def test_multiplied_shares_are_the_share_asked(levels, sigma_db, share, correlation):
    usable = float(
        multiplied_field_dbuv_m(levels, sigma_db, wanted_sigma_db=5.5, share=share, correlation=correlation)
    )
    ratio = math.sqrt(5.5**2 + sigma_db**2 - 2 * correlation * 5.5 * sigma_db)
    assert np.prod(norm.cdf((usable - levels) / ratio)) == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("gap", [0.0, -0.7, -3.0, -9.0])
@pytest.mark.parametrize("spread", [0.05, 0.9, 1.8, 3.9, 5.8])
def test_integrals_of_a_pair_by_adaptive_quadrature(gap, spread):
    def mean_of(function):
        return quad(lambda w: function(w) * norm.pdf(w, gap, spread), gap - 9 * spread, gap + 9 * spread,
                    points=[0.0] if abs(gap) < 9 * spread else None, limit=200, epsabs=1e-11)[0]  # fmt: skip

    rise = mean_of(lambda w: np.logaddexp(0.0, w))
    square = mean_of(lambda w: np.logaddexp(0.0, w) ** 2)
    share = mean_of(lambda w: math.exp(-np.logaddexp(0.0, -w)))
    exact = (rise, square - rise**2, share)
    assert [float(each) for each in pair_integrals(gap, spread)] == pytest.approx(exact, abs=1e-8)
    assert read_pair(gap, spread, pair_table()) == pytest.approx(exact, abs=1e-4)


@settings(deadline=None, max_examples=40)
@given(fields, sigmas, st.floats(0.0, 0.95))
def test_the_kernel_does_what_the_integrals_say(levels, sigma_db, correlation):
    spreads = np.linspace(sigma_db, 12.0 - sigma_db, levels.size)
    total = sum_fields(levels, spreads, Summation(correlation=correlation))
    mean, deviation = schwartz_yeh_by_integrals(levels, spreads, correlation)
    assert float(total.mean_dbuv_m) == pytest.approx(mean, abs=2e-3)
    assert float(total.sigma_db) == pytest.approx(deviation, abs=5e-3)


@pytest.mark.parametrize("correlation", [0.0, 0.3, 0.7])
@pytest.mark.parametrize(
    ("levels_db", "sigmas_db"),
    [
        ([60.0, 58.0, 50.0, 45.0], [5.5, 8.0, 5.5, 0.0]),
        ([50.0, 50.0, 50.0, 50.0, 50.0], [5.5] * 5),
        ([45.0, 60.0], [12.0, 3.0]),
    ],
)
def test_sums_against_chance(correlation, levels_db, sigmas_db):
    levels, spreads = np.array(levels_db), np.array(sigmas_db)
    drawn = draw_sums(levels, spreads, correlation=correlation)
    total = sum_fields(levels, spreads, Summation(correlation=correlation))
    assert float(total.mean_dbuv_m) == pytest.approx(drawn.mean(), abs=0.3)
    assert float(total.sigma_db) == pytest.approx(drawn.std(), abs=0.2)


def test_drawn_fields_are_what_they_are_said_to_be():
    drawn = draw_fields(np.array([60.0, 40.0]), np.array([5.5, 8.0]), correlation=0.5)
    assert drawn.mean(axis=1) == pytest.approx([60.0, 40.0], abs=0.05)
    assert drawn.std(axis=1) == pytest.approx([5.5, 8.0], abs=0.05)
    assert np.corrcoef(drawn)[0, 1] == pytest.approx(0.5, abs=0.01)
    assert np.array_equal(drawn, draw_fields(np.array([60.0, 40.0]), np.array([5.5, 8.0]), correlation=0.5))


@settings(deadline=None)
@given(fields, sigmas, methods, st.randoms(use_true_random=False))
def test_order_never_matters(levels, sigma_db, method, chance):
    spreads = np.linspace(sigma_db, 12.0 - sigma_db, levels.size)
    order = list(range(levels.size))
    chance.shuffle(order)
    first = sum_fields(levels, spreads, Summation(method))
    other = sum_fields(levels[order], spreads[order], Summation(method))
    assert float(first.mean_dbuv_m) == pytest.approx(float(other.mean_dbuv_m), abs=1e-9)
    assert float(first.sigma_db) == pytest.approx(float(other.sigma_db), abs=1e-7)


@settings(deadline=None)
@given(fields, sigmas, st.integers(0, 7), st.floats(0.1, 20.0))
def test_a_stronger_field_makes_a_greater_sum(levels, sigma_db, which, more_db):
    stronger = levels.copy()
    stronger[which % levels.size] += more_db
    before, after = sum_fields(levels, sigma_db), sum_fields(stronger, sigma_db)
    assert float(after.mean_dbuv_m) > float(before.mean_dbuv_m) - 1e-3
    assert float(before.mean_dbuv_m) >= levels.max() - 1e-9


@settings(deadline=None)
@given(fields, sigmas, st.floats(0.0, 1.0))
def test_what_is_neglected_stays_under_the_bound(levels, sigma_db, neglect_db):
    full, short = (sum_fields(levels, sigma_db, Summation(neglect_db=each)) for each in (0.0, neglect_db))
    fallen = float(full.mean_dbuv_m) - float(short.mean_dbuv_m)
    assert -1e-3 <= fallen <= neglect_db + 1e-3


def test_places_with_gaps_and_with_nothing():
    levels = np.array([[60.0, 60.0, math.nan, -math.inf], [60.0, -math.inf, 60.0, -math.inf]])
    total = sum_fields(levels.astype(np.float32).reshape(2, 2, 2), 5.5)
    assert total.mean_dbuv_m.shape == (2, 2)
    assert total.mean_dbuv_m[0] == pytest.approx([64.37, 60.0], abs=0.01)
    assert total.sigma_db[0, 1] == pytest.approx(5.5)
    assert math.isnan(total.mean_dbuv_m[1, 0])
    assert total.mean_dbuv_m[1, 1] == -math.inf
    usable = multiplied_field_dbuv_m(levels, 5.5, wanted_sigma_db=5.5)
    assert math.isnan(usable[2])
    assert usable[3] == -math.inf


def test_steady_fields_add_as_powers():
    for method in ("schwartz-yeh", "k-lnm", "power sum"):
        total = sum_fields(np.array([60.0, 55.0, 50.0]), 0.0, Summation(method))
        assert float(total.mean_dbuv_m) == pytest.approx(61.511, abs=0.001)
        assert float(total.sigma_db) == pytest.approx(0.0, abs=1e-6)
    assert float(multiplied_field_dbuv_m(np.array([60.0, 55.0]), 0.0, wanted_sigma_db=0.0)) == 60.0


def test_refusals():
    with pytest.raises(RangeError, match="number of fields to sum is 0; allowed: at least one"):
        sum_fields(np.empty((0, 3)), 5.5)
    with pytest.raises(RangeError, match=r"sigma_db is 19\.0; allowed: 0 to 18"):
        sum_fields(np.zeros(2), 19.0)
    with pytest.raises(RangeError, match=r"number of deviations is .*; allowed: one, or 2"):
        sum_fields(np.zeros(2), np.ones(3))
    with pytest.raises(RangeError, match="method of summation is 'guess'"):
        Summation("guess")
    with pytest.raises(RangeError, match=r"correlation with k-lnm is 0\.5; allowed: 0; take schwartz-yeh"):
        Summation("k-lnm", correlation=0.5)
    with pytest.raises(RangeError, match="share of places is 0"):
        multiplied_field_dbuv_m(np.zeros(2), 5.5, wanted_sigma_db=5.5, share=0.0)
    with pytest.raises(RangeError, match="draws is 0"):
        draw_sums(np.zeros(2), np.ones(2), draws=0)
