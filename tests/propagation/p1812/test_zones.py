"""P.1812-8 over sea, coast and inland: shares, stretches, and the ducts that carry signals over the sea."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from combe.propagation.p1812 import PathLoss, predict_path
from combe.propagation.p1812.zones import (
    COASTAL,
    INLAND,
    SEA,
    coast_distances_km,
    longest_stretch_km,
    sea_fraction,
)

DISTANCE = np.linspace(0.0, 150.0, 301)
ASKED: dict[str, Any] = {
    "frequency_mhz": 600.0,
    "tx_height_m": 60.0,
    "rx_height_m": 10.0,
    "latitude_deg": 52.0,
    "delta_n": 45.0,
    "n0": 325.0,
}


def zones(*stretches: tuple[int, int]) -> np.ndarray:
    """Return codes given as (code, count)."""
    return np.concatenate([np.full(count, code) for code, count in stretches])


def invented_crossing(zone: int | np.ndarray, time_percent: float, **changes: Any) -> PathLoss:
    """Return the answer over 150 km at sea level, of one zone or of several."""
    return predict_path(DISTANCE, np.zeros(301), 0.0, zone, time_percent=time_percent, **(ASKED | changes))


def test_boundaries_lie_midway() -> None:
    distance = np.arange(11.0)
    codes = zones((INLAND, 3), (COASTAL, 2), (SEA, 4), (COASTAL, 2))
    assert longest_stretch_km(distance, codes, INLAND) == 2.5
    assert longest_stretch_km(distance, codes, COASTAL) == 4.5
    assert sea_fraction(distance, codes) == 0.4


def test_published_mixed_path() -> None:
    # Layout of set b2iseac: spacing 1 km about 12.5 and 17.5 km, sea to midway between 231.1 and 231.6 km.
    distance = np.array([0.0, 12.0, 13.0, 17.0, 18.0, 231.1, 231.6, 235.1])
    codes = np.array([4, 4, 3, 3, 1, 1, 3, 3])
    assert longest_stretch_km(distance, codes, INLAND) == pytest.approx(12.5)
    assert longest_stretch_km(distance, codes, COASTAL) == pytest.approx(17.5)
    assert sea_fraction(distance, codes) == pytest.approx(0.9096129307, abs=1e-10)


def test_uneven_steps_and_one_zone() -> None:
    distance = np.array([0.0, 0.2, 1.0, 5.0, 5.5])
    assert longest_stretch_km(distance, np.full(5, INLAND), COASTAL) == pytest.approx(5.5)
    assert longest_stretch_km(distance, np.full(5, SEA), COASTAL) == 0.0
    assert sea_fraction(distance, np.full(5, SEA)) == 1.0
    assert sea_fraction(distance, np.full(5, COASTAL)) == 0.0


def test_stretches_do_not_join_across_the_sea() -> None:
    distance = np.arange(9.0)
    codes = zones((INLAND, 3), (SEA, 2), (INLAND, 4))
    assert longest_stretch_km(distance, codes, INLAND) == 3.5


def test_ducts_lift_the_field_over_sea_for_one_percent_of_time() -> None:
    inland, sea = invented_crossing(INLAND, 1.0), invented_crossing(SEA, 1.0)
    assert sea.ducting_incidence_percent > inland.ducting_incidence_percent * 3.0
    assert sea.ducting_loss_db < inland.ducting_loss_db - 10.0
    assert sea.diffraction_with_ducting_db < sea.basic_diffraction_db
    assert sea.field_strength_dbuv_m > inland.field_strength_dbuv_m + 10.0


def test_little_of_it_is_left_for_half_of_the_time() -> None:
    gain = {}
    for time_percent in (1.0, 50.0):
        sea, inland = (invented_crossing(zone, time_percent) for zone in (SEA, INLAND))
        gain[time_percent] = sea.field_strength_dbuv_m - inland.field_strength_dbuv_m
    assert gain[1.0] > gain[50.0] + 10.0


def test_coast_lies_between_sea_and_inland() -> None:
    fields = [invented_crossing(zone, 1.0).field_strength_dbuv_m for zone in (INLAND, COASTAL, SEA)]
    assert fields == sorted(fields)
    assert fields[0] < fields[1] < fields[2]


def test_more_sea_more_field() -> None:
    fields = [
        invented_crossing(zones((INLAND, 301 - sea), (SEA, sea)), 1.0).field_strength_dbuv_m
        for sea in (0, 75, 150, 225, 300)
    ]
    assert fields == sorted(fields)


def test_an_aerial_beside_the_sea_couples_better() -> None:
    far = invented_crossing(SEA, 1.0)
    near = invented_crossing(SEA, 1.0, tx_coast_distance_km=0.5)
    # Act = −3 exp(−0.25 · 0.5²)(1 + tanh(0.07 · (50 − 60))) = −1.1150 dB (P.1812-8 eq. 49).
    assert near.ducting_loss_db - far.ducting_loss_db == pytest.approx(-1.1150, abs=1e-4)
    both = invented_crossing(SEA, 1.0, tx_coast_distance_km=0.5, rx_coast_distance_km=0.5)
    assert both.ducting_loss_db < near.ducting_loss_db - 4.0


def test_coupling_needs_sea_for_three_quarters_of_the_path() -> None:
    codes = zones((INLAND, 80), (SEA, 221))
    assert 0.7 < invented_crossing(codes, 1.0).sea_fraction < 0.75
    far, near = (invented_crossing(codes, 1.0, rx_coast_distance_km=km) for km in (500.0, 0.5))
    assert near.ducting_loss_db == far.ducting_loss_db


def test_no_location_spread_for_a_receiver_at_sea() -> None:
    codes = zones((SEA, 300), (INLAND, 1))
    for zone, expected in ((SEA, 0.0), (codes, 9.0487)):
        found = invented_crossing(zone, 10.0, location_percent=95.0, location_sigma_db=5.5)
        assert found.location_correction_db == pytest.approx(expected, abs=1e-4)


def test_polarization_matters_over_sea_at_low_frequency() -> None:
    horizontal, vertical = (
        invented_crossing(SEA, 50.0, frequency_mhz=30.0, polarization=word)
        for word in ("horizontal", "vertical")
    )
    assert vertical.spherical_median_db < horizontal.spherical_median_db - 5.0


@pytest.mark.parametrize(
    ("zones", "tx_km", "rx_km"),
    [
        ([4, 4, 4, 4, 4], 500.0, 500.0),
        ([1, 1, 1, 1, 1], 0.0, 0.0),
        ([4, 3, 1, 4, 4], 1.5, 1.5),
        ([1, 4, 4, 4, 4], 0.0, 3.5),
        ([4, 1, 4, 1, 4], 0.5, 0.5),
        ([4, 4, 4, 3, 1], 3.5, 0.0),
    ],
)
def test_distances_to_the_coast_end_half_way_to_the_first_point_at_sea(zones, tx_km, rx_km):
    assert coast_distances_km(np.arange(5.0), np.array(zones)) == (tx_km, rx_km)
