"""Sums of fields are approximate: they are held to what noise, or one interferer, exactly asks alone."""

import math

import numpy as np
import pytest
from scipy.stats import norm

from combe.reception.judges import Rules
from combe.reception.summation import Summation, sum_fields
from support_judging import NO_NEGLECT, emission, judged, one_cell

MINIMUM, PROTECTION_DB, OWN_SIGMA_DB = 45.0, 20.0, 5.5
FACTOR_95 = 1.64


def summed(method, *others):
    """Return mean and deviation of the sum of noise and some nuisance fields (level, deviation)."""
    levels = np.array([[MINIMUM], *([level] for level, _ in others)])
    total = sum_fields(levels, np.array([0.0, *(sigma for _, sigma in others)]), Summation(method))
    return float(total.mean_dbuv_m[0]), float(total.sigma_db[0])


def judge(method, wanted, *others, percent=95.0):
    """Judge one place at which the aerial holds no interferer off; ``others`` are (field, deviation)."""
    emissions = [
        emission("West", -10e3),
        *(emission(f"O{n}", -20e3 - n, service="B", sigma_db=s) for n, (_, s) in enumerate(others)),
    ]
    fields = one_cell(wanted, *(level for level, _ in others))
    return judged(emissions, fields, Rules(percent, method, **NO_NEGLECT))


@pytest.mark.parametrize(("method", "wanted", "field", "sigma_db"), [("k-lnm", 40.0, 20.0, 12.0),
                         ("power sum", 35.0, 25.0, 12.0), ("schwartz-yeh", 35.0, 20.0, 12.0)])  # fmt: skip
def test_an_interferer_never_raises_the_share_of_places(method, wanted, field, sigma_db):
    """Under the minimum field a greater deviation of the sum would serve more places than noise alone."""
    mean, deviation = summed(method, (field + PROTECTION_DB, sigma_db))
    unheld = norm.cdf((wanted - mean) / math.hypot(OWN_SIGMA_DB, deviation))
    exact = norm.cdf((wanted - MINIMUM) / OWN_SIGMA_DB)
    assert unheld > exact + 0.001
    result = judge(method, wanted, (field, sigma_db))
    assert float(result.share[0, 0]) == pytest.approx(exact, abs=1e-6)
    assert float(result.noise_share[0, 0]) == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize("method", ["power sum", "schwartz-yeh"])
def test_several_interferers_never_ask_for_less_than_one_of_them(method):
    """A wide field far under a narrow one narrows their sum: 95 % of places would ask less than it alone."""
    others = ((30.0, 12.0), (29.0, 1.0))
    mean, deviation = summed(method, *((level + PROTECTION_DB, sigma) for level, sigma in others))
    unheld = mean + FACTOR_95 * math.hypot(OWN_SIGMA_DB, deviation)
    alone = max(
        level + PROTECTION_DB + FACTOR_95 * math.hypot(OWN_SIGMA_DB, sigma) for level, sigma in others
    )
    assert unheld < alone - 0.1
    result = judge(method, 90.0, *others)
    assert float(result.usable_dbuv_m[0, 0]) == pytest.approx(alone, abs=1e-3)
