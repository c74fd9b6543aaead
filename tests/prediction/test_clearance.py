"""Clearance of a path, against plain geometry."""

import math

import numpy as np
import pytest

from combe.errors import ProfileError, RangeError
from combe.prediction.clearance import clearance_at, clearance_over_time
from combe.prediction.path import predict_path
from combe.propagation.p526 import fresnel_parameter
from combe.propagation.p2001 import TYPICAL_CLIMATES
from combe.terrain import TerrainProfile, geodesic_profile
from support_prediction import EAST, RIDGE, sample_area

TEMPERATE = TYPICAL_CLIMATES["temperate"]
AT_100_M = {"tx_height_m": 100.0, "rx_height_m": 100.0, "frequency_mhz": 600.0}


def straight(distance_km, height_m):
    distance_km = np.array(distance_km, float)
    return TerrainProfile(distance_km, np.array(height_m, float), *2 * (np.zeros_like(distance_km),))


def test_one_hill_on_a_flat_earth():
    """80 m in the middle of 20 km, under a line at 100 m; √(0.49965 m · 5000 m) = 49.98 m."""
    found = clearance_at(straight([0, 10, 20], [0, 80, 0]), **AT_100_M, effective_radius_km=math.inf)
    assert (found.edge_index, found.distance_km, found.clearance_m) == (1, 10.0, 20.0)
    assert found.first_fresnel_m == pytest.approx(49.983, abs=1e-3)
    assert found.clearance_radii == pytest.approx(20.0 / 49.983, abs=1e-5)
    assert not found.blocked


def test_the_earth_bulges_into_the_line():
    """10 km · 10 km / (2 · 8500 km) = 5.882 m; at k 0.5 it is 100 / 6.371 = 15.696 m."""
    profile = straight([0, 10, 20], [0, 90, 0])
    found = clearance_at(profile, **AT_100_M, effective_radius_km=8500.0)
    assert found.clearance_m == pytest.approx(10.0 - 5.8824, abs=1e-4)
    assert found.k == pytest.approx(1.33417, abs=1e-5)
    half = clearance_at(profile, **AT_100_M, effective_radius_km=3185.5)
    assert half.k == 0.5
    assert half.clearance_m == pytest.approx(10.0 - 15.6961, abs=1e-4)
    assert half.blocked
    assert half.clearance_radii == pytest.approx(-5.6961 / 49.983, abs=1e-5)


def test_a_line_that_slopes_and_an_edge_off_the_middle():
    """50 m to 250 m, a quarter of the way: 100 m; √(0.49965 m · 5000 m · 15000 m / 20000 m) = 43.29 m."""
    heights = {"tx_height_m": 50.0, "rx_height_m": 150.0, "frequency_mhz": 600.0}
    profile = straight([0, 5, 20], [0, 130, 100])
    found = clearance_at(profile, **heights, effective_radius_km=math.inf)
    assert found.clearance_m == pytest.approx(-30.0)
    assert found.first_fresnel_m == pytest.approx(43.287, abs=1e-3)


def test_the_edge_is_that_of_the_exact_path_and_its_nu_that_of_p526():
    profile = geodesic_profile(sample_area().terrain, *EAST, *RIDGE)
    for height_m in (5.0, 60.0):
        given = {"tx_height_m": height_m, "rx_height_m": 10.0, "frequency_mhz": 600.0}
        found = clearance_at(profile, **given, effective_radius_km=8500.0)
        exact = predict_path(profile, **given)
        assert found.edge_index == exact.controlling_index
        assert found.blocked is not exact.line_of_sight
        beyond_km = float(profile.distance_km[-1]) - found.distance_km
        nu = fresnel_parameter(-found.clearance_m, found.distance_km, beyond_km, 600.0)
        assert nu == pytest.approx(-math.sqrt(2.0) * found.clearance_radii, rel=1e-9)


def test_cover_stands_on_the_ground_between_the_ends():
    profile = straight([0, 10, 20], [0, 80, 0])
    found = clearance_at(
        profile, **AT_100_M, effective_radius_km=math.inf, clutter_height_m=[30.0, 15.0, 30.0]
    )
    assert found.clearance_m == 5.0
    with pytest.raises(ProfileError, match=r"ground cover has shape \(2,\); allowed: \(3,\)"):
        clearance_at(profile, **AT_100_M, effective_radius_km=8500.0, clutter_height_m=[1.0, 2.0])


def test_k_for_99_9_percent_of_the_time_is_that_of_p2001():
    """−42 − 24 log(0.02 · 0.1) = 22.78 N/km (3.4.1.2); 6371 · 157 / (157 + 22.78) = 5563.9 km (3.5.3)."""
    found = clearance_over_time(
        straight([0, 10, 20], [0, 80, 0]), **AT_100_M, median_radius_km=8500.0, climate=TEMPERATE
    )
    assert (found.median.effective_radius_km, found.median.time_percent) == (8500.0, 50.0)
    gradient = -42.0 - 24.0 * math.log10(0.02 * 0.1)
    rare = found.exceeded_99_9
    assert rare.effective_radius_km == pytest.approx(6371.0 * 157.0 / (157.0 + gradient), abs=0.05)
    assert rare.time_percent == 99.9
    assert rare.clearance_m == pytest.approx(20.0 - 50_000.0 / rare.effective_radius_km, abs=1e-6)
    assert not found.contradicts


def test_another_edge_may_control_when_the_earth_bulges_more():
    """Near the end the bulge is small, in the middle it is great: the middle takes over as k falls."""
    profile = straight([0, 3, 30, 60], [0, 85, 20, 0])
    found = clearance_over_time(profile, **AT_100_M, median_radius_km=8500.0, climate=TEMPERATE)
    assert (found.median.distance_km, found.exceeded_99_9.distance_km) == (3.0, 30.0)


def test_a_median_air_that_its_climate_never_has_is_told():
    odd = clearance_over_time(
        straight([0, 10, 20], [0, 80, 0]), **AT_100_M, median_radius_km=5000.0, climate=TEMPERATE
    )
    assert odd.contradicts


def test_what_has_no_clearance():
    with pytest.raises(ProfileError, match="profile has 2 points, none between its ends; allowed: 3 points"):
        clearance_at(straight([0, 20], [0, 0]), **AT_100_M, effective_radius_km=8500.0)
    with pytest.raises(ProfileError, match="not finite"):
        clearance_at(straight([0, 10, 20], [0, np.nan, 0]), **AT_100_M, effective_radius_km=8500.0)
    with pytest.raises(RangeError, match="effective_radius_km is"):
        clearance_at(straight([0, 10, 20], [0, 0, 0]), **AT_100_M, effective_radius_km=0.0)
    with pytest.raises(RangeError, match="frequency_mhz"):
        clearance_at(
            straight([0, 10, 20], [0, 0, 0]),
            tx_height_m=1.0,
            rx_height_m=1.0,
            frequency_mhz=0.0,
            effective_radius_km=8500.0,
        )
