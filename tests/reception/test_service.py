"""Checks of served masks and of the weakest and strongest of several fields."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as st_numpy

from combe.errors import RangeError
from combe.reception.service import (
    predicted_mask,
    served_mask,
    strongest_field,
    weakest_field,
)

NAN = np.nan
ONE = np.array([[60.0, 50.0], [NAN, 40.0]], dtype=np.float32)
TWO = np.array([[55.0, 58.0], [70.0, NAN]], dtype=np.float32)
fields = st_numpy.arrays(np.float64, (3, 4), elements=st.floats(-50.0, 120.0) | st.just(np.nan))


def test_weakest_is_nan_where_any_is() -> None:
    weakest = weakest_field([ONE, TWO])
    np.testing.assert_array_equal(weakest, [[55.0, 50.0], [NAN, NAN]])
    assert weakest.dtype == np.float32


def test_strongest_is_nan_only_where_all_are() -> None:
    both = np.array([[NAN, 1.0], [2.0, NAN]])
    np.testing.assert_array_equal(strongest_field([ONE, TWO]), [[60.0, 58.0], [70.0, 40.0]])
    np.testing.assert_array_equal(strongest_field([both, both]), both)


def test_served_reaches_the_minimum_and_nan_is_not_served() -> None:
    np.testing.assert_array_equal(served_mask(ONE, 50.0), [[True, True], [False, False]])
    np.testing.assert_array_equal(served_mask(ONE, 50.1), [[True, False], [False, False]])
    np.testing.assert_array_equal(predicted_mask(ONE), [[True, True], [False, True]])


@given(st.lists(fields, min_size=1, max_size=4))
def test_order_and_bounds(several: list[Any]) -> None:
    weakest, strongest = weakest_field(several), strongest_field(several)
    np.testing.assert_array_equal(weakest, weakest_field(several[::-1]))
    np.testing.assert_array_equal(strongest, strongest_field(several[::-1]))
    np.testing.assert_array_equal(np.isnan(weakest), np.isnan(several).any(axis=0))
    np.testing.assert_array_equal(np.isnan(strongest), np.isnan(several).all(axis=0))
    known = ~np.isnan(weakest)
    assert (weakest[known] <= strongest[known]).all()


@given(fields, fields, st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_all_services_are_served_where_each_is(one: Any, two: Any, first: float, second: float) -> None:
    together = served_mask(weakest_field([one - first, two - second]), 0.0)
    apart = (one - first >= 0.0) & (two - second >= 0.0)
    np.testing.assert_array_equal(together, apart)


@given(fields, st.floats(-50.0, 120.0), st.floats(0.0, 50.0))
def test_a_higher_minimum_serves_no_more(field: Any, minimum: float, step: float) -> None:
    assert not (served_mask(field, minimum + step) & ~served_mask(field, minimum)).any()


def test_refused() -> None:
    with pytest.raises(RangeError, match="number of fields is 0; allowed: at least one"):
        weakest_field([])
    with pytest.raises(
        RangeError, match=r"shapes of the fields is \(2, 2\) and \(3,\); allowed: one shape for all"
    ):
        strongest_field([ONE, np.zeros(3)])
