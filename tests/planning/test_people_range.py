"""Ranges of people: against figures worked out by hand, and against draws of the errors one by one."""

import numpy as np
import pyproj
import pytest
from scipy.stats import norm

from combe.errors import RangeError
from combe.evidence import people_served
from combe.planning.people_count import DistrictPeople, Districts, take_census
from combe.planning.people_range import (
    MarginError,
    chance_of_more,
    common_errors,
    count_ranges,
    homes_of,
    newly_served_draws,
    range_of,
)
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People

NAN = np.nan
SIDE = 40
GRID = StudyGrid(pyproj.CRS.from_epsg(32616), 730_000.0, 4_060_000.0, 100.0, SIDE, SIDE)


@pytest.mark.parametrize("case", tuple(people_served.cases()), ids=lambda case: case.case)
def test_people_expected_under_a_scatter_and_a_common_error(case):
    assert case.compute() == pytest.approx(case.expected, abs=case.tolerance)


def census_of(counts, districts=None):
    transform = (100.0, 0.0, 730_000.0, 0.0, -100.0, 4_060_000.0)
    people = People(counts, GRID.crs, transform, "invented for this test", True, 0)
    return take_census(people, GRID, districts)


def scene(seed=7):
    """Return people, margins after and before, in which a relay gains some places and loses others."""
    random = np.random.default_rng(seed)
    counts = random.gamma(0.4, 20.0, (SIDE, SIDE))
    counts[0, :5] = 0.0
    before = random.normal(-2.0, 9.0, (SIDE, SIDE)).astype(np.float32)
    after = np.maximum(before, random.normal(-4.0, 12.0, (SIDE, SIDE)).astype(np.float32))
    after[5:8] = before[5:8] - 6.0
    after[20], before[20] = NAN, NAN
    before[21] = NAN
    before[22] = -np.inf
    return counts, after, before


def drawn(counts, after, before, common_db, place_db, draws, seed=11):
    """Count people draw by draw with an error of the area and one of each place: (draws, 4)."""
    random = np.random.default_rng(seed)
    found = []
    for _ in range(draws):
        error = random.normal(0.0, common_db) + random.normal(0.0, place_db, after.shape)
        served, was = after + error >= 0.0, before + error >= 0.0
        known = ~np.isnan(before)
        masks = (served, was, served & known & ~was, was & (after + error < 0.0))
        found.append([float(counts[mask].sum()) for mask in masks])
    return np.array(found)


def rows(ranges):
    return ranges.served, ranges.served_before, ranges.newly_served, ranges.lost


@pytest.mark.parametrize(
    ("common_db", "place_db", "near"),
    [(4.0, 7.5, 0.15), (1.0, 3.0, 0.15), (0.0, 7.5, 0.18), (4.0, 0.0, 0.18)],
)
def test_ranges_are_those_of_many_draws(common_db, place_db, near):
    """Near in deviations of the draws; one kind of error alone leaves sums of few cells, or steps."""
    counts, after, before = scene()
    (found,) = count_ranges(homes_of(census_of(counts)), after, before, MarginError(common_db, place_db))
    draws = drawn(counts, after, before, common_db, place_db, 3000)
    for column, each in zip(draws.T, rows(found), strict=True):
        spread = column.std()
        low, high = np.percentile(column, (10.0, 90.0))
        assert each.expected == pytest.approx(column.mean(), abs=0.08 * spread)
        assert each.low == pytest.approx(low, abs=near * spread)
        assert each.high == pytest.approx(high, abs=near * spread)


def test_the_range_of_the_newly_served_is_no_difference_of_ranges():
    counts, after, before = scene()
    (found,) = count_ranges(homes_of(census_of(counts)), after, before, MarginError(4.0, 7.5))
    width = found.newly_served.high - found.newly_served.low
    assert width < 0.5 * (found.served.high - found.served_before.low - found.newly_served.expected)
    assert width < 0.5 * (found.served.high - found.served.low)


def test_without_an_error_the_range_is_the_count():
    counts, after, before = scene()
    (found,) = count_ranges(homes_of(census_of(counts)), after, before, MarginError(0.0, 0.0))
    for each, mask in zip(
        rows(found),
        (after >= 0.0, before >= 0.0, (after >= 0.0) & (before < 0.0), (before >= 0.0) & (after < 0.0)),
        strict=True,
    ):
        people = pytest.approx(float(counts[mask].sum()), rel=1e-6)
        assert (each.low, each.expected, each.high) == (people, people, people)
    known = float(counts[~np.isnan(after)].sum())
    assert found.unserved.expected == pytest.approx(known - found.served.expected, rel=1e-6)


