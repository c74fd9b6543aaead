"""The quick summary of bare ground: each number that of the exact summary, and the same loss."""

import numpy as np
import pytest

from combe.prediction.quick_summary import summarise_bare
from combe.propagation.p1812 import basic_loss_db, make_conditions, summarise_exact
from combe.propagation.p1812.zones import INLAND

RADIUS_KM = 8930.0
AIR = make_conditions(frequency_mhz=634.0, time_percent=50.0, latitude_deg=50.0, delta_n=45.0, n0=325.0)


def profile(seed: int) -> tuple[np.ndarray, np.ndarray, float, float]:
    """Return distances, heights and aerials of an invented path: some rough, some smooth, some level."""
    rng = np.random.default_rng(seed)
    points = int(rng.integers(5, 400))
    distance = np.arange(points) * (rng.uniform(0.3, 60.0) / (points - 1))
    steps = rng.normal(scale=rng.choice([0.0, 0.5, 4.0, 20.0]), size=points)
    return distance, 200.0 + np.cumsum(steps), float(rng.uniform(2.0, 150.0)), float(rng.uniform(1.5, 30.0))


def both(seed: int):
    distance, ground, tx_m, rx_m = profile(seed)
    zone = np.full(distance.size, INLAND)
    inverse = np.concatenate(([np.nan], 1.0 / np.arange(1.0, distance.size + 1)))
    quick = summarise_bare(distance, ground, inverse, tx_m, rx_m, RADIUS_KM)
    exact = summarise_exact(
        distance, ground, np.zeros(distance.size), zone, tx_m, rx_m, RADIUS_KM, 500.0, 500.0
    )
    return quick, exact


@pytest.mark.parametrize("seed", range(120))
def test_each_number_is_that_of_the_exact_summary(seed: int) -> None:
    quick, exact = both(seed)
    for name, found, wanted in zip(quick.median._fields, quick.median, exact.median, strict=True):
        assert found == pytest.approx(wanted, rel=1e-9, abs=1e-8), f"median.{name}"
    for name in quick._fields[2:]:
        if name.endswith("horizon_km") or name == "roughness_m":
            continue  # where two horizons are equal to rounding, either may be taken
        assert getattr(quick, name) == pytest.approx(getattr(exact, name), rel=1e-9, abs=1e-8), name


def test_horizons_and_roughness_are_those_of_the_exact_summary() -> None:
    alike = 0
    for seed in range(200):
        quick, exact = both(seed)
        alike += all(
            getattr(quick, name) == pytest.approx(getattr(exact, name), rel=1e-9, abs=1e-8)
            for name in ("tx_horizon_km", "rx_horizon_km", "roughness_m")
        )
    assert alike >= 195


@pytest.mark.parametrize("seed", range(0, 200, 5))
def test_the_loss_is_the_same(seed: int) -> None:
    quick, exact = both(seed)
    assert basic_loss_db(quick, AIR) == pytest.approx(basic_loss_db(exact, AIR), abs=1e-6)
