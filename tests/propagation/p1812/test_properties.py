"""P.1812-8 as physics has it: reciprocity, monotony in time, continuity, limits of flat and smooth Earth."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combe.propagation.p526.delta import actual_kernel
from combe.propagation.p1812 import (
    PathLoss,
    basic_loss,
    basic_loss_db,
    begin_loss,
    finish_loss_db,
    make_conditions,
    predict_path,
    summarise_exact,
)
from combe.propagation.p1812.ducting import ducting_floor_db
from combe.propagation.p1812.ducting_incidence import (
    ducting_incidence_percent,
    incidence_bounds_percent,
    inland_factor,
)
from combe.propagation.p1812.ducting_time import time_floor, time_floor_db, time_term_db
from combe.propagation.p1812.summary import radius_summary

BASE: dict[str, Any] = {
    "frequency_mhz": 600.0,
    "time_percent": 50.0,
    "tx_height_m": 60.0,
    "rx_height_m": 10.0,
    "latitude_deg": 50.0,
    "delta_n": 45.0,
    "n0": 325.0,
}


@st.composite
def profiles(draw: st.DrawFn, longest_km: float = 150.0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Draw distance, ground and cover of an invented hilly path."""
    count = draw(st.integers(8, 60))
    steps = np.array(draw(st.lists(st.floats(0.2, 1.0), min_size=count, max_size=count)))
    distance = np.concatenate(([0.0], np.cumsum(steps)))
    distance *= draw(st.floats(1.0, longest_km)) / distance[-1]
    hills = st.lists(st.floats(0.0, 400.0), min_size=count + 1, max_size=count + 1)
    covers = st.lists(st.sampled_from([0.0, 0.0, 10.0, 20.0]), min_size=count + 1, max_size=count + 1)
    return distance, np.array(draw(hills)), np.array(draw(covers))


CONDITIONS = st.fixed_dictionaries(
    {
        "frequency_mhz": st.floats(30.0, 6000.0),
        "latitude_deg": st.floats(-75.0, 75.0),
        "delta_n": st.floats(20.0, 80.0),
        "n0": st.floats(280.0, 380.0),
    }
)
HEIGHTS = st.floats(1.0, 300.0)


def edge_path(edge_m: float, **changes: Any) -> PathLoss:
    """Return the answer over a plain with one edge in the middle of 20 km."""
    distance, height = np.linspace(0.0, 20.0, 81), np.zeros(81)
    height[40] = edge_m
    return predict_path(distance, height, 0.0, 4, **(BASE | changes))


