"""Ducting and layer reflection of P.2001-4: Attachment D."""

from __future__ import annotations

import math

import pytest

from support_p2001 import hill, plain


def test_ducts_have_no_rare_fade() -> None:
    """50/q: some 5000 dB at 99.99 %, next to nothing for half of the time."""
    rare, half = plain(time_percent=99.99), plain(time_percent=50.0)
    assert rare.duct_time_db - 50.0 / rare.exceeded_percent < 200.0
    assert rare.duct_time_db > 4990.0
    assert half.duct_time_db < 100.0


def test_the_parts_of_ducting() -> None:
    found = plain(150.0, height_m=0.0, time_percent=1.0)
    assert found.duct_loss_db == found.duct_coupling_db + found.duct_angle_db + found.duct_time_db
    assert found.anomalous_db == found.duct_loss_db + found.gas_loss_db
    bend = 1000.0 * 150.0 / found.median_radius_km + found.tx_horizon_mrad + found.rx_horizon_mrad
    assert found.duct_angle_db == pytest.approx(5e-5 * found.median_radius_km * 0.6 ** (1.0 / 3.0) * bend)
    horizons_km = found.tx_horizon_km + found.rx_horizon_km
    assert found.duct_coupling_db == pytest.approx(102.45 + 20.0 * math.log10(0.6 * horizons_km))


def test_a_clear_path_has_no_angle_to_pay_for() -> None:
    assert plain(time_percent=1.0).duct_angle_db == pytest.approx(0.0, abs=1e-9)


def test_hills_shield_from_ducts() -> None:
    """Ast and Asr of (D.3.3), of what the horizons rise over 0.1 mrad a kilometre."""
    found = hill(time_percent=1.0)
    expected = 102.45 + 20.0 * math.log10(0.6 * 30.0)
    for mrad, km in (
        (found.tx_horizon_mrad - 1.2, found.tx_horizon_km),
        (found.rx_horizon_mrad - 1.8, found.rx_horizon_km),
    ):
        expected += 20.0 * math.log10(1.0 + 0.361 * mrad * math.sqrt(0.6 * km)) + 0.264 * mrad * math.cbrt(
            0.6
        )
    assert found.duct_coupling_db == pytest.approx(expected)


def test_rough_ground_breaks_ducts() -> None:
    """μ3 of 300 m: exp(−4.6e-5 · 290 · 43), the horizons being one hill."""
    rough, even = hill(), plain(height_m=0.0)
    assert rough.ducting_incidence_percent == even.ducting_incidence_percent
    assert rough.roughness_m == pytest.approx(300.0)
    ratio = rough.duct_time_percent / rough.ducting_incidence_percent
    assert ratio == pytest.approx(math.exp(-4.6e-5 * 290.0 * 43.0))


def test_long_paths_have_ducts_less_often() -> None:
    """μ2 of 150 km between aerials of 60 and 10 m: below 1, by its exponent."""
    found = plain(150.0, height_m=0.0, zone=1)
    spread = 500.0 * 150.0**2 / (found.median_radius_km * (math.sqrt(60.0) + math.sqrt(10.0)) ** 2)
    assert spread > 1.0
    assert found.duct_time_percent == pytest.approx(found.ducting_incidence_percent * spread**-0.6)


def test_long_waves_over_the_sea_couple_otherwise() -> None:
    """Alf of (D.5.2) under 500 MHz, and the coast's gain for an aerial beside the sea."""
    sea, inland = (
        plain(60.0, zone=zone, height_m=0.0, frequency_mhz=200.0, time_percent=1.0) for zone in (1, 4)
    )
    low = 45.375 - 137.0 * 0.2 + 92.5 * 0.04
    coast = sum(-3.0 * (1.0 + math.tanh(0.07 * (50.0 - height))) for height in (60.0, 10.0))
    assert sea.duct_coupling_db - inland.duct_coupling_db == pytest.approx(low + coast)
    assert plain(60.0, zone=1, height_m=0.0).duct_coupling_db == pytest.approx(
        plain(60.0, height_m=0.0).duct_coupling_db + coast
    )
