"""The ray reflected from the ground: by right triangles, by a round Earth drawn out, over uneven ground."""

import math
from dataclasses import replace

import numpy as np
import pytest

from combe.errors import RangeError
from combe.prediction.ground_reflection import (
    SurfaceLine,
    TwoRays,
    fitted_line,
    lobe_heights_m,
    null_heights_m,
    path_difference_m,
    reflection,
)

METRE_WAVE_MHZ = 299.792458
SEA_LEVEL = SurfaceLine(0.0, 0.0)


def rays_over(surface_m, length_km, tx_m, frequency_mhz=METRE_WAVE_MHZ, radius_km=math.inf):
    surface_m = np.asarray(surface_m, dtype=float)
    distance_km = np.linspace(0.0, length_km, surface_m.size)
    return TwoRays(distance_km, surface_m, tx_m, frequency_mhz, radius_km)


def test_two_right_triangles():
    """Aerials of 36 and 14 m on 120 m: the ways are √(120² + 50²) = 130 and √(120² + 22²) = 122."""
    found = reflection(rays_over(np.zeros(25), 0.120, 36.0), 14.0)
    assert found.path_difference_m == pytest.approx(8.0, abs=1e-9)
    assert found.distance_km == pytest.approx(0.120 * 36.0 / 50.0)
    assert found.grazing_deg == pytest.approx(math.degrees(math.atan2(50.0, 120.0)))
    assert found.allowed_relief_m == pytest.approx(1.0 / (8.0 * 50.0 / 130.0))
    assert (found.relief_m, found.blocked_km, found.smooth, found.expected) == (0.0, None, True, True)


def test_a_sloping_ground_is_turned_flat():
    """The same over a line that climbs by 10 m: aerials count from the line."""
    found = reflection(rays_over(np.linspace(300.0, 310.0, 25), 12.0, 336.0), 324.0)
    assert found.distance_km == pytest.approx(12.0 * 36.0 / 50.0)
    assert found.path_difference_m == pytest.approx(2.0 * 36.0 * 14.0 / 12_000.0, rel=1e-4)
    assert found.line == pytest.approx((300.0, 310.0))


def test_lobes_and_nulls_over_a_flat_earth():
    """Lobes at (2n + 1) λ d / (4 h1), nulls at n λ d / (2 h1), here of 20 km, 0.5 m and 100 m."""
    rays = rays_over(np.zeros(11), 20.0, 100.0, frequency_mhz=2.0 * METRE_WAVE_MHZ)
    assert lobe_heights_m(rays, SEA_LEVEL, (1.0, 130.0)) == pytest.approx((25.0, 75.0, 125.0), rel=1e-4)
    assert null_heights_m(rays, SEA_LEVEL, (1.0, 130.0)) == pytest.approx((50.0, 100.0), rel=1e-4)
    assert null_heights_m(rays, SEA_LEVEL, (60.0, 90.0)) == ()
    assert lobe_heights_m(rays, SEA_LEVEL, (30.0, 80.0)) == pytest.approx((75.0,), rel=1e-4)


def shortest_way_m(rays, tx_m, rx_m):
    """Return how much longer the shortest way that touches a round Earth is, and where, by drawing it."""
    radius_m = 1000.0 * rays.effective_radius_km
    whole = 1000.0 * rays.length_km / radius_m

    def point(angle, height_m):
        return np.array([(radius_m + height_m) * np.sin(angle), (radius_m + height_m) * np.cos(angle)])

    one, other = point(0.0, tx_m), point(whole, rx_m)
    angles = np.linspace(0.0, whole, 2_000_001)
    on = np.array([radius_m * np.sin(angles), radius_m * np.cos(angles)])
    ways = np.hypot(*(on - one[:, None])) + np.hypot(*(on - other[:, None]))
    least = int(np.argmin(ways))
    return float(ways[least] - np.hypot(*(other - one))), angles[least] * radius_m / 1000.0


@pytest.mark.parametrize(("tx_m", "rx_m", "length_km"), [(150.0, 60.0, 30.0), (80.0, 200.0, 45.0)])
def test_over_a_round_earth_the_way_is_the_shortest_that_touches_it(tx_m, rx_m, length_km):
    rays = rays_over(np.zeros(301), length_km, tx_m, radius_km=8500.0)
    longer_m, at_km = shortest_way_m(rays, tx_m, rx_m)
    found = reflection(rays, rx_m)
    assert found.distance_km == pytest.approx(at_km, abs=0.02)
    assert found.path_difference_m == pytest.approx(longer_m, rel=2e-3)
    flat = reflection(replace(rays, effective_radius_km=math.inf), rx_m)
    assert flat.path_difference_m > 1.2 * found.path_difference_m, "the bend counts here"


