"""P.1812-8 sub-models fed with published geometry: figures from logs of the Study Group 3 validation set."""

from __future__ import annotations

import math

import pytest

from combe.propagation.p1812 import P1812Loss, P1812Summary, basic_loss, basic_loss_db, make_conditions
from combe.propagation.p1812.combination import (
    angle_factor,
    distance_factor,
    ducting_minimum_db,
    notional_minimum_db,
    with_ducting_db,
    with_troposcatter_db,
)
from combe.propagation.p1812.ducting_incidence import ducting_incidence_percent, inland_factor
from combe.propagation.p1812.line_of_sight import focusing_db, free_space_slant_loss_db
from combe.propagation.p1812.normal import inverse_normal
from combe.propagation.summary import PathSummary

MIXED_PATH = {"latitude_deg": 53.68658428, "delta_n": 45.0, "n0": 326.079979}
HILL_PATH = {"latitude_deg": 53.20515067, "delta_n": 45.0, "n0": 326.079979}


def only_terminals(distance_km: float, tx_m: float, rx_m: float) -> PathSummary:
    """Return a diffraction summary with published ends; its obstruction is left out (no loss)."""
    clear = -math.inf
    return PathSummary(distance_km, tx_m, rx_m, clear, clear, clear, 1e6, 1e6, clear, clear, clear)


def mixed_path() -> P1812Summary:
    """Return the published geometry of set b2iseac: 235 km, mostly sea."""
    path = only_terminals(235.1, 814.4, 118.3)
    surface = (79.94772037, -36.51428779, 79.94772037, -36.51428779)
    horizons = (121.1, 46.0, -13.50412507, -5.147057563)
    return P1812Summary(
        path, path, *surface, *horizons, 13.72716582, 17.5, 12.5, 0.9096129307, 500.0, 500.0, 0.0
    )


def hill_path() -> P1812Summary:
    """Return the published geometry of set b2iseac_rural_land_10km."""
    path = only_terminals(10.0, 814.4, 257.3)
    surface = (574.05538, 274.52262, 574.05538, 250.3)
    horizons = (6.5, 3.5, -40.05017496, 85.02712119)
    return P1812Summary(path, path, *surface, *horizons, 192.685617, 10.0, 10.0, 0.0, 500.0, 500.0, 0.0)


def priced(summary: P1812Summary, time_percent: float, air: dict[str, float]) -> P1812Loss:
    return basic_loss(summary, make_conditions(frequency_mhz=95.3, time_percent=time_percent, **air))


@pytest.mark.parametrize(
    ("time_percent", "ducting_db", "troposcatter_db", "sight_db"),
    [
        (1.0, 154.5096301, 148.4453017, 114.9896269),
        (10.0, 179.6563748, 155.2386935, 117.5896268),
        (50.0, 238.5948458, 163.1185082, 119.4069487),
    ],
)
def test_mixed_path(time_percent: float, ducting_db: float, troposcatter_db: float, sight_db: float) -> None:
    found = priced(mixed_path(), time_percent, MIXED_PATH)
    assert found.ducting_incidence_percent == pytest.approx(4.26330636, rel=1e-8)
    assert found.path_angle_mrad == pytest.approx(7.673515171, rel=1e-8)
    assert found.ducting_loss_db == pytest.approx(ducting_db, abs=1e-5)
    assert found.troposcatter_loss_db == pytest.approx(troposcatter_db, abs=1e-6)
    assert found.line_of_sight_loss_db == pytest.approx(sight_db, abs=1e-6)


@pytest.mark.parametrize(
    ("time_percent", "ducting_db", "troposcatter_db", "sight_db"),
    [
        (1.0, 154.5673468, 143.0367167, 89.20303586),
        (10.0, 176.120892, 149.8301084, 90.84654932),
        (50.0, 235.3394953, 157.7099232, 91.99531592),
    ],
)
def test_hill_path(time_percent: float, ducting_db: float, troposcatter_db: float, sight_db: float) -> None:
    found = priced(hill_path(), time_percent, HILL_PATH)
    assert found.ducting_incidence_percent == pytest.approx(5.523157665, rel=1e-8)
    assert found.ducting_loss_db == pytest.approx(ducting_db, abs=1e-5)
    assert found.troposcatter_loss_db == pytest.approx(troposcatter_db, abs=1e-6)
    assert found.line_of_sight_loss_db == pytest.approx(sight_db, abs=1e-6)


