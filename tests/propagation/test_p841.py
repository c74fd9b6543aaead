"""The worst month by ITU-R P.841: the formula from memory, figures worked out apart from this code."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.propagation.p841 import MONTH_MINUTES, worst_month_percent


@pytest.mark.parametrize(
    ("year_percent", "month_percent"),
    [
        (0.001, 0.00700),
        (0.01, 0.05186),
        (0.1, 0.38445),
        (1.0, 2.850),
        (3.0, 7.412),
        (10.0, 24.707),
        (30.0, 74.121),
        (50.0, 84.163),
        (100.0, 100.0),
    ],
)
def test_percentages_of_the_worst_month(year_percent: float, month_percent: float) -> None:
    assert worst_month_percent(year_percent) == pytest.approx(month_percent, rel=1e-4, abs=6e-6)


def test_nothing_happens_more_than_twelve_times_as_often() -> None:
    """The break lies at 1.575e-5 % of the year."""
    assert worst_month_percent(1.5e-5) == pytest.approx(1.8e-4)
    assert worst_month_percent(1.574e-5) / 1.574e-5 == 12.0
    assert worst_month_percent(1.576e-5) / 1.576e-5 < 12.0
    assert worst_month_percent(0.0) == 0.0


def test_the_parts_of_the_formula_meet() -> None:
    for edge in (3.0, 30.0):
        below, above = (worst_month_percent(edge * (1.0 + step)) for step in (-1e-9, 1e-9))
        assert above == pytest.approx(below, rel=1e-7)


def test_a_month_is_a_twelfth_of_the_year() -> None:
    assert pytest.approx(365.25 / 12.0 * 24.0 * 60.0) == MONTH_MINUTES


@pytest.mark.parametrize("percent", [-0.1, 100.1, float("nan")])
def test_it_refuses_other_percentages(percent: float) -> None:
    with pytest.raises(RangeError, match=r"year_percent is .*; allowed: 0 to 100"):
        worst_month_percent(percent)
