"""Settlements still unserved, with their size and the missing decibels."""

import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.settlements import Units, group_cells, units_of, unserved_settlements


def points(people, margin_db):
    """Return units of one place each, from their margins."""
    heads, margin = np.array(people, dtype=float), np.array(margin_db, dtype=np.float32)
    where = np.arange(heads.size, dtype=float)
    return units_of(margin, heads, 10.0 + where, 47.0 + where, lambda layer: layer.astype(np.float64))


def test_places_by_their_unserved_people():
    units = points([500.0, 80.0, 300.0, 0.0, 40.0], [3.0, -2.5, -7.0, -1.0, math.nan])
    found = unserved_settlements(units, names=["Five", "Eight", "Three", "Nobody", "Unknown"])
    assert [(each.name, each.people, each.unserved) for each in found] == [
        ("Three", 300.0, 300.0),
        ("Eight", 80.0, 80.0),
    ]
    assert (found[0].missing_db, found[0].worst_missing_db) == (7.0, 7.0)
    assert (found[1].longitude_deg, found[1].latitude_deg) == (11.0, 48.0)


def test_groups_of_cells():
    counts = np.array([[5.0, 0.0, 0.0, 0.0], [0.0, 5.0, 0.0, 9.0], [0.0, 0.0, 0.0, 9.0]])
    labels = group_cells(counts)
    assert labels[0, 0] == labels[1, 1] == 0
    assert labels[1, 3] == labels[2, 3] == 1
    assert labels[0, 1] == -1
    assert group_cells(counts, least_people=6.0)[0, 0] == -1


def test_half_and_all_of_a_settlement():
    units = points([10.0, 50.0, 30.0, 20.0], [-1.0, -4.0, -9.0, 5.0])
    (found,) = unserved_settlements(units, labels=np.zeros(4, dtype=int), names=["Village"])
    assert (found.people, found.unserved, found.unknown) == (110.0, 90.0, 0.0)
    # A rise of 4 dB serves 60 of the 90 unserved, one of 1 dB only 10.
    assert (found.missing_db, found.worst_missing_db) == (4.0, 9.0)
    assert found.longitude_deg == pytest.approx((10 * 10 + 50 * 11 + 30 * 12 + 20 * 13) / 110)


def test_units_that_are_served_in_part():
    margin = np.array([[-2.0, -4.0, 6.0, math.nan]], dtype=np.float32)
    units = units_of(
        margin, np.array([100.0]), np.array([10.0]), np.array([47.0]), lambda layer: np.array([layer.mean()])
    )
    assert units.unserved == pytest.approx([0.5])
    assert units.unknown == pytest.approx([0.25])
    assert units.missing_db == pytest.approx([3.0])
    (found,) = unserved_settlements(units)
    assert (found.unserved, found.unknown) == (50.0, 25.0)


def test_none_and_small_ones():
    assert unserved_settlements(points([10.0], [1.0])) == ()
    assert unserved_settlements(points([10.0], [math.nan])) == ()
    assert unserved_settlements(points([10.0, 30.0], [-1.0, -1.0]), least_unserved=20.0)[0].people == 30.0
    assert unserved_settlements(points([10.0], [-1.0]), labels=np.array([-1])) == ()


def test_refusals():
    with pytest.raises(RangeError, match="number of settlement labels is 2; allowed: 1"):
        unserved_settlements(points([10.0], [-1.0]), labels=np.zeros(2, dtype=int))
    with pytest.raises(RangeError, match="number of settlement names is 1; allowed: 2"):
        unserved_settlements(points([1.0, 1.0], [-1.0, -1.0]), names=["One"])
    with pytest.raises(RangeError, match="shape of the counts"):
        group_cells(np.zeros(3))
    with pytest.raises(RangeError, match="least_people of a cell is 0"):
        group_cells(np.zeros((2, 2)), least_people=0.0)
    with pytest.raises(RangeError, match="shapes of the population units"):
        Units(*(np.zeros(2) for _ in range(5)), np.zeros(3))
