"""delta-Bullington against the Study Group 3 examples, worked values and a general-purpose library."""

import math
import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combe.errors import ProfileError, RangeError
from combe.propagation.p526 import delta_bullington, knife_edge_loss_db
from support_pycraf import pycraf_parts

REFERENCE = Path(
    os.environ.get("COMBE_REFERENCE_DATA", Path(__file__).parents[3] / "shared" / "reference_data")
)

EXAMPLES = [
    # Study Group 3 validation examples for delta-Bullington, published with the reference code of P.452:
    # file, htg, hrg, GHz, Lbulla, Lbulls, Ldsph, Ld; land, horizontal, ae 8500 km.
    ("profile3.dat", 30, 30, 1.0, 32.84284766, 13.74840484, 15.3485837, 34.44302652),
    ("profile3.dat", 50, 10, 2.5, 37.229036, 18.5970601, 23.6973069, 42.32928281),
    ("profile3.dat", 20, 20, 0.6, 31.22595813, 15.79373777, 20.91384864, 36.34606901),
    ("profile3.dat", 40, 50, 0.2, 24.87792613, 11.50981857, 14.32933641, 27.69744396),
    ("profile3.dat", 70, 5, 0.15, 24.78223928, 14.93033347, 33.13883693, 42.99074274),
    ("profile5.dat", 30, 30, 1.0, 17.62040631, 0, 0, 17.62040631),
    ("profile5.dat", 50, 10, 2.5, 25.1016907, 0, 0, 25.1016907),
    ("profile5.dat", 20, 20, 0.6, 20.25488733, 0, 0, 20.25488733),
    ("profile5.dat", 40, 50, 0.2, 10.1899085, 0, 0, 10.1899085),
    ("profile5.dat", 70, 5, 0.15, 16.27593106, 6.17409081, 10.63765222, 20.73949248),
]


@pytest.mark.parametrize(("file", "tx_m", "rx_m", "ghz", "actual", "smooth", "spherical", "total"), EXAMPLES)
def test_study_group_3_examples(file, tx_m, rx_m, ghz, actual, smooth, spherical, total):
    path = REFERENCE / "delta_bullington" / file
    if not path.is_file():
        pytest.skip(
            f"{file} of the Study Group 3 examples is not there; set COMBE_REFERENCE_DATA to its folder"
        )
    profile = np.loadtxt(path)
    found = delta_bullington(
        profile[:, 0], profile[:, 1], tx_height_m=tx_m, rx_height_m=rx_m, frequency_mhz=1000.0 * ghz
    )
    assert found.actual_db == pytest.approx(actual, abs=0.005)
    assert found.smooth_db == pytest.approx(smooth, abs=0.005)
    assert found.spherical_db == pytest.approx(spherical, abs=0.005)
    assert found.total_db == pytest.approx(total, abs=0.005)


def hills(seed, points=300, length_km=40.0, relief_m=300.0):
    rng = np.random.default_rng(seed)
    distance = np.linspace(0.0, length_km, points)
    height = np.cumsum(rng.normal(0.0, relief_m / 20.0, points))
    return distance, height - height.min()