@pytest.mark.parametrize("time_percent", [1.0, 10.0, 50.0])
def test_quick_pricing_of_published_geometry(time_percent: float) -> None:
    for summary, air in ((mixed_path(), MIXED_PATH), (hill_path(), HILL_PATH)):
        conditions = make_conditions(frequency_mhz=95.3, time_percent=time_percent, **air)
        full = basic_loss(summary, conditions).basic_transmission_loss_db
        assert basic_loss_db(summary, conditions) == pytest.approx(full, abs=1e-6)


@pytest.mark.parametrize(
    ("time_percent", "factor"),
    [(1.0, 1.0), (10.0, 0.744629294), (50.0, 7.635522669e-10)],
)
def test_time_factor(time_percent: float, factor: float) -> None:
    found = priced(mixed_path(), time_percent, MIXED_PATH)
    assert found.time_factor == pytest.approx(factor, rel=1e-6, abs=1e-12)


def test_combination_of_the_mixed_path_at_ten_percent() -> None:
    """Follow eq. (59) to (63) with the values of log b2iseac_1."""
    notional = notional_minimum_db(
        117.5896268, 116.6269678, 21.04655309, 160.6866898, 0.9096129307, 0.744629294
    )
    assert notional == pytest.approx(129.2950654, abs=1e-6)
    assert ducting_minimum_db(179.6563748, 117.5896268) == pytest.approx(179.6563748, abs=1e-6)
    assert with_ducting_db(138.6361798, 179.6563748, distance_factor(235.1)) == 138.6361798
    assert with_troposcatter_db(155.2386935, 138.6361798) == pytest.approx(138.635142, abs=1e-6)


def test_weights() -> None:
    # Logs rburg_rural_noclutter_los_0 (θ, Fj), b2iseac_rural_land_10km_0 and …_1km_eqdist_0 (d, Fk).
    assert angle_factor(0.000672798176) == pytest.approx(0.9917498148, rel=1e-9)
    assert distance_factor(10.0) == pytest.approx(0.8175744762, rel=1e-9)
    assert distance_factor(1.05795) == pytest.approx(0.9448676132, rel=1e-9)


@pytest.mark.parametrize(
    ("latitude", "land", "inland", "expected"),
    [
        (53.20515067, 10.0, 10.0, 5.523157665),  # b2iseac_rural_land_10km
        (53.1856432, 1.05795, 1.05795, 7.232830417),  # b2iseac_rural_land_1km_eqdist
        (53.68658428, 17.5, 12.5, 4.26330636),  # b2iseac
        (48.58877214, 96.2, 96.2, 1.442216533),  # rburg_rural_noclutter
    ],
)
def test_incidence(latitude: float, land: float, inland: float, expected: float) -> None:
    assert ducting_incidence_percent(latitude, land, inland_factor(inland)) == pytest.approx(
        expected, rel=1e-8
    )


def test_line_of_sight() -> None:
    # Log b2iseac_rural_land_10km_0; the fade order of 4.34 dB is worked out for dlt + dlr = 40 km.
    assert free_space_slant_loss_db(10.0, 814.4, 257.3, 0.0953) == pytest.approx(91.99531592, abs=1e-7)
    assert focusing_db(30.0, 10.0, 1.0) == pytest.approx(-4.34, abs=0.005)
    assert focusing_db(30.0, 10.0, 50.0) == 0.0


@pytest.mark.parametrize(
    ("chance", "expected"), [(0.01, 2.326785), (0.05, 1.645211), (0.1, 1.281729), (0.3, 0.524002)]
)
def test_inverse_normal(chance: float, expected: float) -> None:
    # The rational approximation of P.1546 and P.1812, worked out; odd about one half.
    assert inverse_normal(chance) == pytest.approx(expected, abs=1e-6)
    assert inverse_normal(1.0 - chance) == pytest.approx(-expected, abs=1e-6)
    assert inverse_normal(0.5) == pytest.approx(1.3e-9, abs=1e-10)
