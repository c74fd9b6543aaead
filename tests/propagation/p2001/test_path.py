"""What P.2001-4 draws from a profile: horizons, coasts, common volume, and the air of a share of time."""

from __future__ import annotations

import math

import numpy as np
import pytest

from combe.propagation.p2001.conditions import Conditions, make_conditions
from combe.propagation.p2001.great_circle import latitude_along_deg
from combe.propagation.p2001.horizons import Horizons, horizons
from combe.propagation.p2001.path import (
    coast_distances_km,
    common_volume,
    diffraction_summary,
    draw_path,
    middle_ground_m,
)
from support_p2001 import HUMID, TEMPERATE, flat, hill, plain


def air(time_percent: float = 50.0) -> Conditions:
    return make_conditions(TEMPERATE, frequency_mhz=600.0, time_percent=time_percent)


def test_half_of_the_time_is_the_median_air() -> None:
    found = air()
    assert found.time_percent == found.exceeded_percent == 50.0
    assert found.gradient_n_km == -42.0
    assert found.time_radius_km == pytest.approx(found.median_radius_km)
    assert found.median_radius_km == pytest.approx(6371.0 * 157.0 / 115.0)


def test_shares_of_time_are_kept_off_nought_and_a_hundred() -> None:
    assert air(1e-5).time_percent == pytest.approx(2e-5, rel=1e-6)
    assert air(99.99999).exceeded_percent == pytest.approx(2e-5, rel=1e-5)


def test_gradients_by_the_slopes_of_the_climate() -> None:
    """A decade below 50 % is one slope: 5 % is −42 − 45, 95 % is −42 + 24 N-units/km."""
    assert air(5.0).gradient_n_km == pytest.approx(-87.0, abs=1e-3)
    assert air(95.0).gradient_n_km == pytest.approx(-18.0, abs=1e-3)
    assert air(50.5).gradient_n_km == pytest.approx(-42.0 - 24.0 * math.log10(0.99), abs=1e-6)


def test_a_duct_has_a_flat_earth_for_the_smooth_ground_and_a_hollow_one_for_the_hills() -> None:
    found = make_conditions(HUMID, frequency_mhz=600.0, time_percent=0.01)
    assert found.gradient_n_km < -157.0
    assert found.curvature_per_km < 0.0
    assert found.time_radius_km == 1e6
    distance, ground = flat(30.0)
    drawn = diffraction_summary(
        distance, ground, draw_path(distance, ground, np.full(61, 4), 60.0, 10.0, found), found
    )
    # The far end of the ground from 60 m: hollow for the profile, next to flat for the smooth one.
    assert drawn.tx_slope == pytest.approx(500.0 * found.curvature_per_km * 0.5 - 60.0 / 29.5)
    assert drawn.smooth_tx_slope == pytest.approx(500.0 * 1e-6 * 0.5 - 60.0 / 29.5)


def test_of_equal_horizons_the_last_is_taken_from_both_ends() -> None:
    distance = np.linspace(0.0, 20.0, 21)
    ground = np.zeros(21)
    conditions = air()
    level = 500.0 / conditions.median_radius_km
    ground[[5, 10, 15]] = level * distance[[5, 10, 15]] ** 2 + 10.0 + 4.0 * distance[[5, 10, 15]]
    found = horizons(distance, ground, 10.0, 10.0, conditions)
    slopes = (ground[[5, 10, 15]] - 10.0) / distance[[5, 10, 15]] - level * distance[[5, 10, 15]]
    assert np.ptp(slopes) < 1e-12
    assert not found.line_of_sight
    assert found.tx_index == 5 + 5 * (2 - int(np.argmax(slopes[::-1])))
    even = horizons(*flat(20.0, 21, 50.0), 30.0, 30.0, conditions)
    # Ground 20 m over both aerials: the steepest is the nearest to each.
    assert (even.tx_index, even.rx_index) == (1, 19)
    level_sea = horizons(distance, np.full(21, 30.0 - 1e-9), 30.0, 30.0, conditions)
    assert level_sea.line_of_sight is False


def test_equal_slopes_choose_the_last_point() -> None:
    """Slopes that are equal to the last bit, on an Earth without curve: rows of 1, 2, 4 and 8 m."""
    conditions = air()._replace(median_radius_km=math.inf)
    distance, ground = np.arange(17.0), np.zeros(17)
    ground[[1, 2, 4, 8]] = [1.0, 2.0, 4.0, 8.0]
    found = horizons(distance, ground, 0.0, 0.0, conditions)
    assert (found.tx_index, found.tx_km, found.tx_mrad) == (8, 8.0, 1.0)
    turned = horizons(distance, ground[::-1].copy(), 0.0, 0.0, conditions)
    assert (turned.rx_index, turned.rx_km, turned.rx_mrad) == (15, 1.0, 1.0)


