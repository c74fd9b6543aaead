"""The growing convex hull against a plain search over all points."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from combe.prediction.skyline import farthest_along, push, steepest_at

heights = st.lists(st.floats(-500.0, 3000.0), min_size=1, max_size=60)


def build(ys):
    table, count = np.empty((2, len(ys) + 1)), 0
    for j, y in enumerate(ys, start=1):
        count = push(table, count, float(j), y)
    return table, count


@given(ys=heights, beyond=st.floats(0.5, 30.0), y=st.floats(-1000.0, 5000.0))
def test_steepest_at(ys, beyond, y):
    hull = build(ys)
    x = len(ys) + beyond
    expected = max((h - y) / (x - j) for j, h in enumerate(ys, start=1))
    k = steepest_at(*hull, x, y)
    assert abs((hull[0][1, k] - y) / (x - hull[0][0, k]) - expected) < 1e-9 * max(1.0, abs(expected))


@given(ys=heights, slope=st.floats(-200.0, 200.0))
def test_farthest_along(ys, slope):
    table, count = build(ys)
    k = farthest_along(table, count, slope)
    expected = max(h + slope * j for j, h in enumerate(ys, start=1))
    assert abs(table[1, k] + slope * table[0, k] - expected) < 1e-6


@given(ys=heights)
def test_slopes_descend_and_every_point_lies_below(ys):
    table, count = build(ys)
    slopes = np.diff(table[1, :count]) / np.diff(table[0, :count])
    assert (np.diff(slopes) < 1e-9).all()
    assert (
        np.interp(np.arange(1, len(ys) + 1), table[0, :count], table[1, :count]) >= np.array(ys) - 1e-6
    ).all()
