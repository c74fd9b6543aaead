"""Ducting, troposcatter, sporadic E, gases and the joining of P.2001-4: Attachments D to G and section 5."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from combe.propagation.p2001 import predict_path
from combe.propagation.p2001.combination import joined_db, surface_db
from combe.propagation.p2001.conditions import make_conditions
from combe.propagation.p2001.gases import (
    density_in_rain_g_m3,
    oxygen_db_km,
    scatter_leg_gases,
    surface_path_gases,
    vapour_db_km,
)
from combe.propagation.p2001.sporadic_e import foes_mhz
from combe.propagation.p2001.troposcatter import y90_db
from support_p2001 import ASKED, HUMID, TEMPERATE, hill, plain


def test_losses_of_one_air_add_as_powers_and_others_more_gently() -> None:
    assert surface_db(120.0, 120.0) == pytest.approx(120.0 - 10.0 * math.log10(2.0))
    assert joined_db(120.0, 120.0, 120.0) == pytest.approx(120.0 - 5.0 * math.log10(3.0))
    assert surface_db(120.0, 130.0) == pytest.approx(120.0 - 10.0 * math.log10(1.1))
    assert joined_db(120.0, 130.0, 9e6) == pytest.approx(120.0 - 5.0 * math.log10(1.01))
    assert joined_db(5000.0, 8000.0, 9e6) == 5000.0
    assert joined_db(9e6, 8000.0, 5000.0) == 5000.0


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


@pytest.mark.parametrize(("zone", "near", "far"), [(1, 100.0, 1000.0), (3, 100.0, 465.0), (4, 100.0, 550.0)])
def test_the_changes_of_scatter_with_time_hardly_jump_where_their_pieces_meet(
    zone: int, near: float, far: float
) -> None:
    for distance_km in (near, far):
        ends = [y90_db(zone, 0.6, 1.0, distance_km + off) for off in (-1e-6, 1e-6)]
        assert ends[0] == pytest.approx(ends[1], abs=0.05)
    assert y90_db(zone, 0.6, 1.0, 50.0) == y90_db(zone, 0.6, 1.0, 10.0)


@pytest.mark.parametrize("zone", range(7))
def test_scatter_varies_with_time_in_every_zone(zone: int) -> None:
    """Losses of scatter are lowest for little of the time, and half of the time has no change."""
    losses = [
        plain(
            300.0, time_percent=percent, climate=replace(TEMPERATE, troposcatter_climate=zone)
        ).scatter_loss_db
        for percent in (1.0, 10.0, 50.0, 90.0, 99.0)
    ]
    assert losses == sorted(losses)
    steps = np.diff(losses)
    assert steps[1] == pytest.approx(steps[2], rel=0.3)
    assert 2.0 < steps[2] < 13.0


def test_scatter_in_the_middle_of_the_time() -> None:
    """Worked by (E.1) to (E.16) for 300 km in zone 5."""
    found = plain(300.0, time_percent=50.0)
    angle = 1000.0 * 300.0 / found.median_radius_km + found.tx_horizon_mrad + found.rx_horizon_mrad
    assert found.scatter_angle_mrad == pytest.approx(angle)
    height_km = 0.125e-6 * angle**2 * found.median_radius_km
    layer = 20.0 * math.log10(5.0 + 0.27 * 0.25e-3 * angle * 300.0) + 4.34 * 0.27 * height_km
    far = max(
        10.0 * math.log10(300.0) + 30.0 * math.log10(angle) + layer,
        20.0 * math.log10(300.0) + 0.573 * angle + 20.0,
    )
    by_frequency = 25.0 * math.log10(0.6) - 2.5 * math.log10(0.3) ** 2
    assert found.scatter_loss_db == pytest.approx(119.73 + by_frequency + far + 0.07)


def test_scatter_is_never_below_free_space() -> None:
    short = plain(3.0, frequency_mhz=30.0, climate=replace(TEMPERATE, troposcatter_climate=3))
    assert short.scatter_loss_db >= short.free_space_loss_db
    clear = [plain(km, time_percent=1e-5, frequency_mhz=50_000.0) for km in (3.0, 10.0)]
    assert all(each.scatter_loss_db >= each.free_space_loss_db for each in clear)


@pytest.mark.parametrize(
    ("percent", "expected"), [(0.1, 7.5), (1.0, 5.5), (10.0, 3.6), (50.0, 2.2), (0.01, 9.5), (5.0, 4.172)]
)
def test_the_sporadic_layer_by_the_maps_and_beyond_them(percent: float, expected: float) -> None:
    assert foes_mhz(TEMPERATE, percent) == pytest.approx(expected, abs=1e-3)


def test_a_layer_that_comes_to_nothing_reflects_nothing() -> None:
    steep = replace(TEMPERATE, foes_10_mhz=1.0, foes_50_mhz=0.01)
    nought = 10.0 ** (1.0 + math.log10(5.0) / 0.99)
    assert foes_mhz(steep, nought) == 1e-3
    assert plain(climate=steep, time_percent=nought).sporadic_e_db > 1e9


@pytest.mark.parametrize(("km", "hops"), [(1200.0, 1), (2800.0, 2)])
def test_long_waves_come_far_by_way_of_the_layer(km: float, hops: int) -> None:
    """30 MHz: one hop up to some 1700 km, two up to some 3300, and the path has less loss by it."""
    found = plain(km, height_m=0.0, zone=1, frequency_mhz=30.0, time_percent=0.1, climate=HUMID)
    hop, other = (found.one_hop_db, found.two_hops_db)[:: 1 if hops == 1 else -1]
    assert hop < other
    assert found.sporadic_e_db <= hop
    assert found.basic_transmission_loss_db < found.surface_db - 0.5
    assert found.basic_transmission_loss_db == pytest.approx(
        joined_db(found.surface_db, found.troposcatter_db, found.sporadic_e_db)
    )
    lost = 40.0 / (1.0 + km / hops / 130.0 + (km / hops / 250.0) ** 2) + 0.2 * (km / hops / 2600.0) ** 2
    ionospheric = lost * (30.0 / found.foes_mhz) ** 2
    ionospheric += math.exp((km - (1660.0 if hops == 1 else 3220.0)) / (280.0 * hops))
    shielded = hop - ionospheric - 92.4 - 20.0 * math.log10(0.03 * km)
    assert 0.0 < shielded < 30.0, "a slant a little longer than the path, and horizons that hardly shield"


def test_two_ways_of_like_loss_add_as_powers() -> None:
    found = plain(1700.0, height_m=0.0, zone=1, frequency_mhz=30.0, time_percent=0.1, climate=HUMID)
    powers = 10.0 ** (-0.1 * found.one_hop_db) + 10.0 ** (-0.1 * found.two_hops_db)
    assert abs(found.one_hop_db - found.two_hops_db) < 20.0
    assert found.sporadic_e_db == pytest.approx(-10.0 * math.log10(powers))


def test_losses_beyond_all_powers_are_joined_too() -> None:
    """Both ways at 3e6 dB: the least of them, or 3 dB less where they are alike."""
    found = plain(frequency_mhz=5000.0)
    assert 1e5 < found.sporadic_e_db <= min(found.one_hop_db, found.two_hops_db)


def test_upright_cliffs_do_not_end_the_prediction() -> None:
    distance = np.linspace(0.0, 1.0, 11)
    height = np.where(distance == 0.1, 600.0, 0.0)
    found = predict_path(distance, height, 4, **ASKED)
    assert found.tx_horizon_mrad > 1571.0
    assert math.isfinite(found.sporadic_e_db)
    assert math.isfinite(found.basic_transmission_loss_db)


def test_gases_along_the_ground() -> None:
    """γ at sea level, and the air thinner with height: 5 km for oxygen, 2 km for vapour."""
    low, high = (surface_path_gases(0.6, 30.0, 8.0, 0.0, mean_m) for mean_m in (0.0, 1000.0))
    assert low.oxygen_db == pytest.approx(30.0 * oxygen_db_km(0.6))
    assert low.vapour_db == pytest.approx(30.0 * vapour_db_km(0.6, 8.0, 0.0))
    assert high.oxygen_db == pytest.approx(low.oxygen_db * math.exp(-0.2))
    assert high.vapour_db == pytest.approx(low.vapour_db * math.exp(-0.5))
    assert low.total_db == low.oxygen_db + low.vapour_db


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


def test_a_leg_of_scatter_is_longer_in_thick_air_the_flatter_it_rises() -> None:
    flat_leg, steep_leg = (scatter_leg_gases(12.0, 300.0, 8.0, 0.0, rise) for rise in (0.0, 0.5))
    assert flat_leg.oxygen_db > 5.0 * steep_leg.oxygen_db
    # In the level: 5/(0.35 √0.00304) km of oxygen at most, all but all of it within 300 km.
    whole_km = 5.0 / (0.35 * math.sqrt(0.00304))
    assert flat_leg.oxygen_db == pytest.approx(
        oxygen_db_km(12.0) * whole_km * (1.0 - math.exp(-300.0 / whole_km))
    )
    none = scatter_leg_gases(12.0, 0.0, 8.0, 0.0, 0.0)
    assert none.total_db == 0.0
    both = flat_leg.plus(steep_leg)
    assert both.total_db == pytest.approx(flat_leg.total_db + steep_leg.total_db)


def test_conditions_of_vertical_waves() -> None:
    assert make_conditions(TEMPERATE, frequency_mhz=299.8, time_percent=50.0, vertical=True).vertical
    assert make_conditions(TEMPERATE, frequency_mhz=299.8, time_percent=50.0).wavelength_m == pytest.approx(
        1.0
    )
