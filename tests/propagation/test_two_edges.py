"""Two knife edges without approximation, and the correction of a main edge, P.526-16 §4.3."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.propagation.p526 import (
    double_edge_loss_exact_db,
    fresnel_parameter,
    knife_edge_loss_exact_db,
)
from combe.propagation.p526.two_edges import main_edge_correction_db

gaps = st.floats(0.5, 40.0)
frequencies = st.floats(100.0, 2000.0)


@settings(max_examples=25, deadline=None)
@given(first=gaps, between=gaps, last=gaps, frequency_mhz=frequencies)
def test_grazing_edges_let_through_the_share_of_the_orthant(first, between, last, frequency_mhz):
    """Two normal variables with correlation √(ac/((a + b)(b + c))) are both positive with that chance."""
    correlation = math.sqrt(first * last / ((first + between) * (between + last)))
    share = 0.25 + math.asin(correlation) / (2.0 * math.pi)
    found = double_edge_loss_exact_db(first, between, last, 0.0, 0.0, frequency_mhz)
    assert found == pytest.approx(-20.0 * math.log10(share), abs=1e-9)


def test_equal_grazing_edges():
    # N equal spacings: 20 log(N + 1), here 9.542 dB for two edges.
    assert double_edge_loss_exact_db(7.0, 7.0, 7.0, 0.0, 0.0, 600.0) == pytest.approx(9.5424, abs=1e-4)


@settings(max_examples=25, deadline=None)
@given(
    first=gaps,
    between=gaps,
    last=gaps,
    first_nu=st.floats(-1.0, 6.0),
    second_nu=st.floats(-1.0, 6.0),
    frequency_mhz=frequencies,
)
def test_the_way_back_costs_the_same(first, between, last, first_nu, second_nu, frequency_mhz):
    h1 = first_nu / fresnel_parameter(1.0, first, between + last, frequency_mhz)
    h2 = second_nu / fresnel_parameter(1.0, first + between, last, frequency_mhz)
    there = double_edge_loss_exact_db(first, between, last, h1, h2, frequency_mhz)
    back = double_edge_loss_exact_db(last, between, first, h2, h1, frequency_mhz)
    assert there == pytest.approx(back, abs=1e-6)


def test_an_edge_deep_below_the_ray_leaves_the_single_edge():
    found = double_edge_loss_exact_db(10.0, 5.0, 15.0, 60.0, -2000.0, 600.0)
    single = knife_edge_loss_exact_db(fresnel_parameter(60.0, 10.0, 20.0, 600.0))
    assert found == pytest.approx(single, abs=0.002)


def test_edges_at_one_place_are_the_higher_one():
    found = double_edge_loss_exact_db(10.0, 1e-9, 20.0, 40.0, 60.0, 600.0)
    single = knife_edge_loss_exact_db(fresnel_parameter(60.0, 10.0, 20.0, 600.0))
    assert found == pytest.approx(single, abs=1e-3)


def test_the_correction_of_a_main_edge():
    # P.526-16 §4.3: Tc of equal edges with three equal spacings is 12 − 20 log 3.
    assert main_edge_correction_db(4.0, 4.0, 4.0, 2.0, 2.0) == pytest.approx(12.0 - 20.0 * math.log10(3.0))
    assert main_edge_correction_db(4.0, 4.0, 4.0, 2.0, -1.0) == 0.0


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((0.0, 1.0, 1.0, 5.0, 5.0, 600.0), "first_km is 0.0; allowed: above 0 km"),
        ((1.0, -1.0, 1.0, 5.0, 5.0, 600.0), "between_km is -1.0"),
        ((1.0, 1.0, math.inf, 5.0, 5.0, 600.0), "last_km is inf"),
        ((1.0, 1.0, 1.0, 5.0, 5.0, 0.0), "frequency_mhz is 0.0"),
        ((1.0, 1.0, 1.0, -900.0, -900.0, 600.0), "heights over the line is -900 m and -900 m; allowed"),
    ],
)
def test_refusals(values, words):
    with pytest.raises(RangeError, match=words):
        double_edge_loss_exact_db(*values)
