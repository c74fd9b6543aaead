"""Spherical-Earth diffraction against P.1812-8 eq. (22)-(37) as the Study Group 3 code works them."""

import math

import pytest

from combe.errors import RangeError
from combe.propagation.p526 import spherical_earth_loss_db


@pytest.mark.parametrize(
    ("distance_km", "height1_m", "height2_m", "frequency_mhz", "horizontal_db", "vertical_db"),
    [
        # Computed with the Study Group 3 reference function: land, ae 8500 km, λ = 0.3/f.
        (50.0, 50.0, 50.0, 600.0, 11.658, 11.660),
        (100.0, 50.0, 50.0, 600.0, 47.354, 47.347),
        (100.0, 300.0, 10.0, 600.0, 30.159, None),
        (60.0, 200.0, 10.0, 500.0, 13.400, None),
        (30.0, 100.0, 10.0, 800.0, 3.491, None),
        (150.0, 400.0, 30.0, 600.0, 48.747, None),
    ],
)
def test_reference_values(distance_km, height1_m, height2_m, frequency_mhz, horizontal_db, vertical_db):
    def loss(polarization):
        return spherical_earth_loss_db(
            distance_km, height1_m, height2_m, frequency_mhz=frequency_mhz, polarization=polarization
        )

    assert loss("horizontal") == pytest.approx(horizontal_db, abs=0.01)
    if vertical_db:
        assert loss("vertical") == pytest.approx(vertical_db, abs=0.01)


def test_nothing_where_the_earth_is_well_cleared():
    assert spherical_earth_loss_db(5.0, 200.0, 200.0, frequency_mhz=600.0) == 0.0


def test_reciprocity():
    there = spherical_earth_loss_db(80.0, 120.0, 15.0, frequency_mhz=600.0)
    back = spherical_earth_loss_db(80.0, 15.0, 120.0, frequency_mhz=600.0)
    assert there == pytest.approx(back, abs=1e-9)


def test_continuous_at_the_marginal_line_of_sight():
    marginal_km = math.sqrt(2.0 * 8500.0) * (math.sqrt(0.05) + math.sqrt(0.02))
    below = spherical_earth_loss_db(marginal_km * (1 - 1e-9), 50.0, 20.0, frequency_mhz=600.0)
    above = spherical_earth_loss_db(marginal_km * (1 + 1e-9), 50.0, 20.0, frequency_mhz=600.0)
    assert below == pytest.approx(above, abs=1e-4)


def test_sea_lets_vertical_waves_through_at_low_frequency():
    common = {"frequency_mhz": 30.0, "polarization": "vertical"}
    land = spherical_earth_loss_db(60.0, 10.0, 10.0, sea_fraction=0.0, **common)
    half = spherical_earth_loss_db(60.0, 10.0, 10.0, sea_fraction=0.5, **common)
    sea = spherical_earth_loss_db(60.0, 10.0, 10.0, sea_fraction=1.0, **common)
    assert sea < half < land


@pytest.mark.parametrize(
    ("override", "name"),
    [
        ({"distance_km": 0.0}, "distance_km"),
        ({"height1_m": 0.0}, "height1_m"),
        ({"frequency_mhz": 5.0}, "frequency_mhz"),
        ({"polarization": "slant"}, "polarization"),
        ({"sea_fraction": 1.5}, "sea_fraction"),
        ({"effective_radius_km": 0.0}, "effective_radius_km"),
    ],
)
def test_refusals(override, name):
    values = {"distance_km": 10.0, "height1_m": 10.0, "height2_m": 10.0, "frequency_mhz": 600.0} | override
    with pytest.raises(RangeError, match=name):
        spherical_earth_loss_db(**values)