def test_unserved_are_the_rest_of_those_with_a_prediction():
    counts, after, before = scene()
    (found,) = count_ranges(homes_of(census_of(counts)), after, before, MarginError(4.0, 7.5))
    known = float(counts[~np.isnan(after)].sum())
    assert found.unserved.low + found.served.high == pytest.approx(known, rel=1e-6)
    assert found.unserved.high + found.served.low == pytest.approx(known, rel=1e-6)


def test_districts_have_their_own_ranges_and_few_people_are_less_sure():
    counts, after, before = scene()
    inner = np.zeros_like(counts)
    inner[:10] = counts[:10]
    hamlet = np.zeros_like(counts)
    hamlet[30, 30], counts[30, 30] = 40.0, 40.0
    after[30, 30] = 3.0
    parts = [inner, hamlet]

    def people_of(index):
        return DistrictPeople(slice(0, SIDE), slice(0, SIDE), parts[index])

    census = census_of(counts, Districts(("north", "hamlet"), people_of))
    whole, north, alone, rest = count_ranges(homes_of(census), after, before, MarginError(4.0, 7.5))
    assert north.served.expected + alone.served.expected + rest.served.expected == pytest.approx(
        whole.served.expected, rel=1e-6
    )
    draws = drawn(inner, after, before, 4.0, 7.5, 2000)
    assert north.served.low == pytest.approx(np.percentile(draws[:, 0], 10.0), abs=0.15 * draws[:, 0].std())
    # One house is served whole or not at all.
    assert alone.served.expected == pytest.approx(40.0 * norm.cdf(3.0 / np.hypot(4.0, 7.5)), rel=0.01)
    assert (alone.served.low, alone.served.high) == (pytest.approx(2.0, abs=4.0), 40.0)


def test_an_error_may_differ_from_cell_to_cell():
    counts, after, before = scene()
    homes = homes_of(census_of(counts))
    common, place = np.full(after.shape, 4.0), np.full(after.shape, 7.5)
    (maps,) = count_ranges(homes, after, before, MarginError(common, place))
    assert maps == count_ranges(homes, after, before, MarginError(4.0, 7.5))[0]
    common[:20], place[:20] = 0.0, 0.0
    (half,) = count_ranges(homes, after, before, MarginError(common, place))
    assert half.served.high - half.served.low < 0.7 * (maps.served.high - maps.served.low)


def test_common_errors_have_equal_chances():
    drawn_errors = common_errors(200)
    assert float(drawn_errors.mean()) == pytest.approx(0.0, abs=1e-12)
    assert float(drawn_errors.std()) == pytest.approx(1.0, abs=0.01)


def test_margins_of_another_grid_are_refused():
    counts, _, _ = scene()
    with pytest.raises(RangeError, match="cells of the margins is 2; allowed: 1600, as of the people"):
        count_ranges(homes_of(census_of(counts)), np.zeros((1, 2)), np.zeros((1, 2)), MarginError(4.0, 7.5))


def test_newly_served_by_draws_are_those_of_the_range():
    counts, after, before = scene()
    homes, error = homes_of(census_of(counts)), MarginError(4.0, 7.5)
    draws = newly_served_draws(homes, after, before, error)
    (found,) = count_ranges(homes, after, before, error)
    ranged = range_of(draws)
    assert (ranged.low, ranged.high) == (found.newly_served.low, found.newly_served.high)
    assert ranged.expected == pytest.approx(found.newly_served.expected, rel=3e-3)


def test_the_chance_that_one_number_is_greater():
    assert chance_of_more(np.array([5.0, 6.0]), np.array([1.0, 2.0])) == 1.0
    assert chance_of_more(np.array([1.0]), np.array([1.0])) == 0.5
    random = np.random.default_rng(3)
    one, other = random.normal(1.0, 3.0, 2000), random.normal(0.0, 4.0, 3000)
    assert chance_of_more(one, other) == pytest.approx(norm.cdf(1.0 / 5.0), abs=0.02)
    assert chance_of_more(other, one) == pytest.approx(1.0 - chance_of_more(one, other))
