"""What a ray tells of a path without looking back, against a search over all of its samples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.prediction.ray_summary_p1812 import _roughness, _Surface
from combe.prediction.skyline import COARSE_BLOCK, empty_state, new_skyline, see

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
    found = _roughness(plain, state, first, last, _Surface(50.0, slope, STEP_KM))
    assert found == pytest.approx(over_m[first - 1 : last].max(), abs=1e-9)
