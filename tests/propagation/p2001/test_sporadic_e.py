"""Sporadic E of P.2001-4, and how all ways are joined: Attachment G and section 5."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from combe.propagation.p526 import knife_edge_loss_db
from combe.propagation.p2001 import predict_path
from combe.propagation.p2001.combination import joined_db, surface_db
from combe.propagation.p2001.conditions import make_conditions
from combe.propagation.p2001.sporadic_e import foes_mhz, joined_hops_db
from support_p2001 import ASKED, HUMID, TEMPERATE, plain


def test_losses_of_one_air_add_as_powers_and_others_more_gently() -> None:
    assert surface_db(120.0, 120.0) == pytest.approx(120.0 - 10.0 * math.log10(2.0))
    assert joined_db(120.0, 120.0, 120.0) == pytest.approx(120.0 - 5.0 * math.log10(3.0))
    assert surface_db(120.0, 130.0) == pytest.approx(120.0 - 10.0 * math.log10(1.1))
    assert joined_db(120.0, 130.0, 9e6) == pytest.approx(120.0 - 5.0 * math.log10(1.01))
    assert joined_db(5000.0, 8000.0, 9e6) == 5000.0
    assert joined_db(9e6, 8000.0, 5000.0) == 5000.0


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


def test_a_way_that_is_twenty_decibels_better_stands_alone() -> None:
    assert joined_hops_db(100.0, 120.1) == joined_hops_db(120.1, 100.0) == 100.0
    assert joined_hops_db(100.0, 119.9) == pytest.approx(100.0 - 10.0 * math.log10(1.0 + 10.0**-1.99))


@pytest.mark.parametrize(
    ("km", "hops", "longest_km"),
    [(30.0, 1, 1660.0), (1500.0, 1, 1660.0), (30.0, 2, 3220.0), (2000.0, 2, 3220.0)],
)
def test_hops_over_hills(km: float, hops: int, longest_km: float) -> None:
    """The ray's rise is worked out from the two places, and each horizon's J(ν) by (G.2.5) to (G.2.7)."""
    steep = {"frequency_mhz": 100.0, "time_percent": 1.0, "tx_height_m": 5.0, "rx_height_m": 5.0}
    distance = np.concatenate(([0.0], np.linspace(2.0, km - 2.0, 61), [km]))
    height = np.where((distance > 0.0) & (distance < km), 1000.0, 0.0)
    found = predict_path(distance, height, 4, **(ASKED | steep))
    half, radius_km = km / hops / (2.0 * found.median_radius_km), found.median_radius_km
    across_km = (radius_km + 120.0) * math.sin(half)
    up_km = (radius_km + 120.0) * math.cos(half) - radius_km
    expected = 92.4 + 20.0 * math.log10(0.1 * 2.0 * hops * math.hypot(across_km, up_km))
    near = 40.0 / (1.0 + km / hops / 130.0 + (km / hops / 250.0) ** 2) + 0.2 * (km / hops / 2600.0) ** 2
    expected += near * (100.0 / found.foes_mhz) ** 2 + math.exp((km - longest_km) / (280.0 * hops))
    shielding = []
    for mrad, horizon_km in (
        (found.tx_horizon_mrad, found.tx_horizon_km),
        (found.rx_horizon_mrad, found.rx_horizon_km),
    ):
        over = 0.001 * mrad - math.atan2(up_km, across_km)
        nu = 3.651 * math.sqrt(100.0 * horizon_km * (1.0 - math.cos(over)) / math.cos(0.001 * mrad))
        shielding.append(knife_edge_loss_db(math.copysign(nu, over)))
    loss = (found.one_hop_db, found.two_hops_db)[hops - 1]
    assert loss == pytest.approx(expected + sum(shielding), rel=1e-6)
    assert (min(shielding) > 10.0) == (km > 1000.0), "the hills hide a flat ray and let a steep one pass"


def test_losses_beyond_all_powers_are_joined_too() -> None:
    """Both ways at 3e6 dB: the least of them, or 3 dB less where they are alike."""
    found = plain(frequency_mhz=5000.0)
    assert 1e5 < found.sporadic_e_db <= min(found.one_hop_db, found.two_hops_db)


def test_cliffs_steeper_than_upright_shield_nothing() -> None:
    """Walls of 300 m, 100 m from both ends, whose slopes as angles are beyond a right one."""
    distance = np.linspace(0.0, 1.0, 11)
    height = np.where((distance == 0.1) | (distance == 0.9), 300.0, 0.0)
    found = predict_path(distance, height, 4, **ASKED)
    assert min(found.tx_horizon_mrad, found.rx_horizon_mrad) > 1571.0
    up_and_down = 92.4 + 20.0 * math.log10(0.6 * 2.0 * 120.0)
    reflection = 40.0 / (1.0 + 1.0 / 130.0 + 1.0 / 250.0**2) * (600.0 / found.foes_mhz) ** 2
    assert found.one_hop_db == pytest.approx(up_and_down + reflection + math.exp(-1659.0 / 280.0), abs=0.01)
    assert math.isfinite(found.basic_transmission_loss_db)


def test_conditions_of_vertical_waves() -> None:
    assert make_conditions(TEMPERATE, frequency_mhz=299.8, time_percent=50.0, vertical=True).vertical
    assert make_conditions(TEMPERATE, frequency_mhz=299.8, time_percent=50.0).wavelength_m == pytest.approx(
        1.0
    )
