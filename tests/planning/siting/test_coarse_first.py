"""The search coarse first: what is thinned out, whom it finds beside the whole search, and when it stops."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from combe.planning.siting.coarse_first import (
    NOTHING_KEPT,
    Fed,
    Kept,
    Stage,
    WideQuestion,
    leading_hills,
)
from combe.planning.siting.coarse_to_fine import ranked
from combe.planning.siting.problem import Problem, score_hills
from combe.planning.siting.thinning import block_tops, coarsened, spread_out, thinned
from combe.planning.siting.unserved import Unserved
from combe.prediction.straight import places_of
from support_siting import people_in, problem_over, rough_area

AREA = rough_area(3, size=64)
SIZE = 64
PEOPLE = people_in(AREA, np.arange(5, SIZE * SIZE, 37))
STAGES = (Stage(8, 24, 4, 4), Stage(2, 60, 2, 2), Stage(1, 80, 1, 2))
APART = 8.0


def everywhere(cells: np.ndarray) -> Fed:
    return Fed(cells, np.ones(cells.size))


def asked(cells: np.ndarray, people: Unserved) -> Problem:
    return problem_over(AREA, cells, people)


def question(**changes) -> WideQuestion:
    allowed = np.ones((SIZE, SIZE), dtype=np.bool_)
    return WideQuestion(
        allowed, AREA.heights_m, PEOPLE, changes.pop("fed", everywhere), asked, 3, APART, **changes
    )


def never(pairs: int) -> bool:
    return False


def test_the_top_of_a_block_is_the_highest_allowed_cell_and_the_top_of_its_part() -> None:
    heights = np.random.default_rng(1).normal(size=(13, 10))
    allowed = np.random.default_rng(2).random((13, 10)) > 0.3
    tops = block_tops(allowed, heights, 4)
    for top in tops:
        row, column = divmod(int(top), 10)
        block = np.s_[row // 4 * 4 : row // 4 * 4 + 4, column // 4 * 4 : column // 4 * 4 + 4]
        assert heights.flat[top] == heights[block][allowed[block]].max()
    assert np.isin(tops, block_tops(allowed, heights, 2)).all()
    assert block_tops(allowed, heights, 1).size == allowed.sum()


def test_thinned_places_stand_for_all_people_and_each_for_as_many() -> None:
    some = thinned(PEOPLE, SIZE, 20)
    assert some.cells.size == 20
    assert some.total == pytest.approx(PEOPLE.total)
    assert np.ptp(some.people) <= 10.0
    assert np.isin(some.cells, PEOPLE.cells).all()
    assert thinned(PEOPLE, SIZE, PEOPLE.cells.size) is PEOPLE


def test_thinned_places_keep_apart_who_lacks_what() -> None:
    lacks = PEOPLE.lacks.copy()
    lacks[::2, 0] = False
    mixed = replace(PEOPLE, lacks=lacks)
    some = thinned(mixed, SIZE, 20)
    for pattern in ([False, True], [True, True]):
        of_it = (some.lacks == pattern).all(axis=1)
        assert some.people[of_it].sum() == pytest.approx(PEOPLE.people[(lacks == pattern).all(axis=1)].sum())


def test_coarser_ground_leaves_the_places_where_they_are() -> None:
    problem = asked(np.arange(0, SIZE * SIZE, 97), PEOPLE)
    coarse = coarsened(problem, 4)
    assert coarse.setting.surface.raster.shape == (16, 16)
    assert coarse.setting.step_km == pytest.approx(4.0 * problem.setting.step_km)
    here = places_of(AREA, np.array([5 * SIZE + 6]))
    moved = coarsened(asked(np.array([5 * SIZE + 6]), PEOPLE), 4).hills
    # Cell 5 of the fine raster begins in cell 1 of the coarse one: centres at (5 + ½)/4 − ½.
    assert moved.raster_row[0] == pytest.approx((here.raster_row[0] + 0.5) / 4.0 - 0.5)
    estimate, exact = (score_hills(each, 0, each.size).people for each in (coarse, problem))
    assert np.corrcoef(estimate, exact)[0, 1] > 0.9


def test_no_neighbourhood_crowds_out_the_others() -> None:
    cells = np.arange(30)
    places = places_of(AREA, cells)
    value = np.arange(30.0, 0.0, -1.0)
    chosen = spread_out(places, value, 6, 10.0, 2)
    assert chosen.tolist() == [0, 1, 10, 11, 20, 21]


def whole() -> np.ndarray:
    problem = asked(np.arange(SIZE * SIZE), PEOPLE)
    return score_hills(problem, 0, problem.size).people


def test_it_finds_hills_worth_those_of_the_whole_search() -> None:
    every = whole()
    cells = np.arange(SIZE * SIZE)
    best = every[ranked(places_of(AREA, cells), every, 3, APART)]
    found = leading_hills(question(), stages=STAGES)
    worth = found.people[found.listed]
    assert worth.tolist() == every[found.cells[found.listed]].tolist(), "what is listed is exact"
    assert (np.diff(worth) <= 0.0).all()
    assert worth[0] >= 0.95 * best[0]
    assert worth.sum() >= 0.9 * best.sum()
    assert found.exact < 0.2 * cells.size
    first = int(found.listed[0])
    serves = np.unpackbits(found.served[first], count=PEOPLE.cells.size).astype(np.bool_)
    assert PEOPLE.people[serves].sum() == worth[0]


def test_it_is_the_same_on_any_number_of_threads_and_with_what_was_kept() -> None:
    once = leading_hills(question(), stages=STAGES, threads=1)
    priced = np.flatnonzero(~np.isnan(once.people))
    kept = Kept(once.cells[priced], once.people[priced], once.harmed[priced], once.option[priced])
    for other in (leading_hills(question(), stages=STAGES, threads=3, kept=kept),):
        assert other.listed.tolist() == once.listed.tolist()
        np.testing.assert_array_equal(other.people, once.people)
        assert other.pairs == once.pairs


def test_what_was_kept_is_not_priced_again() -> None:
    once = leading_hills(question(), stages=STAGES)
    first = once.cells[once.listed[:1]]
    # A number that no pricing gives tells where it came from.
    kept = Kept(first, np.array([1e6]), np.zeros(1), np.zeros(1, dtype=np.int64))
    again = leading_hills(question(), stages=STAGES, kept=kept)
    assert again.people[again.listed[0]] == 1e6


def test_it_stops_when_enough_is_done_but_fills_the_list_first() -> None:
    short = leading_hills(question(), stages=STAGES, enough=lambda _: True)
    longer = leading_hills(question(), stages=STAGES, enough=never)
    assert short.listed.size == 3
    assert short.exact < longer.exact
    assert short.pairs == short.exact * PEOPLE.cells.size
    assert short.could_overtake > 0


def test_without_an_end_it_goes_on_until_no_other_can_overtake() -> None:
    found = leading_hills(question(), stages=STAGES, enough=never)
    assert found.could_overtake == 0
    left = np.isnan(found.people)
    assert left.any()
    assert found.estimate[left].max() <= found.people[found.listed[-1]]


def test_cells_that_hear_nothing_are_no_hills() -> None:
    def east(cells: np.ndarray) -> Fed:
        heard = cells[cells % SIZE >= SIZE // 2]
        return Fed(heard, np.ones(heard.size))

    found = leading_hills(question(fed=east), stages=STAGES)
    assert (found.cells % SIZE >= SIZE // 2).all()
    assert found.looked_at > found.cells.size


def test_a_search_without_any_hill_lists_nothing() -> None:
    def nowhere(cells: np.ndarray) -> Fed:
        return Fed(cells[:0], np.ones(0))

    found = leading_hills(question(fed=nowhere), stages=STAGES, kept=NOTHING_KEPT)
    assert found.listed.size == 0
    assert found.exact == found.pairs == 0
