"""Judged cells against a plain second program by the public array functions, and against chance."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from combe.reception.emission import pair_protection
from combe.reception.judges import Fields, Rules, make_judges
from combe.reception.multiplication import multiplied_field_dbuv_m
from combe.reception.nuisance import nuisance_field_dbuv_m, off_axis_deg
from combe.reception.summation import Summation, draw_fields, sum_fields
from combe.reception.summing import LOGS_PER_DB
from support_judging import NO_NEGLECT, emission, judged, judged_map, one_cell, random_network


def plain_margins(emissions, fields, rules, on_air):
    """Return the margins (emissions, rows, columns) cell by cell without kernels, pruning or neglect."""
    x, y = np.meshgrid(fields.x_m, fields.y_m)
    factor = {50.0: 0.0, 70.0: 0.52, 95.0: 1.64}[rules.location_percent]
    margins = np.full(fields.median_dbuv_m.shape, np.nan)
    for i, wanted in enumerate(emissions):
        if not on_air[i]:
            continue
        levels, sigmas = [np.full(x.shape, wanted.minimum_dbuv_m)], [0.0]
        for j, other in enumerate(emissions):
            pair = pair_protection(wanted, other) if i != j and on_air[j] else None
            if pair is None:
                continue
            angle = off_axis_deg(x, y, (wanted.x_m, wanted.y_m), (other.x_m, other.y_m))
            nuisance = nuisance_field_dbuv_m(
                fields.median_dbuv_m[j],
                fields.at_time_dbuv_m[j],
                tropospheric_db=pair.tropospheric_db,
                continuous_db=pair.continuous_db,
                off_axis=angle,
                crossed=wanted.polarization != other.polarization,
            )
            levels.append(np.where(np.isnan(nuisance), -np.inf, nuisance))
            sigmas.append(other.sigma_db)
        margins[i] = fields.median_dbuv_m[i] - plain_usable(levels, sigmas, wanted, rules, factor)
    return margins


def plain_usable(levels, sigmas, wanted, rules, factor):
    stack, spreads = np.stack(levels), np.array(sigmas)
    alone = [
        level + factor * np.sqrt(wanted.sigma_db**2 + s**2) for level, s in zip(stack, spreads, strict=True)
    ]
    if rules.method == "multiplication":
        return multiplied_field_dbuv_m(
            stack,
            spreads,
            wanted_sigma_db=wanted.sigma_db,
            share=float(norm.cdf(factor)),
        )
    total = sum_fields(stack, spreads, Summation(rules.method))
    sigma = np.sqrt(wanted.sigma_db**2 + total.sigma_db**2)
    return np.maximum(total.mean_dbuv_m + factor * sigma, np.max(alone, axis=0))


@pytest.mark.parametrize("method", ["schwartz-yeh", "k-lnm", "power sum", "multiplication"])
@pytest.mark.parametrize("percent", [50.0, 70.0, 95.0])
def test_kernels_against_the_plain_program(method, percent):
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
