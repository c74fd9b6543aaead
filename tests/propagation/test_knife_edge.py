"""The single knife edge against P.526-16 §4.1 and the Fresnel integrals."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.propagation.p526 import (
    fresnel_parameter,
    fresnel_radius_m,
    knife_edge_loss_db,
    knife_edge_loss_exact_db,
    wavelength_m,
)

# Losses over ν are cases of evidence (combe.evidence.p526), which tests/evidence runs.


def test_approximation_error_band():
    # On −0.78 … 10 the approximation is within +0.103 and −0.123 dB of the exact form (computed).
    error = [knife_edge_loss_db(nu) - knife_edge_loss_exact_db(nu) for nu in np.arange(-0.78, 10.0, 0.005)]
    assert max(error) == pytest.approx(0.103, abs=0.002)
    assert min(error) == pytest.approx(-0.123, abs=0.002)


def test_asymptote():
    # Large ν: the exact form tends to 20 log(π √2 ν) = 12.95 + 20 log ν (P.526).
    assert knife_edge_loss_exact_db(100.0) == pytest.approx(52.95, abs=0.01)
    assert knife_edge_loss_db(100.0) == pytest.approx(52.95, abs=0.05)


def test_sixty_percent_clearance_costs_nothing():
    # ν = −0.6 √2 (P.526-16 §2.1 and §4.1).
    assert knife_edge_loss_db(-0.6 * 2**0.5) == 0.0


@pytest.mark.parametrize(
    ("height_m", "d1_km", "d2_km", "frequency_mhz", "nu", "approximate_db", "exact_db", "radius_m"),
    [
        # P.526-16 eq. (26), (31) and §2.1; computed.
        (50.0, 10.0, 10.0, 600.0, 1.4147, 16.345, 16.327, 49.98),
        (100.0, 5.0, 15.0, 600.0, 3.2671, 23.143, 23.255, 43.29),
        (30.0, 2.0, 28.0, 500.0, 1.2682, 15.546, 15.511, None),
        (-20.0, 10.0, 10.0, 800.0, -0.6534, 0.856, 0.767, None),
    ],
)
def test_geometry(height_m, d1_km, d2_km, frequency_mhz, nu, approximate_db, exact_db, radius_m):
    found = fresnel_parameter(height_m, d1_km, d2_km, frequency_mhz)
    assert found == pytest.approx(nu, abs=1e-4)
    assert knife_edge_loss_db(found) == pytest.approx(approximate_db, abs=0.001)
    assert knife_edge_loss_exact_db(found) == pytest.approx(exact_db, abs=0.001)
    if radius_m:
        assert fresnel_radius_m(d1_km, d2_km, frequency_mhz) == pytest.approx(radius_m, abs=0.01)
        # ν = √2 h/R1 (P.526-16 §4.1).
        assert found == pytest.approx(2**0.5 * height_m / fresnel_radius_m(d1_km, d2_km, frequency_mhz))


def test_fresnel_radius_practical_form():
    # P.526-16 §2.1: Rn = 550 √(n d1 d2 / ((d1 + d2) f)).
    found = fresnel_radius_m([4.0, 0.0], [6.0, 10.0], 700.0, zone=3)
    assert found[0] == pytest.approx(550.0 * (3 * 24 / (10 * 700.0)) ** 0.5, rel=0.005)
    assert found[1] == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: fresnel_parameter(1.0, 0.0, 1.0, 600.0),
        lambda: fresnel_parameter(1.0, 1.0, 1.0, 0.0),
        lambda: fresnel_radius_m(-1.0, 2.0, 600.0),
        lambda: fresnel_radius_m(1.0, 2.0, 600.0, zone=0),
        lambda: wavelength_m(-5.0),
    ],
)
def test_refusals(call):
    with pytest.raises(RangeError, match="allowed"):
        call()
