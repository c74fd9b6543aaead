"""By how much one plan serves more than another: against draws of the errors one by one, and by hand."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.people_difference import COUNTS, Judged, count_differences
from combe.planning.people_range import MarginError, homes_of
from planning.test_people_range import SIDE, census_of, scene

ERROR = MarginError(4.0, 7.5)


def plan(after, before, error=ERROR):
    return Judged(after, before, error, error)


def plans(seed=7):
    """Return people, two plans with the same parents, and where both are served from one mast."""
    counts, after, before = scene(seed)
    random = np.random.default_rng(seed + 1)
    other = np.maximum(before, after + random.normal(1.0, 6.0, after.shape)).astype(np.float32)
    alike = random.random((SIDE, SIDE)) < 0.5
    other[alike] = after[alike] + 1.0
    return counts, plan(after, before), plan(other, before), alike


def drawn(counts, first, second, alike, error=ERROR, draws=4000, seed=5):
    """Return the differences of people served (draws,), drawn with one error where masts are alike."""
    random = np.random.default_rng(seed)
    known = ~np.isnan(first.margin_db) & ~np.isnan(second.margin_db)
    found = []
    for _ in range(draws):
        common = random.normal(0.0, error.common_db, 3)
        place = random.normal(0.0, error.place_db, (3, SIDE, SIDE))
        one = np.where(alike, common[0] + place[0], common[1] + place[1])
        two = np.where(alike, common[0] + place[0], common[2] + place[2])
        served = [known & (each.margin_db + off >= 0.0) for each, off in ((first, one), (second, two))]
        found.append(counts[served[1]].sum() - counts[served[0]].sum())
    return np.array(found)


@pytest.mark.parametrize("error", [ERROR, MarginError(0.0, 7.5), MarginError(4.0, 1.0)])
def test_ranges_and_chances_are_those_of_many_draws(error):
    counts, first, second, alike = plans()
    first, second = (plan(each.margin_db, each.margin_before_db, error) for each in (first, second))
    (found,) = count_differences(homes_of(census_of(counts)), first, second, alike)
    told = drawn(counts, first, second, alike, error)
    spread = told.std()
    for end, percent in ((found.served.range.low, 10.0), (found.served.range.high, 90.0)):
        assert end == pytest.approx(np.percentile(told, percent), abs=0.2 * spread)
    assert found.served.range.expected == pytest.approx(told.mean(), abs=0.12 * spread)
    assert found.served.chance_of_more == pytest.approx(np.mean(told > 0.0), abs=0.06)


def test_a_plan_held_against_itself_differs_in_nobody():
    counts, first, _, _ = plans()
    everywhere = np.ones((SIDE, SIDE), dtype=bool)
    (found,) = count_differences(homes_of(census_of(counts)), first, first, everywhere)
    for name in COUNTS:
        each = getattr(found, name)
        assert (each.range.low, each.range.expected, each.range.high) == (0.0, 0.0, 0.0)
        assert each.chance_of_more == 0.5
    assert found.only_second.high == found.only_first.high == 0.0


def test_one_error_takes_nothing_from_a_difference_and_two_do():
    """With 1 dB more from the same mast nobody is lost; were the errors apart, anybody might be."""
    counts, first, _, _ = plans()
    second = plan(first.margin_db + 1.0, first.margin_before_db)
    homes, everywhere = homes_of(census_of(counts)), np.ones((SIDE, SIDE), dtype=bool)
    (same,) = count_differences(homes, first, second, everywhere)
    (apart,) = count_differences(homes, first, second, ~everywhere)
    assert same.served.range.low > 0.0
    assert same.served.chance_of_more == 1.0
    assert same.only_first.high == 0.0
    assert apart.served.range.low < 0.0 < apart.served.range.high
    assert 0.5 < apart.served.chance_of_more < 0.75
    assert apart.only_first.low > 0.0


def test_half_the_people_of_one_place_by_hand():
    """One cell of 100 people on the limit, 3 deviations over it in the second plan, places off alone."""
    counts = np.zeros((SIDE, SIDE))
    counts[3, 4] = 100.0
    first = plan(np.zeros((SIDE, SIDE)), np.full((SIDE, SIDE), -np.inf), MarginError(0.0, 2.0))
    second = plan(np.full((SIDE, SIDE), 6.0), first.margin_before_db, MarginError(0.0, 2.0))
    everywhere = np.ones((SIDE, SIDE), dtype=bool)
    (found,) = count_differences(homes_of(census_of(counts)), first, second, everywhere)
    assert found.served.range.expected == pytest.approx(100.0 * (0.99865 - 0.5), abs=2.0)
    assert found.served.range.high <= 100.0


def test_with_the_same_parents_newly_less_lost_is_served():
    counts, first, second, alike = plans()
    (found,) = count_differences(homes_of(census_of(counts)), first, second, alike)
    served, new, gone = (getattr(found, name).range.expected for name in COUNTS[:3])
    assert new - gone == pytest.approx(served, abs=1e-6)
    assert found.unserved.range.expected == pytest.approx(-served, abs=0.1 * abs(served) + 1.0)


def test_other_parents_are_drawn_with_the_plan():
    counts, first, second, alike = plans()
    other = plan(second.margin_db, second.margin_before_db + 2.0)
    (found,) = count_differences(homes_of(census_of(counts)), first, other, alike)
    (same,) = count_differences(homes_of(census_of(counts)), first, second, alike)
    assert found.newly_served.range.expected < same.newly_served.range.expected
    assert found.lost.range.expected > same.lost.range.expected


def test_plans_over_other_cells_are_refused():
    counts, first, second, alike = plans()
    small = plan(second.margin_db[:-1], second.margin_before_db[:-1])
    with pytest.raises(RangeError, match=r"shapes of two plans is .*39, 40"):
        count_differences(homes_of(census_of(counts)), first, small, alike)
