"""An edge that lies exactly on the line between the aerials: both horizon rays are that line.

At ν = 0 a knife edge takes 6.0 dB (P.526-16 §4.1) and the correction of §4.5.1 adds to it; were the term
dropped for its 0/0, a path that only just grazes would be priced as a clear one.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from combe.propagation.p526 import delta_bullington
from combe.propagation.p526.bullington import bullington_kernel, bullington_point

AERIALS = {"tx_height_m": 10, "rx_height_m": 10, "frequency_mhz": 600, "effective_radius_km": math.inf}
GRAZING_DB = 6.9 + 20.0 * math.log10(math.sqrt(1.01) - 0.1)
"""J(0) by P.526-16 eq. (31)."""


def expected_db(distance_km):
    return GRAZING_DB + (1.0 - math.exp(-GRAZING_DB / 6.0)) * (10.0 + 0.02 * distance_km)


def test_a_tie_is_an_edge_on_the_line():
    assert bullington_kernel(20.0, 110.0, 110.0, 0.0, 0.0, -math.inf, 0.5) == pytest.approx(expected_db(20.0))
    assert bullington_point(20.0, 110.0, 110.0, 0.0, 0.0) == (10.0, 0.0)


def test_a_tie_on_a_slope_is_one_too():
    slope = 40.0 / 16.0
    loss_db = bullington_kernel(16.0, 100.0, 140.0, slope, -slope, -math.inf, 0.5)
    assert loss_db == pytest.approx(expected_db(16.0))


def test_grazing_paths_cost_what_their_neighbours_do():
    """Over flat Earth an edge is moved to the line from 1 mm under it and 1 mm over it, on many paths."""
    generator = np.random.default_rng(5)
    for _ in range(300):
        distance = np.linspace(0.0, float(generator.integers(4, 40)), 17)
        ends = generator.integers(0, 200, 2)
        at = int(generator.integers(1, 16))
        line_m = ends[0] + (ends[1] - ends[0]) * at / 16.0 + 10.0
        losses = []
        for lift_m in (-1e-3, 0.0, 1e-3):
            ground = np.full(17, -400.0)
            ground[0], ground[-1], ground[at] = ends[0], ends[1], line_m + lift_m
            found = delta_bullington(
                distance,
                ground,
                tx_height_m=10,
                rx_height_m=10,
                frequency_mhz=600,
                effective_radius_km=math.inf,
            )
            losses.append(found.actual_db)
        assert losses[1] == pytest.approx(losses[0], abs=0.01)
        assert losses[1] == pytest.approx(losses[2], abs=0.01)
