"""Harm that nobody can tell is counted as not known, also where a relay is known to do nothing at all."""

import numpy as np
import pyproj

from combe.planning.people_count import take_census
from combe.planning.tile_judge import Harm, Victim, count_harm
from combe.reception.harm import FALLS, SERVED_OTHERWISE, UNKNOWN_CHANGES
from combe.reception.standing import HarmPair
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People

GRID = StudyGrid(pyproj.CRS.from_epsg(32616), 730_000.0, 4_060_000.0, 500.0, 2, 3)
PEOPLE = People(
    np.array([[1.0, 20.0, 300.0], [4000.0, 50_000.0, 600_000.0]]),
    GRID.crs,
    (500.0, 0.0, GRID.west_m, 0.0, -500.0, GRID.north_m),
    "invented for this test",
    True,
    0,
)
CENSUS = take_census(PEOPLE, GRID)
NOTHING = np.zeros((0, 3), dtype=np.int32)


def doubts(*cells):
    flags = np.zeros((1, 2, 3), dtype=np.uint8)
    flags[0].ravel()[list(cells)] = 1
    return flags


def harm(entries, doubtful, census=CENSUS):
    (found,) = count_harm(
        (HarmPair("Newcomer", 0),),
        (Victim("Parent", "A", 37),),
        np.array(entries, dtype=np.int32).reshape(-1, 3),
        doubtful,
        census,
    )
    return found


def test_a_relay_that_does_nothing_where_all_is_known_harms_nobody():
    assert harm(NOTHING, doubts()) == Harm("Newcomer", "Parent", "A", 37, 0, 0.0, 0.0, 0.0, 0.0)
    assert harm(NOTHING, doubts(), None).not_known is None


def test_a_relay_that_does_nothing_anyone_can_tell_leaves_the_doubtful_not_known():
    """No entry, and yet the public of cells 1 and 3 lives where some interferer has no prediction."""
    found = harm(NOTHING, doubts(1, 3))
    assert (found.cells, found.fall_below, found.not_known) == (0, 0.0, 4020.0)


def test_what_is_told_of_a_cell_turns_its_doubt_and_no_other():
    """Cell 1 is doubtful with the relay alone, 2 only without it; 3 falls, and 4 is served otherwise."""
    found = harm(
        [(0, 1, UNKNOWN_CHANGES), (0, 2, UNKNOWN_CHANGES), (0, 3, FALLS), (0, 4, FALLS | SERVED_OTHERWISE)],
        doubts(1, 5),
    )
    assert found.not_known == 300.0 + 600_000.0
    assert (found.cells, found.fall_below) == (2, 54_000.0)
    assert (found.served_otherwise, found.left_without) == (50_000.0, 4000.0)
