"""The public face of P.2001-4: what it takes, what it refuses and how it says so."""

from __future__ import annotations

import dataclasses
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from combe.errors import ProfileError, RangeError
from combe.propagation.p2001 import Climate, PathLoss, predict_path
from support_p2001 import ASKED, HUMID, RAINY, TEMPERATE

DISTANCE = [float(km) for km in range(12)]
HEIGHT = [10.0, 20.0, 30.0, 20.0, 10.0, 10.0, 40.0, 10.0, 10.0, 10.0, 10.0, 10.0]


def ask(**changes: Any) -> PathLoss:
    """Return the answer for a small invented path with some arguments changed."""
    return predict_path(**({"distance_km": DISTANCE, "height_m": HEIGHT, "zone": [4] * 12} | ASKED | changes))


def test_lists_arrays_and_single_numbers_give_the_same() -> None:
    found = ask()
    assert ask(distance_km=np.array(DISTANCE), height_m=np.array(HEIGHT, dtype=np.float32)) == found
    assert ask(zone=4) == found
    assert ask(zone=np.full(12, 4, dtype=np.uint8), frequency_mhz=600, time_percent=99) == found
    assert ask(climate=replace(TEMPERATE, troposcatter_climate=np.float64(5.0))) == found


def test_arguments_are_left_as_they_were() -> None:
    distance, height = np.array(DISTANCE), np.array(HEIGHT)
    ask(distance_km=distance, height_m=height)
    assert distance.tolist() == DISTANCE
    assert height.tolist() == HEIGHT


@pytest.mark.parametrize("changes", [{}, {"climate": RAINY, "frequency_mhz": 12_000.0}, {"zone": 1}])
def test_the_answer_is_frozen_plain_and_finite(changes: dict[str, Any]) -> None:
    found = ask(**changes)
    for field in dataclasses.fields(found):
        value = getattr(found, field.name)
        wanted = bool if field.name in ("line_of_sight", "rain_counted") else float
        assert type(value) is wanted, field.name
        assert np.isfinite(value), field.name
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.distance_km = 1.0  # type: ignore[misc]


def test_every_name_is_explained() -> None:
    for about in (PathLoss, Climate):
        names = {field.name for field in dataclasses.fields(about)}
        assert about.__doc__ is not None
        assert all(re.search(rf"\b{name}\b", about.__doc__) for name in names)


def test_gains_and_places_count_where_the_recommendation_has_them() -> None:
    """Gains in the coupling loss of scatter alone; places by their latitude alone."""
    found, strong = ask(), ask(tx_gain_dbi=20.0, rx_gain_dbi=14.0)
    assert strong.scatter_loss_db - found.scatter_loss_db == pytest.approx(0.07 * (np.exp(1.87) - 1.0))
    assert strong.normal_db == found.normal_db
    assert strong.anomalous_db == found.anomalous_db
    moved = ask(tx_longitude_deg=-100.0, rx_longitude_deg=-99.6)
    assert moved.basic_transmission_loss_db == pytest.approx(found.basic_transmission_loss_db, abs=1e-9)
    south = ask(tx_latitude_deg=-50.0, rx_latitude_deg=-50.0)
    assert south.basic_transmission_loss_db == pytest.approx(found.basic_transmission_loss_db, abs=1e-9)
    assert ask(tx_latitude_deg=5.0, rx_latitude_deg=5.0).multipath_percent != found.multipath_percent


