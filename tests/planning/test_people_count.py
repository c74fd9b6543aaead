"""People counted by hand: four cells in a row, by margins before and after and by what interferes."""

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as st_numpy

from combe.planning.people_count import (
    DistrictPeople,
    Districts,
    Standing,
    count_by_district,
    count_reach,
    count_standing,
    people_where,
    take_census,
)
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People

GRID = StudyGrid(pyproj.CRS.from_epsg(32616), 730_000.0, 4_060_000.0, 100.0, 1, 4)
NAN = np.nan


def people_of(counts, west_m=730_000.0):
    return People(
        counts=np.array([counts]),
        crs=GRID.crs,
        transform=(100.0, 0.0, west_m, 0.0, -100.0, 4_060_000.0),
        source="invented for this test",
        invented=True,
        nodata_cells=0,
    )


ALL_CELLS = slice(None)
PEOPLE = people_of([1.0, 10.0, 100.0, 1000.0])
CENSUS = take_census(PEOPLE, GRID)


def row(*margins):
    return np.array([margins])


def test_people_are_counted_before_and_after():
    people = count_standing(CENSUS, Standing(row(5.0, 2.0, -3.0, NAN), row(5.0, -1.0, -9.0, NAN)))
    assert people.total == pytest.approx(1111.0)
    assert people.served_before == pytest.approx(1.0)
    assert people.newly_served == pytest.approx(10.0)
    assert people.served == pytest.approx(11.0)
    assert people.unserved == pytest.approx(100.0)
    assert people.without_prediction == pytest.approx(1000.0)
    assert people.served_twice is None


def test_a_margin_of_nought_serves():
    assert count_standing(CENSUS, Standing(row(0.0, -0.001, NAN, NAN))).served == pytest.approx(1.0)


def test_a_service_that_was_never_served_is_new_everywhere():
    before = row(-np.inf, -np.inf, -np.inf, NAN)
    people = count_standing(CENSUS, Standing(row(1.0, -1.0, 2.0, NAN), before))
    assert people.served_before == 0.0
    assert people.newly_served == pytest.approx(101.0)


def test_people_outside_the_grid_are_not_counted():
    wide = people_of([7.0, 1.0, 10.0, 100.0, 1000.0, 7.0], west_m=729_900.0)
    people = count_standing(take_census(wide, GRID), Standing(row(1.0, 1.0, -1.0, NAN)))
    assert (people.total, people.served) == (pytest.approx(1111.0), pytest.approx(11.0))
    assert people.without_prediction == pytest.approx(1000.0)


def test_nobody_is_counted_without_a_census():
    assert take_census(None, GRID) is None
    assert count_standing(None, Standing(row(1.0, 1.0, 1.0, 1.0))) is None
    assert count_reach(None, row(1.0) > 0, row(1.0) > 0) is None
    assert people_where(None, [row(1.0) > 0, row(1.0) > 0]) == [None, None]


def test_what_interference_takes_is_told_apart():
    # Cell by cell 1, 10, 100 and 1000 people: served twice, served, lost, and kept off by interference.
    people = count_standing(
        CENSUS,
        Standing(
            row(5.0, 2.0, -3.0, -2.0),
            row(5.0, 4.0, 6.0, -8.0),
            row(5.0, 4.0, 6.0, 3.0),
            np.array([[2, 1, 0, 0]], dtype=np.int16),
            np.array([[0, 1, 0, 0]], dtype=np.int16),
        ),
    )
    before_after = (people.served, people.served_before, people.newly_served, people.lost)
    assert before_after == (11.0, 111.0, 0.0, 100.0)
    assert people.served_twice == 1.0
    assert people.limited_by_interference == 1100.0
    assert people.interference_unknown == 10.0


def test_masks_are_counted_as_margins_are():
    margin_db = row(5.0, 2.0, -3.0, NAN)
    assert count_reach(CENSUS, margin_db >= 0.0, ~np.isnan(margin_db)) == count_standing(
        CENSUS, Standing(margin_db)
    )


def test_people_under_masks_alike_or_not():
    first, other, nowhere = row(True, False, True, False), row(True, True, True, True), np.zeros((1, 4), bool)
    found = people_where(CENSUS, [first, nowhere, other, first.copy(), nowhere])
    assert found == [pytest.approx(101.0), 0.0, pytest.approx(1111.0), pytest.approx(101.0), 0.0]


def test_districts_and_who_lives_in_none():
    labels = np.array([[0, 1, 1, -1]])
    named = Districts(
        ("Upper", "Lower"),
        lambda index: DistrictPeople(ALL_CELLS, ALL_CELLS, np.where(labels == index, PEOPLE.counts, 0.0)),
    )
    census = take_census(PEOPLE, GRID, named)
    found = dict(count_by_district(census, Standing(row(1.0, -1.0, 1.0, 1.0))))
    assert {name: (each.total, each.served) for name, each in found.items()} == {
        "Upper": (1.0, 1.0),
        "Lower": (110.0, 100.0),
        "elsewhere": (1000.0, 1000.0),
    }


margins = st_numpy.arrays(np.float32, (1, 4), elements=st.one_of(st.floats(-9, 9, width=32), st.just(NAN)))
heads = st.lists(st.floats(0.0, 1e6), min_size=4, max_size=4)


@given(heads, margins, margins)
def test_nobody_is_lost_or_counted_twice(counts, after, before):
    people = count_standing(take_census(people_of(counts), GRID), Standing(after, before))
    near = {"rel": 1e-6, "abs": 1e-6}
    assert people.served + people.unserved + people.without_prediction == pytest.approx(people.total, **near)
    unknown = float(np.array(counts)[(np.isnan(before) & (after >= 0.0))[0]].sum())
    unheard = float(np.array(counts)[(np.isnan(after) & (before >= 0.0))[0]].sum())
    moved = people.newly_served - people.lost + unknown - unheard
    assert people.served - people.served_before == pytest.approx(moved, **near)


def test_on_a_raster_of_another_projection():
    """Population cells of 3 arc seconds, cut by the edges of the masks: the states still add up."""
    grid = StudyGrid(pyproj.CRS.from_epsg(32632), 500_000.0, 5_300_000.0, 50.0, 120, 160)
    lon, lat = pyproj.Transformer.from_crs(32632, 4326, always_xy=True).transform(504_000.0, 5_297_000.0)
    counts = np.random.default_rng(2).gamma(0.4, 30.0, (50, 60))
    transform = (1 / 1200, 0.0, lon - 30 / 1200, 0.0, -1 / 1200, lat + 25 / 1200)
    people = People(counts, pyproj.CRS.from_epsg(4326), transform, "invented for tests", True, 0)
    down, across = np.mgrid[:120, :160]
    before = np.where(np.hypot(down - 50, across - 60) < 40, 3.0, -3.0)
    after = np.where(np.hypot(down - 60, across - 90) < 45, 3.0, -3.0)
    after[:, 90:] = NAN
    census = take_census(people, grid)
    found = count_standing(census, Standing(after, before))
    assert found.served + found.unserved + found.without_prediction == pytest.approx(census.total, rel=1e-5)
    states = [before >= 0.0, np.isnan(after) & (before >= 0.0)]
    served_before, unheard = people_where(census, states)
    assert found.served_before == pytest.approx(served_before, rel=1e-6)
    assert found.served == pytest.approx(served_before - unheard + found.newly_served - found.lost, rel=1e-5)
    assert min(found.newly_served, found.lost, unheard) > 0.0
