"""Gases of P.2001-4: Attachment F."""

from __future__ import annotations

import math

import pytest

from combe.propagation.p2001.gases import (
    both_legs,
    density_in_rain_g_m3,
    oxygen_db_km,
    scatter_leg_gases,
    surface_path_gases,
    total_db,
    vapour_db_km,
)


def test_gases_along_the_ground() -> None:
    """γ at sea level, and the air thinner with height: 5 km for oxygen, 2 km for vapour."""
    low, high = (surface_path_gases(0.6, 30.0, 8.0, 0.0, mean_m) for mean_m in (0.0, 1000.0))
    assert low.oxygen_db == pytest.approx(30.0 * oxygen_db_km(0.6))
    assert low.vapour_db == pytest.approx(30.0 * vapour_db_km(0.6, 8.0, 0.0))
    assert high.oxygen_db == pytest.approx(low.oxygen_db * math.exp(-0.2))
    assert high.vapour_db == pytest.approx(low.vapour_db * math.exp(-0.5))
    assert total_db(low) == low.oxygen_db + low.vapour_db


def test_gases_at_thirty_gigahertz() -> None:
    """Worked by hand of (F.6.1) and (F.6.2), at 8 g/m³."""
    assert oxygen_db_km(30.0) == pytest.approx(0.0208950, abs=1e-7)
    assert vapour_db_km(30.0, 8.0, 0.0) == pytest.approx(0.0862332, abs=1e-7)


def test_vapour_of_the_trade() -> None:
    """The line at 22.235 GHz: some 0.2 dB/km at 7.5 g/m³ (ITU-R P.676, from memory), and little at UHF."""
    assert 0.15 < vapour_db_km(22.235, 7.5, 0.0) < 0.22
    assert vapour_db_km(0.9, 25.0, 0.0) < 2.8e-4
    assert vapour_db_km(22.235, 7.5, 0.0) > 2.0 * vapour_db_km(30.0, 7.5, 0.0)
    assert vapour_db_km(10.0, 5.0, 2000.0) == vapour_db_km(10.0, 5.0 * math.e, 0.0)


def test_air_is_wetter_in_rain_up_in_the_hills_too() -> None:
    assert density_in_rain_g_m3(8.0, 0.0) == 8.4
    near, far = density_in_rain_g_m3(8.0, 2600.0), density_in_rain_g_m3(8.0, 2600.1)
    assert near == pytest.approx(far, abs=0.01)
    assert density_in_rain_g_m3(8.0, 2640.0) == pytest.approx(8.0 + 5.0 * math.exp(-2640.0 / 1800.0))


def test_a_leg_of_scatter_is_longer_in_thick_air_the_flatter_it_rises() -> None:
    flat_leg, steep_leg = (scatter_leg_gases(12.0, 300.0, 8.0, 0.0, rise) for rise in (0.0, 0.5))
    assert flat_leg.oxygen_db > 5.0 * steep_leg.oxygen_db
    # In the level: 5/(0.35 √0.00304) km of oxygen at most, all but all of it within 300 km.
    whole_km = 5.0 / (0.35 * math.sqrt(0.00304))
    assert flat_leg.oxygen_db == pytest.approx(
        oxygen_db_km(12.0) * whole_km * (1.0 - math.exp(-300.0 / whole_km))
    )
    none = scatter_leg_gases(12.0, 0.0, 8.0, 0.0, 0.0)
    assert total_db(none) == 0.0
    both = both_legs(flat_leg, steep_leg)
    assert total_db(both) == pytest.approx(total_db(flat_leg) + total_db(steep_leg))
    wet = flat_leg.vapour_in_rain_db + steep_leg.vapour_in_rain_db
    assert both.vapour_in_rain_db == pytest.approx(wet)