def test_a_grazing_path_is_beyond_the_horizon() -> None:
    """The other end has to stand higher than the horizon, not as high."""
    conditions = air()._replace(median_radius_km=math.inf)
    distance, ground = np.arange(17.0), np.zeros(17)
    ground[8] = 8.0
    assert not horizons(distance, ground, 0.0, 16.0, conditions).line_of_sight
    assert horizons(distance, ground, 0.0, 16.0 + 1e-9, conditions).line_of_sight


def test_on_a_clear_path_both_horizons_are_the_point_that_comes_nearest() -> None:
    found = plain(time_percent=50.0)
    assert found.line_of_sight
    assert found.tx_horizon_km + found.rx_horizon_km == pytest.approx(30.0)
    assert 20.0 < found.tx_horizon_km < 28.0, "nearer to the lower aerial"
    bend = 1000.0 * 30.0 / found.median_radius_km
    assert found.tx_horizon_mrad + found.rx_horizon_mrad == pytest.approx(-bend)


def test_the_hill_is_the_horizon_of_both_ends() -> None:
    found = hill()
    assert (found.tx_horizon_km, found.rx_horizon_km) == (12.0, 18.0)
    assert found.roughness_m == pytest.approx(300.0)
    assert found.line_of_sight is False


@pytest.mark.parametrize(("heights", "expected"), [([1.0, 2.0, 9.0], 2.0), ([1.0, 2.0, 4.0, 9.0], 3.0)])
def test_the_middle_is_counted(heights: list[float], expected: float) -> None:
    assert middle_ground_m(np.array(heights)) == expected


@pytest.mark.parametrize(
    ("zones", "tx_km", "rx_km"),
    [
        ([4, 4, 4, 4, 4], 4.0, 4.0),
        ([1, 1, 1, 1, 1], 0.0, 0.0),
        ([4, 3, 1, 4, 4], 1.5, 1.5),
        ([1, 4, 4, 4, 4], 0.0, 3.5),
        ([4, 1, 4, 1, 4], 0.5, 0.5),
    ],
)
def test_coasts(zones: list[int], tx_km: float, rx_km: float) -> None:
    assert coast_distances_km(np.arange(5.0), np.array(zones)) == (tx_km, rx_km)


def test_the_common_volume_lies_over_the_middle_of_an_even_path_and_on_any() -> None:
    found = plain(100.0, tx_height_m=30.0, rx_height_m=30.0)
    assert found.tx_volume_km == pytest.approx(50.0)
    bulge_m = 1000.0 * 50.0**2 / (2.0 * found.median_radius_km)
    assert found.volume_amsl_m == pytest.approx(130.0 + bulge_m)
    level = Horizons(False, 1, 9, 1.0, 1.0, 1.0, 1.0)
    assert common_volume(10.0, 1000.0, 0.0, level, air())[:2] == (0.0, 10.0)
    assert common_volume(10.0, 0.0, 1000.0, level, air())[:2] == (10.0, 0.0)


def test_the_common_volume_is_where_both_rays_meet() -> None:
    """Worked out from the other end the height is the same."""
    conditions = air()
    distance, ground = flat(30.0)
    ground += 300.0 * np.maximum(0.0, 1.0 - np.abs(distance - 12.0) / 3.0)
    horizon = horizons(distance, ground, 10.0, 40.0, conditions)
    volume = common_volume(30.0, 10.0, 40.0, horizon, conditions)
    rx_m = 40.0 + 1000.0 * volume.rx_km * math.tan(1e-3 * horizon.rx_mrad)
    rx_m += 1000.0 * volume.rx_km**2 / (2.0 * conditions.median_radius_km)
    assert volume.amsl_m == pytest.approx(rx_m, abs=1.0)
    assert 0.0 < volume.tx_km < 30.0


@pytest.mark.parametrize(
    ("ends", "km", "expected"),
    [
        ((0.0, 0.0, 90.0, 0.0), 3000.0, 0.0),
        ((0.0, 60.0, 180.0, 60.0), math.radians(30.0) * 6371.0, 90.0),
        ((0.0, -10.0, 0.0, -50.0), math.radians(15.0) * 6371.0, -25.0),
        ((0.0, 0.0, 60.0, 45.0), math.radians(30.0) * 6371.0, 22.2077),
        ((7.0, 50.0, 7.0, 50.0), 0.0, 50.0),
    ],
)
def test_latitude_along_the_great_circle(ends: tuple[float, ...], km: float, expected: float) -> None:
    assert latitude_along_deg(*ends, km) == pytest.approx(expected, abs=1e-4)
