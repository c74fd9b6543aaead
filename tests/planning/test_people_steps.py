"""People at many thresholds at once are those that are counted at each threshold by itself."""

import numpy as np
import pyproj
import pytest

from combe.errors import RangeError
from combe.planning.people_count import (
    DistrictPeople,
    Districts,
    Standing,
    count_by_district,
    count_standing,
    take_census,
)
from combe.planning.people_range import homes_of
from combe.planning.people_steps import Margins, count_by_step
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People
from support_recount import NAMES

SIDE = 30
GRID = StudyGrid(pyproj.CRS.from_epsg(32616), 730_000.0, 4_060_000.0, 100.0, SIDE, SIDE)
STEPS_DB = np.arange(-15.0, 25.5, 0.5)


@pytest.fixture(scope="module")
def scene():
    """Return a census with two districts, and margins with cells that nobody knows, gained and lost."""
    random = np.random.default_rng(5)
    # Cells of the people are larger than the grid's and lie across its edge.
    counts = random.gamma(0.5, 40.0, (12, 12))
    people = People(counts, GRID.crs, (270.0, 0.0, 729_900.0, 0.0, -270.0, 4_060_100.0), "invented", True, 0)

    def people_of(index):
        rows = slice(0, 5) if index == 0 else slice(5, 9)
        return DistrictPeople(rows, slice(0, 12), counts[rows])

    census = take_census(people, GRID, Districts(("North", "Middle"), people_of))
    before = random.normal(-2.0, 9.0, (SIDE, SIDE)).astype(np.float32)
    noise = np.maximum(before, random.normal(-1.0, 9.0, (SIDE, SIDE)).astype(np.float32))
    after = noise - np.maximum(random.normal(0.0, 4.0, (SIDE, SIDE)), 0.0).astype(np.float32)
    # Some margins lie on a threshold to the bit.
    after[10, :10], before[11, :10] = 3.0, 3.0
    after[20], noise[20], before[21], before[22] = np.nan, np.nan, np.nan, -np.inf
    return census, after, before, noise


def shifted(scene, excess_db):
    """Return how the cells stand where so much more is asked."""
    _, after, before, noise = scene
    return Standing(*(each.astype(np.float64) - excess_db for each in (after, before, noise)))


@pytest.mark.parametrize("excess_db", [-15.0, -6.5, 0.0, 3.0, 25.0])
def test_each_threshold_has_the_people_that_are_counted_there(scene, excess_db):
    census, after, before, noise = scene
    found = count_by_step(homes_of(census), Margins(after, before, noise), STEPS_DB)
    step = int(np.flatnonzero(excess_db == STEPS_DB)[0])
    standing = shifted(scene, excess_db)
    everybody = [("all", count_standing(census, standing)), *count_by_district(census, standing)]
    assert len(everybody) == 4
    for group, (name, people) in enumerate(everybody):
        for ours, theirs in NAMES.items():
            series = getattr(found, ours)[group, step]
            assert series == pytest.approx(getattr(people, theirs), abs=1e-3), (name, ours)
        assert found.total[group] == pytest.approx(people.total, abs=1e-3)
        assert found.without_prediction[group] == pytest.approx(people.without_prediction, abs=1e-3)
    if excess_db in (0.0, 3.0):
        assert all(getattr(everybody[0][1], each) > 20.0 for each in NAMES.values())


def test_what_is_not_compared_is_not_told(scene):
    census, after, *_ = scene
    found = count_by_step(homes_of(census), Margins(after), STEPS_DB)
    assert {each for each in found._fields if getattr(found, each) is None} == {
        "before",
        "newly",
        "lost",
        "limited",
    }


def test_thresholds_that_do_not_rise_and_other_cells_are_refused(scene):
    census, after, *_ = scene
    homes = homes_of(census)
    with pytest.raises(RangeError, match="rising"):
        count_by_step(homes, Margins(after), np.array([0.0, 0.0]))
    with pytest.raises(RangeError, match="as of the people"):
        count_by_step(homes, Margins(after[1:]), STEPS_DB)
