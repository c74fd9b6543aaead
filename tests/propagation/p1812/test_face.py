"""The public face of P.1812-8: what it takes, what it refuses and how it says so."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

import numpy as np
import pytest

from combe.errors import CombeError, ProfileError, RangeError
from combe.propagation.p1812 import PathLoss, predict_path

ASKED: dict[str, Any] = {
    "frequency_mhz": 600.0,
    "time_percent": 50.0,
    "tx_height_m": 60.0,
    "rx_height_m": 10.0,
    "latitude_deg": 50.0,
    "delta_n": 45.0,
    "n0": 325.0,
}
DISTANCE = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]
HEIGHT = [10.0, 20.0, 30.0, 20.0, 10.0, 10.0]


def ask(**changes: Any) -> PathLoss:
    """Return the answer for a small invented path with some arguments changed."""
    arrays = {"distance_km": DISTANCE, "height_m": HEIGHT, "clutter_height_m": [0.0] * 6, "zone": [4] * 6}
    return predict_path(**(arrays | ASKED | changes))


def test_lists_arrays_and_single_numbers_give_the_same() -> None:
    found = ask()
    assert ask(distance_km=np.array(DISTANCE), height_m=np.array(HEIGHT, dtype=np.float32)) == found
    assert ask(clutter_height_m=0, zone=4) == found
    assert ask(zone=np.full(6, 4, dtype=np.uint8), height_m=[10, 20, 30, 20, 10, 10]) == found


def test_arguments_are_left_as_they_were() -> None:
    distance, height, cover = np.array(DISTANCE), np.array(HEIGHT), np.full(6, 5.0)
    ask(distance_km=distance, height_m=height, clutter_height_m=cover)
    assert distance.tolist() == DISTANCE
    assert height.tolist() == HEIGHT
    assert cover.tolist() == [5.0] * 6


def test_the_answer_is_frozen_plain_and_finite() -> None:
    found = ask()
    for field in dataclasses.fields(found):
        value = getattr(found, field.name)
        assert type(value) is float
        assert np.isfinite(value), field.name
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.distance_km = 1.0  # type: ignore[misc]


def test_every_name_is_explained() -> None:
    names = {field.name for field in dataclasses.fields(PathLoss)}
    assert PathLoss.__doc__ is not None
    assert all(re.search(rf"\b{name}\b", PathLoss.__doc__) for name in names)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"frequency_mhz": 29.9}, "frequency_mhz is 29.9; allowed: 30 to 6000 MHz (P.1812-8)"),
        ({"frequency_mhz": 6001.0}, "frequency_mhz is 6001.0; allowed: 30 to 6000 MHz (P.1812-8)"),
        ({"frequency_mhz": float("nan")}, "frequency_mhz is nan; allowed: 30 to 6000 MHz (P.1812-8)"),
        ({"time_percent": 0.5}, "time_percent is 0.5; allowed: 1 to 50 % of time (P.1812-8)"),
        ({"time_percent": 99.0}, "time_percent is 99.0; allowed: 1 to 50 % of time (P.1812-8)"),
        ({"tx_height_m": 0.0}, "tx_height_m is 0.0; allowed: 1 to 3000 m above ground (P.1812-8)"),
        ({"rx_height_m": 3001.0}, "rx_height_m is 3001.0; allowed: 1 to 3000 m above ground (P.1812-8)"),
        ({"latitude_deg": 95.0}, "latitude_deg is 95.0; allowed: -90 to 90 degrees (P.1812-8)"),
        ({"delta_n": 160.0}, "delta_n is 160.0; allowed: 0 to below 157 N-units/km"),
        ({"n0": 0.0}, "n0 is 0.0; allowed: 100 to 500 N-units (P.1812-8)"),
        ({"polarization": "slant"}, "polarization is 'slant'; allowed: 'horizontal' or 'vertical'"),
        ({"location_percent": 0.5}, "location_percent is 0.5; allowed: 1 to 99 %"),
        ({"location_sigma_db": float("nan")}, "location_sigma_db is nan; allowed: 0 to below 100 dB"),
        ({"tx_coast_distance_km": -1.0}, "tx_coast_distance_km is -1.0; allowed: 0 km or more"),
        ({"zone": [4, 4, 2, 4, 4, 4]}, "zone is 2; allowed: 1 (sea), 3 (coastal land) or 4 (inland)"),
        (
            {"distance_km": [0.0, 0.01, 0.02, 0.03, 0.04, 0.05]},
            "distance_km is 0.05; allowed: a path of 0.25 to 3000 km (P.1812-8)",
        ),
    ],
)
def test_numbers_outside_their_range(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        ask(**changes)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"distance_km": [0.0, 1.0]}, "the profile has shape (2,); allowed: (n,) with n of 5 or more points"),
        ({"height_m": [1.0, 2.0]}, "height_m has shape (2,); allowed: (6,), that of distance_km"),
        ({"height_m": 5.0}, "height_m has shape (); allowed: (6,), that of distance_km"),
        ({"clutter_height_m": [1.0] * 7}, "clutter_height_m has shape (7,); allowed: (6,)"),
        ({"clutter_height_m": -1.0}, "clutter_height_m is -1 m at some point; allowed: 0 m or more"),
        (
            {"height_m": [1.0, 2.0, float("nan"), 1.0, 1.0, 1.0]},
            "height_m is nan at point 2; allowed: finite numbers; fill the void first",
        ),
        ({"distance_km": [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]}, "distance_km starts at 1; allowed: 0"),
        ({"distance_km": [0.0, 1.0, 1.0, 2.0, 3.0, 4.0]}, "distance_km does not rise at point 2 (1)"),
        (
            {"distance_km": [0.0, 1.0, 2.0, 3.0, 4.0, float("inf")]},
            "distance_km holds values that are not finite",
        ),
    ],
)
def test_profiles_that_cannot_be_used(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(ProfileError) as caught:
        ask(**changes)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)
    assert isinstance(caught.value, CombeError | ValueError)