@settings(max_examples=60, deadline=None)
@given(profiles(), CONDITIONS, HEIGHTS, HEIGHTS, st.sampled_from(["horizontal", "vertical"]))
def test_diffraction_is_reciprocal(
    profile: tuple[np.ndarray, ...], air: dict[str, float], tx: float, rx: float, polarization: str
) -> None:
    distance, ground, cover = profile
    asked = BASE | air | {"polarization": polarization, "time_percent": 7.0}
    there = predict_path(distance, ground, cover, 4, **(asked | {"tx_height_m": tx, "rx_height_m": rx}))
    turned = distance[-1] - distance[::-1]
    turned[0] = 0.0
    back = predict_path(
        turned, ground[::-1], cover[::-1], 4, **(asked | {"tx_height_m": rx, "rx_height_m": tx})
    )
    for part in ("free_space_loss_db", "diffraction_median_db", "diffraction_beta_db", "spherical_beta_db"):
        assert getattr(there, part) == pytest.approx(getattr(back, part), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(profiles(), CONDITIONS, HEIGHTS, HEIGHTS, st.floats(1.0, 50.0), st.sampled_from([1, 3, 4]))
def test_quick_pricing_is_the_full_pricing(
    profile: tuple[np.ndarray, ...], air: dict[str, float], tx: float, rx: float, time: float, zone: int
) -> None:
    distance, ground, cover = profile
    conditions = make_conditions(time_percent=time, location_percent=90.0, location_sigma_db=5.5, **air)
    zones = np.full(distance.size, zone)
    summary = summarise_exact(
        distance, ground, cover, zones, tx, rx, conditions.median_radius_km, 500.0, 500.0
    )
    full = basic_loss(summary, conditions)
    assert basic_loss_db(summary, conditions) == pytest.approx(full.basic_transmission_loss_db, abs=1e-6)
    assert ducting_floor_db(summary, conditions) <= full.ducting_loss_db + 1e-9
    begun = begin_loss(summary._replace(roughness_m=np.nan), conditions)
    if not begun.ducting_counts:
        without = finish_loss_db(summary._replace(roughness_m=np.nan), conditions, begun)
        assert without == pytest.approx(full.basic_transmission_loss_db, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(profiles(), CONDITIONS, HEIGHTS, HEIGHTS)
def test_the_loss_grows_with_time(
    profile: tuple[np.ndarray, ...], air: dict[str, float], tx: float, rx: float
) -> None:
    distance, ground, cover = profile
    asked = BASE | air | {"tx_height_m": tx, "rx_height_m": rx}
    times = (1.0, 2.0, 5.0, 10.0, 20.0, 49.0, 50.0)
    found = [predict_path(distance, ground, cover, 4, **(asked | {"time_percent": p})) for p in times]
    for name in ("line_of_sight_loss_db", "troposcatter_loss_db", "ducting_loss_db"):
        values = [getattr(one, name) for one in found]
        assert np.all(np.diff(values) >= -1e-9), name
    if found[0].diffraction_beta_db <= found[0].diffraction_median_db:
        losses = [one.basic_transmission_loss_db for one in found]
        assert np.all(np.diff(losses) >= -1e-6)


@settings(max_examples=40, deadline=None)
@given(st.floats(-90.0, 90.0), st.floats(0.0, 500.0), st.floats(0.0, 1.0))
def test_incidence_keeps_its_bounds(latitude: float, land_km: float, share: float) -> None:
    least, greatest = incidence_bounds_percent(latitude)
    found = ducting_incidence_percent(latitude, land_km, inland_factor(land_km * share))
    assert least - 1e-9 <= found <= greatest + 1e-9
    assert greatest < 47.0


def test_incidence_hardly_jumps_at_seventy_degrees() -> None:
    # 4.17 is the printed rounding of 10^0.62 = 4.1687 (P.1812-8 eq. 5).
    tau = inland_factor(40.0)
    south, north = (ducting_incidence_percent(lat, 40.0, tau) for lat in (70.0, 70.0001))
    assert south == pytest.approx(north, rel=0.01)


def test_nothing_jumps_where_the_line_of_sight_is_lost() -> None:
    grazing = 35.0 - 500.0 * 10.0 * 10.0 / (6371.0 * 157.0 / 112.0)
    for time_percent in (1.0, 10.0, 50.0):
        clear = edge_path(grazing - 1e-6, time_percent=time_percent)
        shut = edge_path(grazing + 1e-6, time_percent=time_percent)
        assert clear.tx_horizon_mrad < shut.tx_horizon_mrad
        assert clear.basic_transmission_loss_db == pytest.approx(shut.basic_transmission_loss_db, abs=1e-3)
        assert clear.diffraction_median_db == pytest.approx(shut.diffraction_median_db, abs=1e-3)


def test_nothing_jumps_where_time_passes_the_incidence() -> None:
    incidence = edge_path(60.0).ducting_incidence_percent
    below = edge_path(60.0, time_percent=incidence - 1e-7)
    above = edge_path(60.0, time_percent=incidence + 1e-7)
    assert below.time_factor == 1.0 > above.time_factor
    for name in ("basic_transmission_loss_db", "notional_minimum_db", "diffraction_loss_db"):
        assert getattr(below, name) == pytest.approx(getattr(above, name), abs=1e-5)


def test_nothing_jumps_at_the_low_frequency_limit_of_ducting() -> None:
    below, above = (edge_path(60.0, frequency_mhz=f).ducting_loss_db for f in (499.9999, 500.0001))
    assert below == pytest.approx(above, abs=1e-3)


def test_nothing_jumps_where_the_smooth_earth_is_lost_from_sight() -> None:
    def spherical(distance_km: float) -> float:
        path = predict_path(
            np.linspace(0.0, distance_km, 200), np.zeros(200), 0.0, 1, **(BASE | {"delta_n": 40.0})
        )
        return path.spherical_median_db

    radius_km = 6371.0 * 157.0 / 117.0
    marginal_km = np.sqrt(0.002 * radius_km) * (np.sqrt(60.0) + np.sqrt(10.0))
    assert spherical(marginal_km - 1e-6) == pytest.approx(spherical(marginal_km + 1e-6), abs=1e-3)


def test_over_flat_ground_free_space_is_left() -> None:
    path = predict_path(
        np.linspace(0.0, 2.0, 50),
        np.zeros(50),
        0.0,
        4,
        **(BASE | {"tx_height_m": 300.0, "rx_height_m": 200.0}),
    )
    assert path.diffraction_median_db == 0.0
    assert path.basic_transmission_loss_db == pytest.approx(path.free_space_loss_db, abs=1e-3)
    slant_km = np.hypot(2.0, 0.1)
    assert path.free_space_loss_db == pytest.approx(92.4 + 20.0 * np.log10(0.6 * slant_km), abs=1e-9)
    # 199.36 − 92.4 = 106.96: P.1812-8 eq. (70) with eq. (8); P.1546 prints 106.9 for 1 kW e.r.p. at 1 km.
    assert path.field_strength_dbuv_m == pytest.approx(106.96 - 20.0 * np.log10(slant_km), abs=1e-3)


@pytest.mark.parametrize(("frequency_mhz", "expected"), [(500.0, 25.312), (600.0, 26.060), (800.0, 27.266)])
def test_one_edge_on_a_flat_earth(frequency_mhz: float, expected: float) -> None:
    # Worked out with P.1812-8 eq. (21): 20 km, aerials 10 m, an edge of 60 m mid-path.
    distance, height = np.array([0.0, 5.0, 10.0, 15.0, 20.0]), np.array([0.0, 0.0, 60.0, 0.0, 0.0])
    path = radius_summary(distance, height, 10.0, 10.0, 10.0, 10.0, 1e12)
    assert actual_kernel(path, 299.8 / frequency_mhz) == pytest.approx(expected, abs=0.005)


def test_cover_counts_between_the_terminals_only() -> None:
    distance, ground = np.linspace(0.0, 10.0, 51), np.zeros(51)
    cover = np.zeros(51)
    bare = predict_path(distance, ground, cover, 4, **BASE)
    cover[0] = cover[-1] = 50.0
    assert predict_path(distance, ground, cover, 4, **BASE) == bare
    cover[45] = 50.0
    covered = predict_path(distance, ground, cover, 4, **BASE)
    assert covered.diffraction_median_db > bare.diffraction_median_db + 10.0
    assert covered.tx_horizon_mrad == bare.tx_horizon_mrad
    assert covered.diffraction_tx_m == bare.diffraction_tx_m


def test_the_time_term_keeps_above_its_floor() -> None:
    """Go through times, rates and distances: A(p) falls as β rises, and stays above the floor."""
    rates = 10.0 ** np.linspace(-30.0, np.log10(46.0), 200)
    for distance_km in (0.25, 5.0, 50.0, 150.0, 400.0, 1000.0, 3000.0):
        for time_percent in (1.0, 3.0, 10.0, 25.0, 50.0):
            terms = np.array([time_term_db(distance_km, time_percent, beta) for beta in rates])
            assert np.all(np.diff(terms) <= 1e-9)
            for k in range(50, 200, 10):
                floor = time_floor_db(distance_km, time_floor(time_percent, rates[k]))
                assert np.all(terms[: k + 1] >= floor - 1e-9)
