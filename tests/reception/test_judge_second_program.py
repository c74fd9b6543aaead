"""Judged cells against a second program that shares no sum, aerial or ratio with them, and against chance."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from combe.reception.judges import Fields, Rules, make_judges
from combe.reception.summation import draw_fields
from combe.reception.summing import LOGS_PER_DB
from support_judging import NO_NEGLECT, emission, judged, judged_map, one_cell, random_network

RATIOS_DB = {0.0: 20.0, 8.0: -30.0}
"""By how far the channels lie apart [MHz]: the C/N of the mode, and that of ITU-R BT.1368 (from memory)."""

FACTORS = {50.0: 0.0, 70.0: 0.52, 95.0: 1.64}
NEPER_DB = 10.0 / math.log(10.0)
"""Decibels of a natural logarithm of power."""


def plain_margins(emissions, fields, rules, on_air):
    """Return the margins (emissions, rows, columns) without kernels, tables, pruning or neglect."""
    places = fields.x_m[None, :] + 1j * fields.y_m[:, None]
    factor = FACTORS[rules.location_percent]
    margins = np.full(fields.median_dbuv_m.shape, np.nan)
    for i, wanted in enumerate(emissions):
        if not on_air[i]:
            continue
        levels, sigmas = [np.full(places.shape, wanted.minimum_dbuv_m)], [0.0]
        for j, other in enumerate(emissions):
            ratio_db = RATIOS_DB.get(abs(other.channel.centre_mhz - wanted.channel.centre_mhz))
            if i == j or not on_air[j] or ratio_db is None:
                continue
            greater = np.maximum(fields.median_dbuv_m[j], fields.at_time_dbuv_m[j]).astype(float)
            nuisance = greater + ratio_db + plain_gain_db(places, wanted, other)
            levels.append(np.where(np.isnan(nuisance), -np.inf, nuisance))
            sigmas.append(other.sigma_db)
        usable = plain_usable(np.stack(levels), np.array(sigmas), wanted.sigma_db, rules.method, factor)
        margins[i] = fields.median_dbuv_m[i] - usable
    return margins


def plain_gain_db(places, wanted, other):
    """Return what an aerial that looks at the wanted station leaves of another: BT.419, Bands IV and V."""
    if wanted.polarization != other.polarization:
        return -16.0
    to_wanted, to_other = (each.x_m + 1j * each.y_m - places for each in (wanted, other))
    off_axis_deg = np.abs(np.angle(to_other / to_wanted, deg=True))
    return -16.0 * np.clip((off_axis_deg - 20.0) / 40.0, 0.0, 1.0)


def plain_usable(levels, sigmas, own_sigma, method, factor):
    """Return the usable field of levels (n, rows, columns): never less than one signal alone would ask."""
    spreads = np.hypot(own_sigma, sigmas)[:, None, None]
    if method == "multiplication":
        return multiplied(levels, spreads, norm.cdf(factor))
    mean, deviation = SUMS[method](levels / NEPER_DB, sigmas / NEPER_DB)
    alone = (levels + factor * spreads).max(axis=0)
    return np.maximum(NEPER_DB * mean + factor * np.hypot(own_sigma, NEPER_DB * deviation), alone)


def multiplied(levels, spreads, share):
    """Return by bisection the level at which the shares against each signal multiply to the one asked."""
    low, high = levels.max(axis=0) - 100.0, levels.max(axis=0) + 100.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        enough = norm.cdf((middle - levels) / spreads).prod(axis=0) >= share
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return high


def schwartz_yeh(means, sigmas):
    """Return mean and deviation, signal by signal: moments of ln(exp X + exp Y) over a lattice of both."""
    nodes, weights = np.polynomial.hermite.hermgauss(48)
    weights = np.outer(weights, weights)[..., None, None] / math.pi
    order = np.argsort(-(means + 0.5 * sigmas[:, None, None] ** 2), axis=0)
    means, sigmas = np.take_along_axis(means, order, axis=0), sigmas[order]
    mean, deviation = means[0], sigmas[0]
    for each, scatter in zip(means[1:], sigmas[1:], strict=True):
        first = mean + math.sqrt(2.0) * deviation * nodes[:, None, None]
        other = each + math.sqrt(2.0) * scatter * nodes[:, None, None]
        both = np.logaddexp(first[:, None], other[None, :])
        mean = (weights * both).sum(axis=(0, 1))
        deviation = np.sqrt((weights * (both - mean) ** 2).sum(axis=(0, 1)))
    return mean, deviation


def fenton_wilkinson(means, sigmas):
    """Return the normal whose power has the mean and the square mean of the summed powers."""
    squares = sigmas[:, None, None] ** 2
    powers = np.exp(means + 0.5 * squares)
    mean_square = powers.sum(axis=0) ** 2 + (np.exp(2.0 * means + 2.0 * squares) - powers**2).sum(axis=0)
    first, second = np.log(powers.sum(axis=0)), np.log(mean_square)
    return 2.0 * first - 0.5 * second, np.sqrt(second - 2.0 * first)


def powers_added(means, sigmas):
    """Return the level of the summed median powers, and the deviations' mean weighted by them."""
    powers = np.exp(means)
    deviation = (powers * sigmas[:, None, None]).sum(axis=0) / powers.sum(axis=0)
    return np.log(powers.sum(axis=0)), deviation


