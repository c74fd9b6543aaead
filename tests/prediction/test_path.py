"""The exact path."""

import dataclasses

import numpy as np
import pytest

from combe.errors import ProfileError, RangeError
from combe.prediction.conditions import Conditions, describe
from combe.prediction.path import elevation_deg, predict_path
from combe.propagation import p1812
from combe.propagation.p526 import delta_bullington
from combe.terrain.sampling import TerrainProfile, geodesic_profile
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
    assert found.field_strength_1kw_dbuv_m == pytest.approx(
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
    assert found.field_strength_1kw_dbuv_m == pytest.approx(86.92, abs=0.01)


AIR = Conditions(model="p1812", delta_n=45.0)


def test_p1812_has_three_parts_that_add_up():
    profile = geodesic_profile(sample_area().terrain, *EAST, *RIDGE)
    given = {"tx_height_m": 40.0, "rx_height_m": 10.0, "frequency_mhz": 600.0}
    for percent in (1.0, 50.0):
        conditions = dataclasses.replace(AIR, time_percent=percent)
        found = predict_path(profile, **given, conditions=conditions)
        expected = p1812.predict_path(
            profile.distance_km,
            profile.height_m,
            0.0,
            4,
            **given,
            time_percent=percent,
            latitude_deg=profile.lat_deg[profile.lat_deg.size // 2],
            delta_n=45.0,
            n0=325.0,
        )
        assert found.basic_loss_db == pytest.approx(expected.basic_transmission_loss_db, abs=1e-9)
        assert found.free_space_loss_db == expected.free_space_loss_db
        assert found.diffraction_loss_db == pytest.approx(expected.diffraction_loss_db, abs=1e-9)
        parts = found.free_space_loss_db + found.diffraction_loss_db + found.other_mechanisms_db
        assert found.basic_loss_db == pytest.approx(parts, abs=1e-9)
        # P.1812-8 eq. (70) prints the constant 139.36; the exact one is 139.366.
        assert found.field_strength_1kw_dbuv_m == pytest.approx(expected.field_strength_dbuv_m, abs=0.007)
        assert found.p1812_steps.path_angle_mrad == pytest.approx(expected.path_angle_mrad)


def test_clutter_is_added_between_the_terminals_only():
    profile = straight([0, 1, 2, 3, 4, 5], [0, 0, 0, 0, 0, 0])
    given = {"tx_height_m": 20.0, "rx_height_m": 10.0, "frequency_mhz": 600.0, "conditions": AIR}
    bare = predict_path(profile, **given)
    ends = predict_path(profile, **given, clutter_height_m=[30, 0, 0, 0, 0, 30])
    assert ends == bare
    wood = predict_path(profile, **given, clutter_height_m=[0, 0, 25, 0, 0, 0])
    assert wood.basic_loss_db > bare.basic_loss_db + 10.0
    assert (wood.line_of_sight, wood.controlling_index) == (False, 2)
    assert wood.free_space_loss_db == bare.free_space_loss_db


def test_sea_lets_ducts_carry_further_for_little_time():
    distance = np.linspace(0.0, 200.0, 201)
    profile = TerrainProfile(distance, np.zeros(201), np.zeros(201), np.full(201, 50.0))
    given = {
        "tx_height_m": 100.0,
        "rx_height_m": 10.0,
        "frequency_mhz": 600.0,
        "conditions": Conditions(model="p1812", time_percent=1.0),
    }
    land = predict_path(profile, **given)
    sea = predict_path(profile, **given, zone=np.where(np.arange(201) % 200 == 0, 3, 1))
    assert sea.field_strength_1kw_dbuv_m > land.field_strength_1kw_dbuv_m + 5.0


def test_what_p1812_is_not_given():
    profile = straight([0, 1, 2, 3, 4, 5], [0, 0, 0, 0, 0, 0])
    given = {"tx_height_m": 20.0, "rx_height_m": 10.0, "frequency_mhz": 600.0}
    with pytest.raises(RangeError, match="clutter_height_m is given; allowed: none with model 'p526'"):
        predict_path(profile, **given, clutter_height_m=[0, 0, 0, 0, 0, 0])
    with pytest.raises(RangeError, match=r"shape of clutter_height_m is \(2,\); allowed: \(6,\)"):
        predict_path(profile, **given, conditions=AIR, clutter_height_m=[0, 0])
    with pytest.raises(RangeError, match="zone is 2; allowed: 1"):
        predict_path(profile, **given, conditions=AIR, zone=2)
    with pytest.raises(ProfileError, match="n of 5 or more points"):
        predict_path(straight([0, 1, 2], [0, 0, 0]), **given, conditions=AIR)


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
