"""The depths by P.530's quick method that stand as evidence are what its formulas give."""

import math

import pytest

from combe.evidence import p530_fades
from combe.propagation.p2001 import TYPICAL_CLIMATES


def month_percent(distance_km, frequency_ghz, tx_m, rx_m, gradient, depth_db):
    """Share of the worst month for which a fade is exceeded, by the quick method."""
    slope = abs(tx_m - rx_m) / distance_km
    return (
        10.0 ** (-4.6 - 0.0027 * gradient)
        * distance_km**3.1
        * (1.0 + slope) ** -1.29
        * frequency_ghz**0.8
        * 10.0 ** (-0.00089 * min(tx_m, rx_m) - depth_db / 10.0)
    )


def year_db(distance_km, tx_m, rx_m, latitude_deg):
    """ΔG, from the worst month to the average year, beyond 45 degrees of latitude."""
    slope, bend = abs(tx_m - rx_m) / distance_km, abs(math.cos(math.radians(2.0 * latitude_deg))) ** 0.7
    logarithms = -5.6 * math.log10(1.1 - bend) - 2.7 * math.log10(distance_km) + 1.7 * math.log10(1.0 + slope)
    return min(10.8, 10.5 + logarithms)


def test_the_formulas_give_a_path_that_was_worked_apart():
    assert month_percent(50.0, 0.6, 400.0, 350.0, -200.0, 20.0) == pytest.approx(0.02135, rel=1e-3)
    assert year_db(50.0, 400.0, 350.0, 50.0) == pytest.approx(6.948, abs=1e-3)


@pytest.mark.parametrize(("climate", "km", "percent", "depth_db"), p530_fades.DEPTHS)
def test_a_depth_is_that_of_the_formulas(climate, km, percent, depth_db):
    gradient = TYPICAL_CLIMATES[climate].dn_65m_1_percent
    year = month_percent(km, 0.6, 250.0, 130.0, gradient, depth_db) * 10.0 ** (
        -year_db(km, 250.0, 130.0, 50.0) / 10.0
    )
    assert 10.0 * math.log10(year / (100.0 - percent)) == pytest.approx(0.0, abs=0.006)


def test_all_deep_fades_lie_as_near_as_is_said():
    for case in p530_fades.cases():
        assert case.compute() == pytest.approx(case.expected, abs=p530_fades.TOLERANCE_DB)