SUMS = {"schwartz-yeh": schwartz_yeh, "k-lnm": fenton_wilkinson, "power sum": powers_added}


@pytest.mark.parametrize("method", ["schwartz-yeh", "k-lnm", "power sum", "multiplication"])
@pytest.mark.parametrize("percent", [50.0, 70.0, 95.0])
def test_kernels_against_the_second_program(method, percent):
    emissions, fields = random_network(np.random.default_rng(7))
    rules, on_air = Rules(percent, method, **NO_NEGLECT), np.ones(9, dtype=bool)
    on_air[4] = False
    found = judged(emissions, fields, rules, on_air=on_air)
    margins = plain_margins(emissions, fields, rules, on_air)
    margins[[each.service != "A" for each in emissions]] = np.nan
    filled = np.where(np.isnan(margins), -np.inf, margins)
    best = filled.max(axis=0)
    assert np.allclose(found.margin_db, np.where(np.isinf(best), np.nan, best), atol=5e-3, equal_nan=True)
    assert np.array_equal(found.serving, (filled >= 0.0).sum(axis=0))
    assert np.array_equal(found.served, best >= 0.0)
    clear = (np.sort(filled, axis=0)[-1] - np.sort(filled, axis=0)[-2] > 0.01) & ~np.isinf(best)
    assert np.array_equal(found.server[clear], filled.argmax(axis=0)[clear])
    second = np.sort(filled, axis=0)[-2]
    assert np.allclose(
        found.second_margin_db, np.where(second >= 0.0, second, np.nan), atol=5e-3, equal_nan=True
    )


def test_neglect_changes_margins_by_no_more_than_is_stated():
    emissions, fields = random_network(np.random.default_rng(8), count=20)
    full, short = (judged(emissions, fields, Rules(70.0, neglect_db=each)) for each in (0.0, 0.2))
    change = short.margin_db - full.margin_db
    assert np.nanmin(change) > -0.2
    assert np.nanmax(change) < 0.25


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10_000), st.sampled_from(["schwartz-yeh", "power sum", "multiplication"]))
def test_another_station_never_helps_the_others(seed, method):
    emissions, fields = random_network(np.random.default_rng(seed), count=6)
    emissions[5] = emission("Newcomer", 0.0, 0.0, service="C")
    judges, before_air = make_judges(emissions, Rules(70.0, method)), np.arange(6) < 5
    before, after = judged_map(judges, fields, "A", before_air), judged_map(judges, fields, "A")
    assert np.all(~(after.margin_db > before.margin_db + 0.1))
    assert np.array_equal(before.noise_margin_db, after.noise_margin_db, equal_nan=True)


def test_the_order_of_stations_does_not_matter():
    emissions, fields = random_network(np.random.default_rng(9))
    order = np.random.default_rng(1).permutation(9)
    turned = Fields(fields.x_m, fields.y_m, fields.median_dbuv_m[order], fields.at_time_dbuv_m[order])
    first, other = judged(emissions, fields), judged([emissions[i] for i in order], turned)
    assert np.allclose(first.margin_db, other.margin_db, atol=1e-4, equal_nan=True)
    assert np.array_equal(np.where(other.server < 0, -1, order[other.server]), first.server)


def test_share_of_places_against_chance():
    emissions = [
        emission("West", -10e3),
        *(emission(f"Other {i}", -10e3 - i * 1e3, service="B") for i in range(1, 5)),
    ]
    medians = np.array([66.0, 41.0, 38.0, 38.0, 30.0])
    for correlation in (0.0, 0.4):
        result = judged(emissions, one_cell(*medians), Rules(70.0, correlation=correlation, **NO_NEGLECT))
        drawn = draw_fields(medians, np.full(5, 5.5), correlation=correlation)
        asked = np.logaddexp.reduce(
            np.vstack([np.full(drawn.shape[1], 45.0), drawn[1:] + 20.0]) * LOGS_PER_DB
        )
        share = float(np.mean(drawn[0] * LOGS_PER_DB >= asked))
        assert float(result.share[0, 0]) == pytest.approx(share, abs=0.01)