@pytest.mark.parametrize("seed", range(12))
def test_against_pycraf(seed):
    """Agree with pycraf (P.452-16, a general-purpose library) on random profiles; ΔN gives ae = 8500 km."""
    pathprof, units = pycraf_parts()
    distance, height = hills(seed, points=250 + 37 * seed, length_km=12.0 + 6.0 * seed)
    tx_m, rx_m, ghz = 20.0 + seed, 10.0, 0.47 + 0.03 * seed
    path = pathprof.PathProp(
        ghz * units.GHz,
        290 * units.K,
        1013 * units.hPa,
        0 * units.deg,
        45 * units.deg,
        0.3 * units.deg,
        45 * units.deg,
        tx_m * units.m,
        rx_m * units.m,
        1 * units.m,
        50 * units.percent,
        delta_N=157.0 * (1.0 - 6371.0 / 8500.0) / units.km,
        N0=325.0 * units.dimensionless_unscaled,
        hprof_dists=distance * units.km,
        hprof_heights=height * units.m,
        hprof_bearing=0 * units.deg,
        hprof_backbearing=0 * units.deg,
    )
    expected_db = pathprof.loss_diffraction(path)[0].value
    found = delta_bullington(distance, height, tx_height_m=tx_m, rx_height_m=rx_m, frequency_mhz=1000 * ghz)
    assert found.total_db == pytest.approx(float(expected_db), abs=0.01)
    assert found.total_db > 1.0


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    tx_m=st.floats(5.0, 300.0),
    rx_m=st.floats(5.0, 300.0),
    frequency_mhz=st.floats(50.0, 3000.0),
    polarization=st.sampled_from(["horizontal", "vertical"]),
)
def test_reciprocity(seed, tx_m, rx_m, frequency_mhz, polarization):
    distance, height = hills(seed, points=80)
    common = {"frequency_mhz": frequency_mhz, "polarization": polarization}
    there = delta_bullington(distance, height, tx_height_m=tx_m, rx_height_m=rx_m, **common)
    back = delta_bullington(
        distance[-1] - distance[::-1], height[::-1], tx_height_m=rx_m, rx_height_m=tx_m, **common
    )
    assert there.total_db == pytest.approx(back.total_db, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(lift_m=st.floats(0.0, 400.0), step_m=st.floats(0.1, 50.0))
def test_a_higher_edge_never_costs_less(lift_m, step_m):
    def loss(edge_m):
        return delta_bullington(
            [0.0, 5.0, 9.0, 20.0],
            [0.0, 0.0, edge_m, 0.0],
            tx_height_m=30.0,
            rx_height_m=10.0,
            frequency_mhz=600.0,
            effective_radius_km=math.inf,
        ).total_db

    assert loss(lift_m + step_m) >= loss(lift_m) - 1e-9


def test_flat_earth_with_high_aerials_is_free_space():
    distance = np.linspace(0.0, 10.0, 101)
    found = delta_bullington(
        distance,
        np.zeros(101),
        tx_height_m=200.0,
        rx_height_m=200.0,
        frequency_mhz=600.0,
        effective_radius_km=math.inf,
    )
    assert found.total_db == 0.0


def test_bullington_adds_its_correction_to_the_edge():
    found = delta_bullington(
        [0.0, 10.0, 20.0],
        [0.0, 60.0, 0.0],
        tx_height_m=10.0,
        rx_height_m=10.0,
        frequency_mhz=600.0,
        effective_radius_km=math.inf,
    )
    edge_db = knife_edge_loss_db(50.0 * math.sqrt(2.0 / (299.8 / 600.0) * 2.0 / 10_000.0))
    assert found.actual_db == pytest.approx(edge_db + (1 - math.exp(-edge_db / 6)) * 10.4, abs=1e-9)


def test_two_points_have_nothing_between():
    found = delta_bullington([0.0, 5.0], [0.0, 0.0], tx_height_m=30.0, rx_height_m=30.0, frequency_mhz=600.0)
    assert found.actual_db == 0.0


@pytest.mark.parametrize(
    ("distance", "height", "words"),
    [
        ([0.0, 1.0], [0.0], "shapes"),
        ([0.0], [0.0], "at least 2"),
        ([0.0, 1.0, 1.0], [0.0, 0.0, 0.0], "ascend"),
        ([0.5, 1.0, 2.0], [0.0, 0.0, 0.0], "start at 0"),
        ([0.0, 1.0, 2.0], [0.0, math.nan, 0.0], "voids"),
    ],
)
def test_refuses_profiles(distance, height, words):
    with pytest.raises(ProfileError, match=words):
        delta_bullington(distance, height, tx_height_m=10.0, rx_height_m=10.0, frequency_mhz=600.0)


@pytest.mark.parametrize(
    "override",
    [
        {"tx_height_m": 0.0},
        {"rx_height_m": -3.0},
        {"frequency_mhz": 1.0},
        {"effective_radius_km": -8500.0},
        {"polarization": "circular"},
        {"sea_fraction": -0.1},
    ],
)
def test_refuses_values(override):
    values = {"tx_height_m": 10.0, "rx_height_m": 10.0, "frequency_mhz": 600.0} | override
    with pytest.raises(RangeError, match=next(iter(override))):
        delta_bullington([0.0, 5.0, 10.0], [0.0, 0.0, 0.0], **values)
