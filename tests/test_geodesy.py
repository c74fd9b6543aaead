"""Checks of combe.geodesy against examples that the GeographicLib documentation prints."""

from __future__ import annotations

import math

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe import geodesy

WELLINGTON, SALAMANCA = (174.81, -41.32), (-5.50, 40.96)
longitudes, latitudes = st.floats(-179.0, 179.0), st.floats(-80.0, 80.0)


def test_distance_wellington_to_salamanca() -> None:
    """GeographicLib documentation, geodesic example: 19959679.267 m."""
    assert geodesy.distance_km(*WELLINGTON, *SALAMANCA) == pytest.approx(19959.679267, abs=1e-6)


@pytest.mark.parametrize(
    ("place", "expected_deg"),
    [((0.0, 1.0), 0.0), ((1.0, 0.0), 90.0), ((0.0, -1.0), 180.0), ((-1.0, 0.0), 270.0)],
    ids=["north", "east", "south", "west"],
)
def test_bearings_from_the_equator(place: tuple[float, float], expected_deg: float) -> None:
    assert geodesy.bearing_deg(0.0, 0.0, *place) == pytest.approx(expected_deg, abs=1e-9)


def test_one_degree_along_the_equator() -> None:
    """WGS 84 semi-major axis 6378.137 km times one degree."""
    assert geodesy.distance_km(0.0, 0.0, 1.0, 0.0) == pytest.approx(math.radians(6378.137), abs=1e-6)


@given(longitudes, latitudes, st.floats(0.0, 359.9), st.floats(0.01, 500.0))
def test_bearing_and_distance_lead_back_to_a_place_so_far_away(
    lon_deg: float, lat_deg: float, azimuth_deg: float, range_km: float
) -> None:
    there = pyproj.Geod(ellps="WGS84").fwd(lon_deg, lat_deg, azimuth_deg, 1000.0 * range_km)[:2]
    assert geodesy.distance_km(lon_deg, lat_deg, *there) == pytest.approx(range_km, abs=1e-6)
    turn = geodesy.bearing_deg(lon_deg, lat_deg, *there) - azimuth_deg
    assert abs((turn + 180.0) % 360.0 - 180.0) < 1e-4


@given(longitudes, latitudes, longitudes, latitudes)
def test_bearing_is_in_its_range(lon1: float, lat1: float, lon2: float, lat2: float) -> None:
    assert 0.0 <= geodesy.bearing_deg(lon1, lat1, lon2, lat2) < 360.0


def test_points_of_a_geodesic() -> None:
    lon_deg, lat_deg, along_km = geodesy.geodesic_points(7.0, 46.0, 7.3, 46.2, 31)
    assert (lon_deg[0], lat_deg[0], lon_deg[-1], lat_deg[-1]) == (7.0, 46.0, 7.3, 46.2)
    whole_km = geodesy.distance_km(7.0, 46.0, 7.3, 46.2)
    np.testing.assert_allclose(along_km, np.linspace(0.0, whole_km, 31), atol=1e-9)
    steps = [geodesy.distance_km(lon_deg[i], lat_deg[i], lon_deg[i + 1], lat_deg[i + 1]) for i in range(30)]
    np.testing.assert_allclose(steps, whole_km / 30, atol=1e-7)


def test_bearing_a_hair_west_of_north_is_0() -> None:
    """A remainder of a tiny negative azimuth rounds to 360, which is 0."""
    assert geodesy.bearing_deg(0.0, 0.0, -1e-20, 1.0) == 0.0
