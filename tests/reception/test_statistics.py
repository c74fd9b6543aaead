"""Statistics of place."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.propagation.p1812 import location_sigma_db
from combe.reception.statistics import (
    coverage_chance,
    location_probability,
    required_median_dbuv_m,
    required_medians_dbuv_m,
)
from combe.standards.location import location_deviation


@pytest.mark.parametrize(
    ("percent", "factor"),
    # GE06 and BT.2033: μ printed as 0.52, 1.64, 2.33 for 70, 95 and 99 % of places.
    [(50.0, 0.0), (70.0, 0.52), (95.0, 1.64), (99.0, 2.33)],
)
def test_medians_for_shares_of_places(percent, factor):
    assert required_median_dbuv_m(50.0, percent, 5.5) == pytest.approx(50.0 + factor * 5.5, abs=1e-9)
    assert required_medians_dbuv_m(50.0, 5.5)[percent] == required_median_dbuv_m(50.0, percent, 5.5)


@pytest.mark.parametrize(
    ("percent", "z"),
    # Quantiles of the normal distribution: 0.5244, 1.2816, 1.6449, 2.3263 (computed).
    [(70.0, 0.5244), (90.0, 1.2816), (95.0, 1.6449), (99.0, 2.3263)],
)
def test_share_of_places_is_the_normal_distribution(percent, z):
    share = location_probability(np.array([50.0 + z * 5.5]), 50.0, 5.5)
    assert share == pytest.approx(percent / 100.0, abs=1e-5)


def test_shares_over_an_area_with_gaps():
    field = np.array([[50.0, np.nan], [40.0, 200.0]], dtype=np.float32)
    share = location_probability(field, 50.0, 5.5)
    assert share.shape == (2, 2)
    assert share[0, 0] == 0.5
    assert math.isnan(share[0, 1])
    assert share[1, 1] == 1.0


def test_without_scatter_a_place_is_served_or_not():
    share = location_probability(np.array([49.9, 50.0, np.nan]), 50.0, np.array([0.0, 0.0, 0.0]))
    assert share[:2].tolist() == [0.0, 1.0]
    assert math.isnan(share[2])


def test_deviation_by_cell_size():
    # ITU-R P.1812-8 §4.7: 0.6 GHz, side 100 m, 1.940 dB.
    share = location_probability(51.940, 50.0, location_sigma_db(600.0, 100.0))
    assert share == pytest.approx(0.8413, abs=1e-3)


@given(st.floats(0.0, 120.0), st.floats(0.0, 120.0))
def test_more_field_never_serves_fewer(one, other):
    weak, strong = sorted((one, other))
    assert location_probability(weak, 60.0, 5.5) <= location_probability(strong, 60.0, 5.5)


@pytest.mark.parametrize(("correlation", "share"), [(0.0, 0.7398), (0.5, 0.8183)])
def test_chance_against_an_interferer(correlation, share):
    # Computed: wanted 65, interferer 40 dB(µV/m), protection ratio 20 dB, σ 5.5 dB each.
    found = coverage_chance(
        65.0, 40.0, 20.0, wanted_sigma_db=5.5, interferer_sigma_db=5.5, correlation=correlation
    )
    assert found == pytest.approx(share, abs=5e-5)


def test_fields_that_move_together_make_a_step():
    found = coverage_chance(
        np.array([61.0, 59.0, np.nan]),
        40.0,
        20.0,
        wanted_sigma_db=5.5,
        interferer_sigma_db=5.5,
        correlation=1.0,
    )
    assert found[:2].tolist() == [1.0, 0.0]
    assert math.isnan(found[2])


def test_95_percent_against_an_interferer():
    # σ√2 = 7.78 dB: 95 % of places ask 12.79 dB over the protection ratio (computed).
    found = coverage_chance(72.79, 40.0, 20.0, wanted_sigma_db=5.5, interferer_sigma_db=5.5)
    assert found == pytest.approx(0.95, abs=1e-4)


@pytest.mark.parametrize(
    ("kind", "frequency_mhz", "sigma_db", "confidence"),
    # Digital 5.5 dB (GE06); analogue 8.3 and 9.5 dB from memory of ITU-R P.1546.
    [
        ("digital", 600.0, 5.5, "read"),
        ("digital", 200.0, 5.5, "read"),
        ("analogue", 200.0, 8.3, "from memory"),
        ("analogue", 600.0, 9.5, "from memory"),
    ],
)
def test_deviations_of_planning(kind, frequency_mhz, sigma_db, confidence):
    found = location_deviation(kind, frequency_mhz)
    assert (found.value, found.confidence) == (sigma_db, confidence)


def test_refusals():
    with pytest.raises(RangeError, match=r"sigma_db is -1\.0; allowed: 0 to below 100 dB"):
        location_probability(50.0, 50.0, -1.0)
    with pytest.raises(RangeError, match="sigma_db is nan"):
        required_median_dbuv_m(50.0, 95.0, math.nan)
    with pytest.raises(RangeError, match="location_percent is 100"):
        required_median_dbuv_m(50.0, 100.0, 5.5)
    with pytest.raises(RangeError, match=r"correlation is 1\.5; allowed: 0 to 1"):
        coverage_chance(1.0, 1.0, 1.0, wanted_sigma_db=5.5, interferer_sigma_db=5.5, correlation=1.5)
    with pytest.raises(RangeError, match=r"interferer_sigma_db is -5\.5"):
        coverage_chance(1.0, 1.0, 1.0, wanted_sigma_db=5.5, interferer_sigma_db=-5.5)
    with pytest.raises(RangeError, match="kind of service is 'radar'; allowed: digital or analogue"):
        location_deviation("radar", 600.0)
    with pytest.raises(RangeError, match="frequency_mhz is 10"):
        location_deviation("digital", 10.0)
