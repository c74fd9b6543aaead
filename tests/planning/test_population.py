"""Checks that people are counted once each: served, unserved, or without prediction."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as st_numpy

from combe.errors import RangeError
from combe.planning.people_count import newly_served_mask, people_report, people_served

SHAPE = (3, 5)
counts = st_numpy.arrays(np.float64, SHAPE, elements=st.floats(0.0, 1e6))
fractions = st_numpy.arrays(np.float64, SHAPE, elements=st.floats(0.0, 1.0))

# Invented people in three cells, the last half outside the prediction.
PEOPLE = np.array([[100.0, 40.0, 10.0]])
SERVED = np.array([[1.0, 0.25, 0.0]])
PREDICTED = np.array([[1.0, 1.0, 0.5]])
NEW = np.array([[0.5, 0.25, 0.0]])


def test_people_by_hand() -> None:
    report = people_report(PEOPLE, served=SERVED, predicted=PREDICTED, newly_served=NEW)
    assert (report.total, report.served, report.unserved) == (150.0, 110.0, 35.0)
    assert (report.without_prediction, report.newly_served) == (5.0, 60.0)
    assert people_served(PEOPLE, SERVED) == 110.0


def test_nothing_to_compare_with() -> None:
    assert people_report(PEOPLE, served=SERVED, predicted=PREDICTED).newly_served is None


@given(counts, fractions, fractions, fractions)
def test_sums_are_conserved(people: Any, predicted: Any, of_predicted: Any, of_served: Any) -> None:
    served = predicted * of_predicted
    report = people_report(people, served=served, predicted=predicted, newly_served=served * of_served)
    parts = report.served + report.unserved + report.without_prediction
    assert parts == pytest.approx(report.total, rel=1e-12, abs=1e-9)
    assert report.total == pytest.approx(float(people.sum()))
    assert min(report.served, report.unserved, report.without_prediction) >= 0.0
    assert report.newly_served is not None
    assert 0.0 <= report.newly_served <= report.served + 1e-9
    assert report.served == people_served(people, served)


def test_small_counts_in_single_precision_are_summed_in_double() -> None:
    people = np.full((1, 10_000), 0.1, dtype=np.float32)
    people[0, 0] = 1e8
    assert people_served(people, np.ones_like(people)) == pytest.approx(1e8 + 9999 * 0.1, abs=0.01)


def test_resampling_strays_are_clipped() -> None:
    report = people_report(PEOPLE, served=PREDICTED + 5e-7, predicted=PREDICTED + 4e-7)
    assert report.served + report.unserved + report.without_prediction == pytest.approx(150.0, abs=1e-9)
    assert report.unserved == 0.0


def test_uncovered_people_are_0_and_not_nan() -> None:
    report = people_report(PEOPLE, served=np.zeros_like(PEOPLE), predicted=np.zeros_like(PEOPLE))
    assert (report.served, report.unserved, report.without_prediction) == (0.0, 0.0, 150.0)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"counts": PEOPLE * -1.0},
            "people per cell is negative or not finite in 3 of 3 cells; allowed: 0 or more",
        ),
        (
            {"counts": PEOPLE * np.nan},
            "people per cell is negative or not finite in 3 of 3 cells; allowed: 0 or more",
        ),
        (
            {"served": SERVED * np.nan},
            "served fraction is outside 0 to 1 or NaN in 3 of 3 cells; allowed: 0 to 1",
        ),
        (
            {"predicted": PREDICTED + 0.1},
            "predicted fraction is outside 0 to 1 or NaN in 2 of 3 cells; allowed: 0 to 1",
        ),
        (
            {"served": np.ones((1, 2))},
            "shape of the served fraction is (1, 2); allowed: (1, 3), as the people",
        ),
        (
            {"served": np.ones((1, 3))},
            "served fraction is over the predicted fraction in 1 of 3 cells; "
            "allowed: at most the predicted fraction",
        ),
        (
            {"newly_served": np.ones((1, 3))},
            "newly served fraction is over the served fraction in 2 of 3 cells; "
            "allowed: at most the served fraction",
        ),
    ],
)
def test_refused(change: dict[str, Any], message: str) -> None:
    good = {"counts": PEOPLE, "served": SERVED, "predicted": PREDICTED, "newly_served": NEW}
    with pytest.raises(RangeError) as caught:
        people_report(**(good | change))
    assert str(caught.value) == message


def test_new_means_after_and_not_before_where_before_is_known() -> None:
    after = np.array([True, True, True, False])
    before = np.array([False, True, False, False])
    known = np.array([True, True, False, True])
    np.testing.assert_array_equal(newly_served_mask(after, before, known), [True, False, False, False])