def test_nulls_over_a_round_earth_are_whole_wavelengths():
    rays = rays_over(np.zeros(31), 30.0, 150.0, frequency_mhz=600.0, radius_km=8500.0)
    heights = null_heights_m(rays, SEA_LEVEL, (1.0, 300.0))
    assert len(heights) > 2
    told = [path_difference_m(rays, SEA_LEVEL, each) / rays.wavelength_m for each in heights]
    assert told == pytest.approx(range(1, len(heights) + 1), abs=1e-9)


def test_the_fresnel_zone_ends_where_the_way_is_half_a_wavelength_longer():
    rays = rays_over(np.zeros(101), 10.0, 60.0)
    found = reflection(rays, 30.0)

    def way_m(at_km):
        return math.hypot(1000.0 * at_km, 60.0) + math.hypot(1000.0 * (10.0 - at_km), 30.0)

    for end_km in found.fresnel_km:
        assert way_m(end_km) - way_m(found.distance_km) == pytest.approx(0.5, rel=2e-3)


def test_ground_is_even_up_to_rayleighs_criterion():
    """60 and 30 m over 10 km: sin ψ is 0.009, and 1 m / (8 · 0.009) is 13.89 m."""
    ground = np.zeros(101)
    ground[66] = 13.0
    even = reflection(rays_over(ground, 10.0, 60.0), 30.0)
    assert even.allowed_relief_m == pytest.approx(13.89, rel=0.01)
    assert even.relief_m == pytest.approx(13.0, abs=1.0)
    assert even.smooth
    ground[66] = 16.0
    rough = reflection(rays_over(ground, 10.0, 60.0), 30.0)
    assert (rough.smooth, rough.expected) == (False, False)


def test_between_two_hills_the_sea_is_the_surface():
    """The hills lift the line through all; the ray is reckoned from the sea, where it is reflected."""
    ground = np.zeros(301)
    ground[:31], ground[-31:] = np.linspace(200.0, 0.0, 31), np.linspace(0.0, 120.0, 31)
    rays = rays_over(ground, 30.0, 230.0, frequency_mhz=500.0, radius_km=8500.0)
    assert min(fitted_line(rays.distance_km, ground, 30.0)) > 4.0
    found = reflection(rays, 140.0)
    plain = reflection(rays_over(np.zeros(301), 30.0, 230.0, frequency_mhz=500.0, radius_km=8500.0), 140.0)
    assert found == plain
    assert found.expected


def test_a_hill_before_the_point_hides_the_reflected_ray():
    ground = np.zeros(301)
    ground[40] = 100.0
    rays = rays_over(ground, 30.0, 100.0, frequency_mhz=500.0)
    found = reflection(rays, 100.0)
    assert found.smooth
    assert found.blocked_km == pytest.approx(4.0)
    assert not found.expected
    ground[40] = 60.0
    assert reflection(rays_over(ground, 30.0, 100.0, frequency_mhz=500.0), 100.0).blocked_km is None


def test_the_bend_of_the_earth_hides_more():
    """80 m at 4 km on a way that falls from 100 m to the sea at 15 km: 73.3 m there, less the bend if any."""
    ground = np.zeros(301)
    ground[40] = 72.0
    flat = rays_over(ground, 30.0, 100.0, frequency_mhz=500.0)
    assert reflection(flat, 100.0).blocked_km is None
    assert reflection(replace(flat, effective_radius_km=8500.0), 100.0).blocked_km == pytest.approx(4.0)


@pytest.mark.parametrize(("tx_m", "rx_m"), [(50.0, 99.0), (99.0, 50.0)])
def test_an_aerial_under_the_surface_has_no_reflected_ray(tx_m, rx_m):
    assert reflection(rays_over(np.full(11, 60.0), 10.0, tx_m), rx_m) is None


def test_beyond_the_horizon_there_is_none():
    """Horizons at √(2 · 8500 km · 0.02 km) = 18 km from each end of 60 km."""
    rays = rays_over(np.zeros(61), 60.0, 20.0, radius_km=8500.0)
    assert reflection(rays, 20.0) is None
    assert path_difference_m(rays, SEA_LEVEL, 20.0) == 0.0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"frequency_mhz": 0.0}, "frequency_mhz is 0.0; allowed: 1 to 1e+06"),
        ({"effective_radius_km": -8500.0}, "effective_radius_km is -8500.0"),
    ],
)
def test_what_it_refuses(change, words):
    with pytest.raises(RangeError) as caught:
        replace(rays_over(np.zeros(11), 10.0, 50.0), **change)
    assert str(caught.value).startswith(words)
