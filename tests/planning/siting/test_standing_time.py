"""Siting for more than half of the time: priced as coverage is, and bounded by the median."""

import numpy as np
import pytest

from combe.planning.siting.problem import Terms, make_problem
from combe.prediction.conditions import Conditions
from combe.prediction.time import standing_loss_db
from support_prediction import sample_area
from support_siting import MINIMA, SERVICES, headroom, low_cells, people_in, rough_area, template

ONE = template(services=SERVICES[:1])


def headroom_for(area, percent, *, bounded=True, relay=ONE):
    known = np.flatnonzero(np.isfinite(area.heights_m.ravel()))
    count = len(relay.services)
    problem = make_problem(
        area, known[:: known.size // 150], people_in(area, low_cells(area, 40), services=count), relay,
        MINIMA[:count], Terms(Conditions("p1812", time_percent=percent)),
    )  # fmt: skip
    return headroom(problem, 0, 150, bounded=bounded)


@pytest.mark.parametrize("ground", ["sample", "rough"])
def test_the_loss_is_that_of_the_construction(ground):
    area = sample_area(90.0) if ground == "sample" else rough_area(5)
    usual, rare, standing = (headroom_for(area, percent, bounded=False) for percent in (50.0, 10.0, 90.0))
    known = np.isfinite(usual)
    assert np.allclose(-standing[known], standing_loss_db(-usual[known], -rare[known]), atol=1e-8)
    assert np.median((usual - standing)[known]) > 0.1


@pytest.mark.parametrize("ground", ["sample", "rough"])
def test_the_bound_of_the_median_hides_nobody(ground):
    area = sample_area(90.0) if ground == "sample" else rough_area(5)
    found, whole = (headroom_for(area, 90.0, bounded=each, relay=template()) for each in (True, False))
    served = whole >= 0.0
    assert 0 < served.sum() < served.size
    assert np.array_equal(found >= 0.0, served)
    assert np.allclose(found[served], whole[served], rtol=0.0, atol=1e-8)