def test_polarization_counts_in_diffraction() -> None:
    low = {"frequency_mhz": 30.0, "zone": 1, "tx_height_m": 10.0, "height_m": [0.0] * 12}
    vertical, horizontal = ask(polarization="vertical", **low), ask(**low)
    assert vertical.diffraction_loss_db < horizontal.diffraction_loss_db - 3.0


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"frequency_mhz": 29.9}, "frequency_mhz is 29.9; allowed: 30 to 50000 MHz (P.2001-4)"),
        ({"frequency_mhz": 50_001.0}, "frequency_mhz is 50001.0; allowed: 30 to 50000 MHz"),
        ({"frequency_mhz": float("nan")}, "frequency_mhz is nan; allowed: 30 to 50000 MHz"),
        ({"time_percent": 9e-6}, "time_percent is 9e-06; allowed: 0.00001 to 99.99999 % of an average year"),
        ({"time_percent": 100.0}, "time_percent is 100.0; allowed: 0.00001 to 99.99999 %"),
        ({"tx_height_m": 0.0}, "tx_height_m is 0.0; allowed: above 0 m (over ground, P.2001-4)"),
        ({"rx_height_m": float("nan")}, "rx_height_m is nan; allowed: above 0 m"),
        ({"rx_height_m": 7991.0}, "rx_height_m is 7991.0 on ground at 10 m; allowed: up to 8000 m above"),
        ({"tx_latitude_deg": 91.0}, "tx_latitude_deg is 91.0; allowed: -90 to 90 degrees, north positive"),
        ({"rx_latitude_deg": -91.0}, "rx_latitude_deg is -91.0; allowed: -90 to 90 degrees"),
        ({"tx_longitude_deg": 181.0}, "tx_longitude_deg is 181.0; allowed: -180 to 180 degrees, east"),
        ({"rx_longitude_deg": -181.0}, "rx_longitude_deg is -181.0; allowed: -180 to 180 degrees"),
        ({"tx_gain_dbi": 101.0}, "tx_gain_dbi is 101.0; allowed: -100 to 100 dBi"),
        ({"rx_gain_dbi": float("nan")}, "rx_gain_dbi is nan; allowed: -100 to 100 dBi"),
        ({"polarization": "slant"}, "polarization is 'slant'; allowed: 'horizontal' or 'vertical'"),
        ({"zone": [4] * 11 + [2]}, "zone is 2; allowed: 1 (sea), 3 (coastal land) or 4 (inland)"),
        (
            {"distance_km": np.linspace(0.0, 20_020.0, 12)},
            "distance_km is 20020.0; allowed: a path of up to 20015 km, half the way round the Earth",
        ),
        (
            {"distance_km": np.linspace(0.0, 1e-4, 12), "height_m": [0.0] * 12, "tx_height_m": 10.0},
            "dB; allowed: paths with a loss of 20 dB or more (P.2001-4)",
        ),
    ],
)
def test_numbers_outside_their_range(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        ask(**changes)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "changes",
    [
        {"frequency_mhz": 30.0},
        {"frequency_mhz": 50_000.0},
        {"time_percent": 1e-5},
        {"time_percent": 99.99999},
        {"tx_height_m": 7990.0},
        {"tx_height_m": 1e-3},
        {"tx_latitude_deg": 90.0, "rx_latitude_deg": 90.0},
        {"tx_latitude_deg": -90.0, "rx_longitude_deg": -180.0},
        {"distance_km": np.linspace(0.0, 20_015.0, 12)},
        {"distance_km": np.linspace(0.0, 0.05, 12)},
    ],
)
def test_the_ends_of_the_ranges_are_priced(changes: dict[str, Any]) -> None:
    for climate in (TEMPERATE, RAINY):
        assert 20.0 <= ask(climate=climate, **changes).basic_transmission_loss_db < np.inf


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"distance_km": [0.0, 1.0]},
            "the profile has shape (2,); allowed: (n,) with n of 11 or more points",
        ),
        ({"height_m": [1.0, 2.0]}, "height_m has shape (2,); allowed: (12,), that of distance_km"),
        ({"height_m": 5.0}, "height_m has shape (); allowed: (12,), that of distance_km"),
        ({"zone": [4] * 11}, "zone has shape (11,); allowed: (12,)"),
        (
            {"height_m": [1.0, float("nan"), *HEIGHT[2:]]},
            "height_m is nan at point 1; allowed: finite numbers; fill the void first",
        ),
        ({"distance_km": [km + 1.0 for km in DISTANCE]}, "distance_km starts at 1; allowed: 0"),
        ({"distance_km": [0.0, 1.0, 1.0, *DISTANCE[3:]]}, "distance_km does not rise at point 2 (1)"),
        ({"distance_km": [*DISTANCE[:11], float("inf")]}, "distance_km holds values that are not finite"),
    ],
)
def test_profiles_that_cannot_be_used(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(ProfileError) as caught:
        ask(**changes)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"median_dn": -42.0}, "median_dn is -42.0; allowed: 0 to 156 N-units/km, a fall being positive"),
        ({"median_dn": 157.0}, "median_dn is 157.0; allowed: 0 to 156"),
        ({"super_slope": -1.0}, "super_slope is -1.0; allowed: 0 to 1000 N-units/km (maps of P.2001-4)"),
        ({"sub_slope": float("nan")}, "sub_slope is nan; allowed: 0 to 1000"),
        ({"dn_65m_1_percent": 230.0}, "dn_65m_1_percent is 230.0; allowed: -2000 to 0 N-units/km, a fall"),
        ({"foes_0_1_mhz": 0.0}, "foes_0_1_mhz is 0.0; allowed: 0.01 to 30 MHz"),
        ({"foes_1_mhz": 5.5e6}, "foes_1_mhz is 5500000.0; allowed: 0.01 to 30 MHz"),
        ({"foes_10_mhz": -1.0}, "foes_10_mhz is -1.0; allowed: 0.01 to 30 MHz"),
        ({"foes_50_mhz": 31.0}, "foes_50_mhz is 31.0; allowed: 0.01 to 30 MHz"),
        ({"rain_height_km": 2200.0}, "rain_height_km is 2200.0; allowed: -5 to 10 km"),
        ({"water_vapour_g_m3": -1.0}, "water_vapour_g_m3 is -1.0; allowed: 0 to 100 g/m³"),
        ({"troposcatter_climate": 7}, "troposcatter_climate is 7; allowed: 0 (sea), 1, 2, 3, 4, 5 or 6"),
        ({"troposcatter_climate": 2.5}, "troposcatter_climate is 2.5; allowed: 0 (sea)"),
        ({"rain_six_hours_percent": 101.0}, "rain_six_hours_percent is 101.0; allowed: 0 to 100 %"),
        ({"rain_mm_per_year": -1.0}, "rain_mm_per_year is -1.0; allowed: 0 to 20000 mm"),
        ({"convective_rain_share": 30.0}, "convective_rain_share is 30.0; allowed: 0 to 1"),
        (
            {"convective_rain_share": None},
            "rain of the climate is given by rain_six_hours_percent, rain_mm_per_year alone; allowed: ",
        ),
    ],
)
def test_climates_that_no_map_holds(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(RAINY, **changes)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("median_dn", 0.0, 156.0),
        ("super_slope", 0.0, 1000.0),
        ("sub_slope", 0.0, 1000.0),
        ("dn_65m_1_percent", -2000.0, 0.0),
        ("foes_0_1_mhz", 0.01, 30.0),
        ("foes_1_mhz", 0.01, 30.0),
        ("foes_10_mhz", 0.01, 30.0),
        ("foes_50_mhz", 0.01, 30.0),
        ("rain_height_km", -5.0, 10.0),
        ("water_vapour_g_m3", 0.0, 100.0),
        ("rain_six_hours_percent", 0.0, 100.0),
        ("rain_mm_per_year", 0.0, 20_000.0),
        ("convective_rain_share", 0.0, 1.0),
    ],
)
def test_the_ends_of_the_ranges_of_a_climate_are_priced(name: str, low: float, high: float) -> None:
    for inside, outside in ((low, low - 1e-3), (high, high + 1e-3)):
        found = ask(climate=replace(RAINY, **{name: inside}))
        assert np.isfinite(found.basic_transmission_loss_db)
        with pytest.raises(RangeError, match=f"{name} is "):
            replace(RAINY, **{name: outside})


def test_a_climate_without_rain_says_so() -> None:
    assert not HUMID.rain_known
    assert RAINY.rain_known
    assert not ask(climate=HUMID).rain_counted
    assert ask(climate=RAINY).rain_counted
    assert ask(climate=RAINY).rain_percent > 0.0
