"""Least power for a site: by hand, and never at the cost of a target."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.siting.directions import headroom_of, least_power
from combe.planning.siting.problem import score_hills, served_of
from combe.planning.siting.template import pattern_options
from support_siting import SERVICES, half_pattern, sample_problem

OMNI = pattern_options([("omni", None)], SERVICES)
TURNED = pattern_options([("omni", None), ("half", half_pattern())], SERVICES, azimuth_step_deg=90.0)


def test_omni_comes_down_to_the_farthest_target() -> None:
    headroom, bearing = np.array([12.0, 3.0, 7.0]), np.array([0, 900, 1800])
    found = least_power(headroom, bearing, np.array([True, True, True]), OMNI)
    assert found.down_db == pytest.approx(3.0)
    assert found.radiated_db == pytest.approx(-3.0)
    only = least_power(headroom, bearing, np.array([True, False, True]), OMNI)
    assert only.down_db == pytest.approx(7.0)
    # Two targets keep 2 x 10 of 360 degrees, so nearly all else is spill.
    assert only.spill_db == pytest.approx(-7.0 + 10.0 * np.log10(338.0 / 360.0), abs=0.05)


def test_a_pattern_towards_the_targets_radiates_least() -> None:
    headroom, bearing = np.array([5.0, 5.0]), np.array([800, 1000])
    found = least_power(headroom, bearing, np.array([True, True]), TURNED)
    assert TURNED[found.option].azimuth_deg == 90.0
    assert found.radiated_db < least_power(headroom, bearing, np.array([True, True]), OMNI).radiated_db - 2.0


def test_targets_all_around_need_omni() -> None:
    headroom, bearing = np.full(3, 5.0), np.array([0, 1200, 2400])
    assert least_power(headroom, bearing, np.full(3, True), TURNED).option == 0


def test_nobody_is_lost_on_real_ground() -> None:
    problem = sample_problem()
    hill = int(np.argmax(score_hills(problem, 0, problem.size).people))
    served = served_of(problem, hill, 0)
    headroom, bearing = headroom_of(problem, hill)
    assert served.any()
    found = least_power(headroom, bearing, served, OMNI)
    assert found.down_db >= 0.0
    assert headroom[served].min() - found.down_db == pytest.approx(0.0, abs=1e-9)


def test_nothing_to_serve_and_nothing_that_serves() -> None:
    with pytest.raises(RangeError, match="targets that depend on the site is none"):
        least_power(np.array([1.0]), np.array([0]), np.array([False]), OMNI)
    with pytest.raises(RangeError, match="options that serve all targets of the site is none"):
        least_power(np.array([1.0, -np.inf]), np.array([0, 0]), np.array([True, True]), OMNI)
