"""The exact path."""

import numpy as np
import pytest

from combe.errors import ProfileError, RangeError
from combe.prediction.conditions import Conditions, describe
from combe.prediction.path import elevation_deg, predict_path
from combe.propagation.p526 import delta_bullington
from combe.terrain.profile import TerrainProfile, geodesic_profile
from support_prediction import EAST, RIDGE, sample_area


def straight(distance, height):
    distance, height = np.array(distance, float), np.array(height, float)
    return TerrainProfile(distance, height, np.zeros_like(distance), np.zeros_like(distance))


def test_parts_add_up():
    profile = geodesic_profile(sample_area().terrain, *EAST, *RIDGE)
    found = predict_path(profile, tx_height_m=40.0, rx_height_m=10.0, frequency_mhz=600.0)
    assert found.basic_loss_db == found.free_space_loss_db + found.diffraction_loss_db
    expected = delta_bullington(
        profile.distance_km, profile.height_m, tx_height_m=40.0, rx_height_m=10.0, frequency_mhz=600.0
    )
    assert found.diffraction_loss_db == expected.total_db
    # Basic loss and field of 1 kW e.r.p.: Lb = 139.366 − E + 20 log f, the exact constant of P.1546 Annex 5.
    assert found.field_strength_dbuv_m == pytest.approx(
        139.366 + 20.0 * np.log10(600.0) - found.basic_loss_db, abs=0.002
    )
    assert found.slant_km >= found.distance_km


def test_controlling_edge():
    found = predict_path(
        straight([0, 2, 5, 10], [0, 0, 80, 0]), tx_height_m=20.0, rx_height_m=20.0, frequency_mhz=600.0
    )
    assert not found.line_of_sight
    assert found.controlling_index == 2
    assert found.controlling_km == 5.0


def test_line_of_sight_and_nothing_between():
    found = predict_path(straight([0, 5], [0, 0]), tx_height_m=20.0, rx_height_m=20.0, frequency_mhz=600.0)
    assert found.line_of_sight
    assert found.controlling_index is None
    assert found.controlling_km is None


def test_free_space_model():
    profile = straight([0, 2, 5, 10], [0, 0, 80, 0])
    found = predict_path(
        profile,
        tx_height_m=20.0,
        rx_height_m=20.0,
        frequency_mhz=600.0,
        conditions=Conditions(model="free-space"),
    )
    assert found.diffraction_loss_db == 0.0
    # P.1546: 1 kW e.r.p. at 10 km in free space, 86.9 dB(µV/m).
    assert found.field_strength_dbuv_m == pytest.approx(86.92, abs=0.01)


def test_elevation():
    assert elevation_deg(10.0, 0.0, 0.0, float("inf")) == 0.0
    assert elevation_deg(1.0, 0.0, 1000.0, float("inf")) == pytest.approx(45.0)
    assert elevation_deg(50.0, 100.0, 100.0, 8500.0) < 0.0


def test_refusals():
    with pytest.raises(ProfileError):
        predict_path(straight([0, 1], [0, np.nan]), tx_height_m=20.0, rx_height_m=20.0, frequency_mhz=600.0)
    with pytest.raises(RangeError, match="model is 'guess'; allowed: free-space, p526, p1812"):
        Conditions(model="guess")
    with pytest.raises(RangeError, match="effective_radius_km"):
        Conditions(effective_radius_km=0.0)
    with pytest.raises(RangeError, match="sea_fraction"):
        Conditions(sea_fraction=2.0)


def test_conditions_are_put_into_words():
    words = describe(Conditions())
    assert "P.526-16" in words["model"]
    assert words["effective Earth radius"] == "8500 km"
