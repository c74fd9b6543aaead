"""Cells judged against noise and interference: by hand and from the Recommendations."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from combe.errors import RangeError
from combe.reception.emission import pair_protection, partners_of
from combe.reception.judges import Rules, fields_at, judge_emission, make_judges
from combe.reception.nuisance import aerial_gain_db, curve_corners, nuisance_field_dbuv_m, off_axis_deg
from combe.reception.protection_ratios import Channel
from combe.reception.service import coverage_chance
from combe.standards.bt419 import curve_number
from combe.standards.protection import CarrierOffset
from support_judging import (
    CHANNEL_37,
    EAST,
    FAR_CHANNEL,
    NEXT_CHANNEL,
    NO_NEGLECT,
    WEST,
    emission,
    judged,
    one_cell,
    random_network,
)


@pytest.mark.parametrize(
    ("angle_deg", "gain_db"),
    # ITU-R BT.419-3, Bands IV and V: 0/20/30/40/50/60/180 degrees.
    [(0, 0), (20, 0), (30, -4), (40, -8), (50, -12), (60, -16), (90, -16), (180, -16), (-40, -8)],
)
def test_directivity_between_two_stations(angle_deg, gain_db):
    other = (math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg)))
    corners = curve_corners()[curve_number(602.0)]
    found = aerial_gain_db(0.0, 5e3, 7e3 * other[0], 7e3 * other[1], False, corners)
    assert found == pytest.approx(gain_db, abs=1e-6)
    assert aerial_gain_db(0.0, 5e3, 7e3 * other[0], 7e3 * other[1], True, corners) == -16.0
    angle = off_axis_deg(0.0, 0.0, (0.0, 5e3), (7e3 * other[0], 7e3 * other[1]))
    assert float(angle) == pytest.approx(abs(angle_deg), abs=1e-9)


def test_at_the_foot_of_a_mast_nothing_is_discriminated():
    assert aerial_gain_db(0.0, 0.0, 1e3, 0.0, False, curve_corners()[curve_number(602.0)]) == 0.0
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


def pair_ratios(wanted, unwanted):
    """Return relation and ratios of two emissions."""
    found = pair_protection(wanted, unwanted)
    return found and (found.relation, found.tropospheric_db, found.continuous_db)


def test_protection_ratios_of_pairs():
    west = emission("West", required_cn_db=17.5)
    assert pair_ratios(west, emission("East")) == ("co-channel", 17.5, 17.5)
    assert pair_ratios(west, emission("East", channel=NEXT_CHANNEL)) == ("upper adjacent", -30.0, -30.0)
    assert pair_ratios(west, emission("East", channel=FAR_CHANNEL)) is None
    vision = Channel("analogue 625", 602.0, 8.0)
    offsets = [emission("N", channel=vision, carrier=CarrierOffset(each)) for each in (-4, 4)]
    # 8/12 of a line apart: 30 dB tropospheric, 40 dB continuous (BT.655-7, from memory).
    assert pair_ratios(*offsets) == ("co-channel", 30.0, 40.0)


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


@pytest.mark.parametrize(
    ("wanted_mhz", "gain_db"),
    # ITU-R BT.419-3, 60 degrees off the axis and behind it; Bands I and III from memory.
    [(62.25, (-3.0, -6.0)), (201.5, (-12.0, -12.0)), (602.0, (-16.0, -16.0))],
)
def test_the_aerial_is_that_of_the_wanted_emissions_band(wanted_mhz, gain_db):
    channel = Channel("DVB", wanted_mhz, 7.0)
    wanted = emission("North", 0.0, 10e3, channel=channel)
    for angle_deg, gain in zip((60.0, 180.0), gain_db, strict=True):
        turn = math.radians(angle_deg)
        other = emission("O", 9e3 * math.sin(turn), 9e3 * math.cos(turn), service="B", channel=channel)
        result = judged([wanted, other], one_cell(90.0, 60.0), Rules(50.0, "power sum", **NO_NEGLECT))
        assert result.usable_dbuv_m[0, 0] == pytest.approx(60.0 + 20.0 + gain, abs=0.06)


@pytest.mark.parametrize("polarization", ["horizontal", "vertical"])
def test_a_portable_aerial_holds_off_nothing(polarization):
    """Behind it a roof aerial has −16 dB, a portable one 0; wanted from the north, unwanted from the south.

    With σ 0 the place needs interferer plus ratio: 40 + 20 = 60 dB(µV/m), of 62 there are 2 dB to spare.
    """
    stations = [
        emission("North", y_m=10_000.0, sigma_db=0.0, minimum_dbuv_m=20.0, directional=False),
        emission("South", y_m=-10_000.0, sigma_db=0.0, minimum_dbuv_m=20.0, polarization=polarization),
    ]
    found = judge_emission(make_judges(stations), one_cell(62.0, 40.0), 0)
    assert found.margin_db[0, 0] == pytest.approx(2.0, abs=0.01)
    on_roof = judge_emission(
        make_judges([replace(stations[0], directional=True), stations[1]]), one_cell(62.0, 40.0), 0
    )
    assert on_roof.margin_db[0, 0] == pytest.approx(18.0, abs=0.03)


def test_without_interferers_noise_alone_decides():
    fields = one_cell(54.1, 90.0)
    result = judged([WEST, emission("East", 10e3, service="B", channel=FAR_CHANNEL)], fields)
    # BT.2033: 45 dB(µV/m) and 1.64 · 5.5 dB for 95 % of places make 54.02.
    assert result.usable_dbuv_m[0, 0] == pytest.approx(54.02, abs=1e-4)
    assert result.margin_db[0, 0] == result.noise_margin_db[0, 0] == pytest.approx(0.08, abs=1e-4)
    assert result.served[0, 0]
    assert result.share[0, 0] == result.noise_share[0, 0] == pytest.approx(norm.cdf(9.1 / 5.5), abs=1e-6)
    assert (result.unknown[0, 0], result.second[0, 0]) == (0, -1)


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
    unknown = judged(pair, one_cell(90.0, math.nan))
    assert (unknown.unknown[0, 0], unknown.served[0, 0]) == (1, True)
    silent = judged(pair, one_cell(90.0, -math.inf))
    assert silent.unknown[0, 0] == 0
    assert silent.margin_db[0, 0] == silent.noise_margin_db[0, 0]


def test_off_air():
    pair = [WEST, emission("East", -10e3, service="B")]
    both = judged(pair, one_cell(60.0, 60.0))
    alone = judged(pair, one_cell(60.0, 60.0), on_air=np.array([True, False]))
    gone = judged(pair, one_cell(60.0, 60.0), on_air=np.array([False, True]))
    assert not both.served[0, 0]
    assert both.noise_margin_db[0, 0] >= 0.0
    assert alone.served[0, 0]
    assert not gone.predicted[0, 0]


def test_scattered_places_are_judged_as_the_cells_of_a_grid_are():
    emissions, fields = random_network(np.random.default_rng(10))
    judges = make_judges(emissions, Rules(70.0))
    x_m, y_m = (each.ravel() for each in np.meshgrid(fields.x_m, fields.y_m))
    order = np.random.default_rng(2).permutation(x_m.size)
    layers = (each.reshape(len(emissions), -1)[:, order] for each in fields[2:])
    places = fields_at(x_m[order], y_m[order], *layers)
    off = np.arange(len(emissions)) != 4
    for wanted in (0, 3, 4):
        cells, scattered = (judge_emission(judges, each, wanted, off) for each in (fields, places))
        for of_cells, of_places in zip(cells, scattered, strict=True):
            np.testing.assert_array_equal(of_cells.ravel()[order], of_places.ravel())
        assert np.isnan(cells.margin_db).all() == (wanted == 4)


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
    judges = make_judges([WEST, EAST])
    with pytest.raises(RangeError, match="index of an emission is 7; allowed: 0 to 1"):
        judge_emission(judges, one_cell(60.0, 60.0), 7)
    with pytest.raises(RangeError, match="shapes of the places is"):
        judge_emission(judges, fields_at([0.0, 1.0], [0.0], np.zeros((2, 2)), np.zeros((2, 2))), 0)
