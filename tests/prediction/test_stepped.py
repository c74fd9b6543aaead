"""What a ray tells of a path without looking back, against a search over all of its samples."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combe.prediction.ray_horizons import roughness_seen
from combe.prediction.skyline import COARSE_BLOCK, empty_state, new_skyline, see
from combe.prediction.smooth_steps import smooth_profile_stepped
from combe.propagation.summary import smooth_profile

STEP_KM = 0.1
lengths = st.integers(2, 5 * COARSE_BLOCK)


@given(
    samples=lengths,
    seed=st.integers(0, 10_000),
    ends=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
    slope=st.floats(-30.0, 30.0),
)
def test_roughness_is_the_highest_ground_between_two_samples(samples, seed, ends, slope):
    height_m = np.random.default_rng(seed).uniform(100.0, 300.0, samples)
    plain, state = new_skyline(samples), empty_state()
    for j, height in enumerate(height_m, start=1):
        state = see(plain, state, j, j * STEP_KM, float(height), 0.0, 0.0)
    first, last = (1 + round(share * (samples - 1)) for share in sorted(ends))
    over_m = height_m - (50.0 + slope * STEP_KM * np.arange(1, samples + 1))
    found = roughness_seen(plain, state, first, last, STEP_KM, 50.0, slope)
    assert found == pytest.approx(over_m[first - 1 : last].max(), abs=1e-9)


@settings(max_examples=300)
@given(
    samples=st.integers(1, 2000),
    beyond=st.floats(0.5, 1.5),
    tx_m=st.floats(1.0, 600.0),
    rx_m=st.floats(1.0, 600.0),
    radius_km=st.sampled_from([6371.0, 8500.0, 19113.0]),
)
def test_the_smooth_profile_is_that_of_all_samples(samples, beyond, tx_m, rx_m, radius_km):
    d, curvature = (samples + beyond) * STEP_KM, 500.0 / radius_km
    distance_km = np.concatenate([np.arange(samples + 1) * STEP_KM, [d]])
    expected = smooth_profile(distance_km, tx_m, rx_m, curvature)
    found = smooth_profile_stepped(samples, STEP_KM, d, tx_m, rx_m, curvature, -math.inf)
    assert found == pytest.approx(expected, abs=1e-9)
