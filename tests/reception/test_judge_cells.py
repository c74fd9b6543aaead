"""Cells judged against noise and interference: by hand, by a second program, by algebra and by chance."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from combe.decibels import field_from_loss_dbuv_m
from combe.errors import RangeError
from combe.propagation.p525 import free_space_loss_db
from combe.reception.emission import Emission, pair_protection, partners_of
from combe.reception.feed_interference import Channel
from combe.reception.judge_cells import (
    STATES,
    Fields,
    Rules,
    cell_states,
    judge_cells,
    make_judges,
    margin_of_named,
)
from combe.reception.monte_carlo import draw_fields
from combe.reception.multiplication import multiplied_field_dbuv_m
from combe.reception.nuisance import aerial_gain_db, curve_corners, nuisance_field_dbuv_m, off_axis_deg
from combe.reception.pair_sum import LOGS_PER_DB
from combe.reception.service import served_mask
from combe.reception.statistics import coverage_chance
from combe.reception.summation import Summation, sum_fields

CHANNEL_37 = Channel("DVB", 602.0, 8.0)
NEXT_CHANNEL = Channel("DVB", 610.0, 8.0)
FAR_CHANNEL = Channel("DVB", 690.0, 8.0)


def emission(name, x_m=0.0, y_m=0.0, **changes):
    """Return an invented station whose mode needs 20 dB and a field of 45 dB(µV/m)."""
    values = {
        "station": name,
        "service": "A",
        "channel": CHANNEL_37,
        "polarization": "horizontal",
        "x_m": x_m,
        "y_m": y_m,
        "minimum_dbuv_m": 45.0,
        "required_cn_db": 20.0,
        "sigma_db": 5.5,
    }
    return Emission(**{**values, **changes})


def one_cell(*fields, at_time=None, place=(0.0, 0.0)):
    layers = np.array(fields, dtype=np.float32).reshape(-1, 1, 1)
    later = layers if at_time is None else np.array(at_time, dtype=np.float32).reshape(-1, 1, 1)
    return Fields(np.array([place[0]]), np.array([place[1]]), layers, later)


def judged(emissions, fields, rules=None, service="A", on_air=None):
    return judge_cells(make_judges(emissions, rules), fields, service, on_air)


WEST, EAST = emission("West", -10e3), emission("East", 10e3, service="B")
NO_NEGLECT = {"neglect_db": 0.0}


@pytest.mark.parametrize(
    ("angle_deg", "gain_db"),
    # ITU-R BT.419-3, Bands IV and V: 0/20/30/40/50/60/180 degrees.
    [(0, 0), (20, 0), (30, -4), (40, -8), (50, -12), (60, -16), (90, -16), (180, -16), (-40, -8)],
)
def test_directivity_between_two_stations(angle_deg, gain_db):
    other = (math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg)))
    found = aerial_gain_db(0.0, 5e3, 7e3 * other[0], 7e3 * other[1], False, curve_corners())
    assert found == pytest.approx(gain_db, abs=1e-6)
    assert aerial_gain_db(0.0, 5e3, 7e3 * other[0], 7e3 * other[1], True, curve_corners()) == -16.0
    angle = off_axis_deg(0.0, 0.0, (0.0, 5e3), (7e3 * other[0], 7e3 * other[1]))
    assert float(angle) == pytest.approx(abs(angle_deg), abs=1e-9)


def test_at_the_foot_of_a_mast_nothing_is_discriminated():
    assert aerial_gain_db(0.0, 0.0, 1e3, 0.0, False, curve_corners()) == 0.0
    assert float(off_axis_deg(0.0, 0.0, (0.0, 0.0), (1e3, 0.0))) == 0.0


@pytest.mark.parametrize(
    ("median", "at_time", "nuisance"),
    # Analogue 625 lines without offset: 45 dB tropospheric, 52 dB continuous (ITU-R BT.655-7, from memory).
    [(30.0, 40.0, 85.0), (30.0, 36.0, 82.0), (30.0, 37.0, 82.0), (math.nan, 40.0, math.nan)],
)
def test_the_greater_of_tropospheric_and_continuous_counts(median, at_time, nuisance):
    found = nuisance_field_dbuv_m(
        np.array([median]),
        np.array([at_time]),
        tropospheric_db=45.0,
        continuous_db=52.0,
        off_axis=0.0,
        crossed=False,
    )
    assert found == pytest.approx([nuisance], nan_ok=True)
    analogue = Channel("analogue 625", 602.0, 8.0)
    pair = [emission("West", channel=analogue), emission("East", service="B", channel=analogue)]
    result = judged(
        pair, one_cell(90.0, median, at_time=(90.0, at_time)), Rules(50.0, "power sum", **NO_NEGLECT)
    )
    if math.isnan(nuisance):
        assert result.unknown[0, 0] == 1
    else:
        assert result.usable_dbuv_m[0, 0] == pytest.approx(nuisance, abs=0.01)


def test_protection_ratios_of_pairs():
    west = emission("West", required_cn_db=17.5)
    assert pair_protection(west, emission("East"))[:2] == (17.5, 17.5)
    assert pair_protection(west, emission("East", channel=NEXT_CHANNEL))[:2] == (-30.0, -30.0)
    assert pair_protection(west, emission("East", channel=FAR_CHANNEL)) is None
    vision = Channel("analogue 625", 602.0, 8.0)
    offsets = [emission("N", channel=vision, offset_twelfths=each) for each in (-4, 4)]
    # 8/12 of a line apart: 30 dB tropospheric, 40 dB continuous (BT.655-7, from memory).
    assert pair_protection(*offsets)[:2] == (30.0, 40.0)


@pytest.mark.parametrize(("correlation", "share"), [(0.0, 0.7398), (0.5, 0.8183)])
def test_coverage_chance_against_one_interferer(correlation, share):
    # Computed: wanted 65, interferer 40 dB(µV/m), ratio 20 dB, σ 5.5 dB each, no noise, aerial not turned.
    pair = [emission("West", -10e3, minimum_dbuv_m=-100.0), emission("East", -20e3, service="B")]
    rules = Rules(50.0, correlation=correlation, **NO_NEGLECT)
    result = judged(pair, one_cell(65.0, 40.0), rules)
    assert float(result.share[0, 0]) == pytest.approx(share, abs=5e-5)
    known = coverage_chance(
        65.0, 40.0, 20.0, wanted_sigma_db=5.5, interferer_sigma_db=5.5, correlation=correlation
    )
    assert float(result.share[0, 0]) == pytest.approx(float(known), abs=1e-6)
    for_more = judged(pair, one_cell(65.0, 40.0), Rules(70.0, correlation=correlation, **NO_NEGLECT))
    usable = 60.0 + 0.52 * 5.5 * math.sqrt(2.0 * (1.0 - correlation))
    assert float(for_more.usable_dbuv_m[0, 0]) == pytest.approx(usable, abs=1e-3)


def test_crossed_polarization_replaces_the_curve():
    # 16 dB whether the interferer stands behind the wanted station or opposite (BT.419-3, from memory).
    for x_m in (-20e3, 20e3):
        pair = [WEST, emission("Other", x_m, service="B", polarization="vertical")]
        result = judged(pair, one_cell(90.0, 60.0), Rules(50.0, "power sum", **NO_NEGLECT))
        assert result.usable_dbuv_m[0, 0] == pytest.approx(60.0 + 20.0 - 16.0, abs=0.06)


def test_without_interferers_noise_alone_decides():
    fields = one_cell(54.1, 90.0)
    result = judged([WEST, emission("East", 10e3, service="B", channel=FAR_CHANNEL)], fields)
    # BT.2033: 45 dB(µV/m) and 1.64 · 5.5 dB for 95 % of places make 54.02.
    assert result.usable_dbuv_m[0, 0] == pytest.approx(54.02, abs=1e-4)
    assert result.margin_db[0, 0] == result.noise_margin_db[0, 0] == pytest.approx(0.08, abs=1e-4)
    assert result.served[0, 0]
    assert result.share[0, 0] == result.noise_share[0, 0] == pytest.approx(norm.cdf(9.1 / 5.5), abs=1e-6)
    assert (result.worst[0, 0], result.unknown[0, 0], result.second[0, 0]) == (-1, 0, -1)


# The plain second program: every candidate by the public array functions.


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


def random_network(chance, count=9):
    channels = [CHANNEL_37, NEXT_CHANNEL, FAR_CHANNEL]
    emissions = [
        emission(
            f"Station {i}",
            float(chance.uniform(-30e3, 30e3)),
            float(chance.uniform(-30e3, 30e3)),
            service="AB"[i % 2],
            channel=channels[int(chance.integers(3))],
            polarization=["horizontal", "vertical"][int(chance.integers(2))],
            sigma_db=float(chance.uniform(3.0, 8.0)),
            minimum_dbuv_m=float(chance.uniform(40.0, 50.0)),
        )
        for i in range(count)
    ]
    x, y = np.linspace(-30e3, 30e3, 13), np.linspace(30e3, -30e3, 11)
    median = chance.uniform(20.0, 90.0, (count, y.size, x.size)).astype(np.float32)
    median[chance.random(median.shape) < 0.1] = np.nan
    return emissions, Fields(x, y, median, median + chance.uniform(0.0, 8.0, median.shape).astype(np.float32))


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
    before, after = judge_cells(judges, fields, "A", before_air), judge_cells(judges, fields, "A")
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


# Exact answers on a flat earth in free space.


def flat_earth(emissions, erp_dbw, cell_m=100.0, half_m=15e3):
    x = np.arange(-half_m + cell_m / 2, half_m, cell_m)
    y = x[::-1].copy()
    far = [np.hypot(x[None, :] - each.x_m, y[:, None] - each.y_m) / 1000.0 for each in emissions]
    median = [
        field_from_loss_dbuv_m(power, free_space_loss_db(d, 602.0), 602.0)
        for d, power in zip(far, erp_dbw, strict=True)
    ]
    layers = np.stack(median).astype(np.float32)
    return Fields(x, y, layers, layers)


def test_boundary_of_service_against_one_interferer():
    """Off the aerial's axis by 60° and more, service ends on a circle of Apollonius.

    West at −10 km and East at 10 km, equal power, no scatter and no noise. Service where the field of West is
    20 − 16 dB over that of East: r_east/r_west ≥ 10^(4/20) = k. On the line between them the boundary is at
    r_west = 20/(k + 1) km.
    """
    pair = [emission("West", -10e3, sigma_db=0.0, minimum_dbuv_m=-100.0),
            emission("East", 10e3, sigma_db=0.0, minimum_dbuv_m=-100.0, service="B")]  # fmt: skip
    fields = flat_earth(pair, (30.0, 30.0))
    result = judged(pair, fields, Rules(50.0, **NO_NEGLECT))
    x, y = np.meshgrid(fields.x_m, fields.y_m)
    west, east = np.hypot(x + 10e3, y), np.hypot(x - 10e3, y)
    angle = off_axis_deg(x, y, (-10e3, 0.0), (10e3, 0.0))
    ratio_db = 20.0 - np.clip((angle - 20.0) * 0.4, 0.0, 16.0)
    expected = 20.0 * np.log10(east / west) >= ratio_db
    clear = np.abs(20.0 * np.log10(east / west) - ratio_db) > 1e-4
    assert np.array_equal(result.served[clear], expected[clear])
    assert np.count_nonzero(~clear) < 10
    row = np.argmin(np.abs(fields.y_m - 50.0))
    limit_m = -10e3 + 20e3 / (10.0 ** (4.0 / 20.0) + 1.0)
    reached = fields.x_m[result.served[row]].max()
    assert abs(reached - limit_m) <= 100.0
    assert np.count_nonzero(result.served) > 1000
    assert np.all(cell_states(result)[~result.served] == STATES.index("limited by interference"))


def test_boundary_of_service_against_noise_and_interference():
    """With scatter, the margin against one interferer on the line between two stations is known exactly."""
    pair = [emission("West", -10e3, minimum_dbuv_m=-100.0),
            emission("East", 10e3, minimum_dbuv_m=-100.0, service="B")]  # fmt: skip
    fields = flat_earth(pair, (30.0, 30.0))
    result = judged(pair, fields, Rules(70.0, **NO_NEGLECT))
    over_db = 4.0 + 0.52 * 5.5 * math.sqrt(2.0)
    limit_m = -10e3 + 20e3 / (10.0 ** (over_db / 20.0) + 1.0)
    row = np.argmin(np.abs(fields.y_m - 50.0))
    assert abs(fields.x_m[result.served[row]].max() - limit_m) <= 100.0
    # Alone, West serves to where free space falls to its minimum field and μσ.
    alone = [emission("West", -10e3, minimum_dbuv_m=60.0)]
    fields = flat_earth(alone, (0.0,))
    result = judged(alone, fields, Rules(70.0))
    radius_m = 1000.0 * 10.0 ** ((106.92 - 30.0 - 60.0 - 0.52 * 5.5) / 20.0)
    x, y = np.meshgrid(fields.x_m, fields.y_m)
    assert np.array_equal(result.served, served_mask(result.noise_margin_db, 0.0))
    assert np.hypot(x + 10e3, y)[result.served].max() == pytest.approx(radius_m, abs=100.0)
    assert set(cell_states(result)[~result.served]) == {STATES.index("limited by noise")}


def test_best_second_and_overlap():
    trio = [emission(name, channel=channel) for name, channel in
            (("One", CHANNEL_37), ("Two", FAR_CHANNEL), ("Three", Channel("DVB", 770.0, 8.0)))]  # fmt: skip
    result = judged(trio, one_cell(70.0, 80.0, 40.0))
    assert (result.server[0, 0], result.second[0, 0], result.serving[0, 0]) == (1, 0, 2)
    assert result.second_margin_db[0, 0] == pytest.approx(70.0 - 54.02, abs=1e-4)
    unserved = judged(trio, one_cell(40.0, 30.0, math.nan))
    assert (unserved.server[0, 0], unserved.second[0, 0], unserved.serving[0, 0]) == (0, -1, 0)
    assert unserved.margin_db[0, 0] == pytest.approx(-14.02, abs=1e-4)


def test_no_prediction_is_never_service_and_never_harmless():
    pair = [WEST, emission("East", 10e3, service="B")]
    nothing = judged(pair, one_cell(math.nan, 90.0))
    assert math.isnan(nothing.margin_db[0, 0])
    assert (nothing.server[0, 0], nothing.served[0, 0], nothing.predicted[0, 0]) == (-1, False, False)
    assert cell_states(nothing)[0, 0] == 0
    unknown = judged(pair, one_cell(90.0, math.nan))
    assert (unknown.unknown[0, 0], unknown.served[0, 0]) == (1, True)
    silent = judged(pair, one_cell(90.0, -math.inf))
    assert (silent.unknown[0, 0], silent.worst[0, 0]) == (0, -1)


def test_off_air():
    pair = [WEST, emission("East", -10e3, service="B")]
    both = judged(pair, one_cell(60.0, 60.0))
    alone = judged(pair, one_cell(60.0, 60.0), on_air=np.array([True, False]))
    gone = judged(pair, one_cell(60.0, 60.0), on_air=np.array([False, True]))
    assert not both.served[0, 0]
    assert both.worst[0, 0] == 1
    assert alone.served[0, 0]
    assert not gone.predicted[0, 0]


def test_margin_of_a_named_station():
    emissions, fields = random_network(np.random.default_rng(10))
    judges = make_judges(emissions, Rules(70.0))
    found = judge_cells(judges, fields, "A")
    margin, unknown = margin_of_named(judges, fields, found.server)
    assert np.array_equal(margin, found.margin_db, equal_nan=True)
    assert np.array_equal(unknown, np.where(found.server < 0, 0, found.unknown))
    off = np.array([each.service != "A" for each in emissions])
    assert np.all(np.isnan(margin_of_named(judges, fields, found.server, off)[0]))


def test_partners():
    emissions = [WEST, emission("Next", channel=NEXT_CHANNEL), emission("Far", channel=FAR_CHANNEL), EAST]
    partners = partners_of(emissions)
    assert partners.start.tolist() == [0, 2, 4, 4, 6]
    assert partners.emission.tolist() == [1, 3, 0, 3, 0, 1]
    assert partners.tropospheric_db.tolist() == [-30.0, 20.0, -30.0, -30.0, 20.0, -30.0]


def test_refusals():
    with pytest.raises(RangeError, match="emission is West A more than once; allowed: each once only"):
        make_judges([WEST, WEST])
    with pytest.raises(RangeError, match="number of emissions is 0"):
        make_judges([])
    with pytest.raises(RangeError, match="service to judge is 'C'; allowed: A, B"):
        judged([WEST, EAST], one_cell(60.0, 60.0), service="C")
    with pytest.raises(RangeError, match="shape of the fields is"):
        judged([WEST, EAST], one_cell(60.0))
    with pytest.raises(RangeError, match="emissions on air is"):
        judged([WEST, EAST], one_cell(60.0, 60.0), on_air=np.array([True]))
    with pytest.raises(RangeError, match="location_percent is 100"):
        Rules(100.0)
    with pytest.raises(RangeError, match="method of summation is 'guess'"):
        Rules(95.0, "guess")
    with pytest.raises(RangeError, match="sigma_db of West A is 25"):
        emission("West", sigma_db=25.0)
    with pytest.raises(RangeError, match="protection ratio is DVB by ATSC, co-channel"):
        make_judges([WEST, emission("East", channel=Channel("ATSC", 605.0, 6.0))])
    with pytest.raises(RangeError, match="index of an emission is 7 to 7"):
        margin_of_named(make_judges([WEST, EAST]), one_cell(60.0, 60.0), np.full((1, 1), 7, dtype=np.int16))
