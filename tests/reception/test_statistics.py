"""Statistics of place."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.evidence.place_statistics import DEVIATIONS, MEDIANS
from combe.propagation.p1812 import location_sigma_db
from combe.reception.service import (
    coverage_chance,
    location_probability,
    required_median_dbuv_m,
    required_medians_dbuv_m,
)
from combe.reception.summation import draw_fields
from combe.standards.planning_fields import location_deviation

# Quantiles, medians for shares of places, deviations, and chances against one interferer, correlated or not,
# are cases of evidence (combe.evidence.place_statistics), which tests/evidence runs.


@pytest.mark.parametrize(("percent", "factor"), MEDIANS)
def test_medians_of_all_printed_shares(percent, factor):
    assert required_medians_dbuv_m(50.0, 5.5)[percent] == pytest.approx(50.0 + factor * 5.5, abs=1e-9)


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


@pytest.mark.parametrize("correlation", [0.0, 0.3, 0.5, 0.9])
def test_chance_against_an_interferer_by_drawing_places(correlation):
    """Not by the formula: wanted and interfering field drawn at random, and the places counted."""
    wanted, unwanted = draw_fields(np.array([65.0, 40.0]), np.array([5.5, 8.0]), correlation=correlation)
    found = coverage_chance(
        65.0, 40.0, 20.0, wanted_sigma_db=5.5, interferer_sigma_db=8.0, correlation=correlation
    )
    assert found == pytest.approx(np.mean(wanted >= unwanted + 20.0), abs=0.005)


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


@pytest.mark.parametrize(("kind", "mhz", "sigma_db", "source", "was_read"), DEVIATIONS)
def test_deviations_say_how_they_are_known(kind, mhz, sigma_db, source, was_read):
    found = location_deviation(kind, mhz)
    assert (found.value, found.confidence == "read") == (sigma_db, was_read)
    assert source


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
