"""Sets of sites: brute force, greedy beside exact, the reduction, costs, and hills fed by other hills."""

import math
from itertools import combinations

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.siting.best_set import (
    _gap_fraction,
    best_sites,
    cheapest_sites,
    greedy_sites,
    make_question,
)
from combe.planning.siting.reduction import keep_promising, keep_undominated, merge_targets

RNG = np.random.default_rng(11)


def matrix(hills: int, targets: int, density: float, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).random((hills, targets)) < density


def question(served: np.ndarray, people: np.ndarray, **changes):
    return make_question(np.packbits(served, axis=1), people, **changes)


def worth(served: np.ndarray, people: np.ndarray, hills) -> float:
    return float(people[served[list(hills)].any(axis=0)].sum()) if len(hills) else 0.0


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("count", [1, 2, 3])
def test_brute_force_finds_nothing_better(seed: int, count: int) -> None:
    served, people = matrix(14, 40, 0.2, seed), np.random.default_rng(seed).integers(1, 90, 40).astype(float)
    best = max(worth(served, people, each) for each in combinations(range(14), count))
    found = best_sites(question(served, people), count)
    assert found.people == pytest.approx(best)
    assert worth(served, people, found.hills) == pytest.approx(best)
    assert len(found.hills) <= count
    assert found.gap_fraction == 0.0
    assert found.bound == pytest.approx(best)
    assert sum(found.adds) == pytest.approx(found.people)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("count", [1, 2, 3])
def test_brute_force_finds_nothing_better_with_harm(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    served, people = matrix(12, 40, 0.25, seed), rng.integers(1, 90, 40).astype(float)
    harmed = rng.integers(0, 400, 12).astype(float)

    def score(hills) -> float:
        return worth(served, people, hills) - harmed[list(hills)].sum()

    sets = [each for size in range(1, count + 1) for each in combinations(range(12), size)]
    best = max(score(each) for each in sets)
    asked = question(served, people, harmed=harmed)
    found, greedy = best_sites(asked, count), greedy_sites(asked, count)
    assert found.score == pytest.approx(max(best, 0.0)) == pytest.approx(score(found.hills))
    assert found.score >= greedy.score - 1e-9
    assert found.gap_fraction == 0.0
    assert sum(found.adds) == pytest.approx(found.score)


def test_a_hill_that_harms_less_takes_nobodys_place() -> None:
    # All three serve the same; only harm tells them apart, and a dominated one goes.
    served = np.packbits(np.ones((3, 4), dtype=bool), axis=1)
    kept = keep_undominated(
        served, np.full(3, 4.0), np.ones(3), np.zeros(3, dtype=bool), np.array([2.0, 0.0, 1.0])
    )
    assert kept.tolist() == [1]
    kept = keep_undominated(
        served, np.full(3, 4.0), np.array([1.0, 3.0, 2.0]), np.zeros(3, dtype=bool), np.array([2.0, 0.0, 1.0])
    )
    assert sorted(kept.tolist()) == [0, 1, 2]


def test_exact_is_never_worse_than_greedy_and_sometimes_better() -> None:
    better = 0
    for seed in range(25):
        served, people = matrix(30, 80, 0.15, seed), np.random.default_rng(seed).random(80)
        asked = question(served, people)
        for count in (2, 4):
            exact, greedy = best_sites(asked, count), greedy_sites(asked, count)
            assert exact.people >= greedy.people - 1e-9
            better += exact.people > greedy.people + 1e-9
    assert better > 5


def test_greedy_is_misled_by_the_broad_site() -> None:
    # Site 0 serves most, yet 1 and 2 together serve all.
    served = np.array([[1, 1, 1, 1, 0, 0], [1, 1, 0, 0, 1, 0], [0, 0, 1, 1, 0, 1]], dtype=bool)
    asked = question(served, np.array([3.0, 3.0, 3.0, 3.0, 2.0, 2.0]))
    assert greedy_sites(asked, 2).people == 14.0
    assert best_sites(asked, 2).people == 16.0
    assert set(best_sites(asked, 2).hills) == {1, 2}


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("share", [0.5, 0.8, 1.0])
def test_fewest_sites_for_a_share(seed: int, share: float) -> None:
    served, people = matrix(10, 30, 0.25, seed), np.random.default_rng(seed).integers(1, 9, 30).astype(float)
    wanted = share * worth(served, people, range(10))
    least = next(
        n
        for n in range(1, 11)
        if any(worth(served, people, each) >= wanted - 1e-9 for each in combinations(range(10), n))
    )
    found = cheapest_sites(question(served, people), share)
    assert len(found.hills) == least == found.cost
    assert found.people >= wanted - 1e-6


@pytest.mark.parametrize("seed", range(5))
def test_cheapest_sites_by_cost(seed: int) -> None:
    rng = np.random.default_rng(seed)
    served, people, cost = matrix(9, 30, 0.3, seed), rng.random(30), rng.integers(1, 20, 9).astype(float)
    wanted = 0.9 * worth(served, people, range(9))
    least = min(
        cost[list(each)].sum()
        for n in range(1, 10)
        for each in combinations(range(9), n)
        if worth(served, people, each) >= wanted - 1e-9
    )
    assert cheapest_sites(question(served, people, cost=cost), 0.9).cost == pytest.approx(least)


def test_a_hill_that_others_feed_comes_with_its_feeder() -> None:
    # Hill 1 serves most but hears no parent; only hill 2, which serves few, feeds it.
    served = np.array([[1, 1, 1, 0, 0, 0], [0, 1, 1, 1, 1, 1], [1, 0, 0, 0, 0, 0]], dtype=bool)
    people = np.full(6, 10.0)
    fed = question(served, people, feeders={1: [2]})
    assert best_sites(fed, 1).hills == (0,)
    both = best_sites(fed, 2)
    assert both.hills == (2, 1)
    assert both.people == 60.0
    never = question(served, people, feeders={1: []})
    assert 1 not in best_sites(never, 3).hills
    assert 1 not in greedy_sites(never, 3).hills


@pytest.mark.parametrize("seed", range(5))
def test_feeders_by_brute_force(seed: int) -> None:
    served, people = matrix(10, 30, 0.2, seed), np.random.default_rng(seed).random(30)
    feeders = {7: [0, 1], 8: [2], 9: [3, 4]}

    def allowed(each) -> bool:
        return all(set(found) & set(each) for hill, found in feeders.items() if hill in each)

    best = max(worth(served, people, each) for each in combinations(range(10), 3) if allowed(each))
    found = best_sites(question(served, people, feeders=feeders), 3)
    assert found.people == pytest.approx(best)
    assert allowed(found.hills)


def test_feeders_of_feeders_are_refused() -> None:
    served = matrix(4, 5, 0.5, 1)
    with pytest.raises(RangeError, match="feeder of hill 1 is hill 2, which hangs on others"):
        question(served, np.ones(5), feeders={1: [2], 2: [3]})


def test_reduction_keeps_one_of_equals_and_no_subset() -> None:
    served = np.array([[1, 1, 0], [1, 0, 0], [1, 1, 0], [0, 0, 1], [0, 0, 0]], dtype=bool)
    people = np.array([5.0, 4.0, 2.0])
    bits, free = np.packbits(served, axis=1), np.zeros(5, dtype=bool)
    kept = keep_undominated(bits, served @ people, np.ones(5), free)
    assert kept.tolist() == [0, 3]
    cheap = keep_undominated(bits, served @ people, np.array([9.0, 1.0, 8.0, 1.0, 1.0]), free)
    assert sorted(cheap.tolist()) == [1, 2, 3]
    bound = np.array([False, True, False, False, False])
    assert sorted(keep_undominated(bits, served @ people, np.ones(5), bound).tolist()) == [0, 1, 3]


def test_equal_targets_are_merged_with_their_people() -> None:
    served = np.array([[1, 1, 0, 0], [1, 1, 1, 0]], dtype=bool)
    merged, people = merge_targets(served, np.array([1.0, 2.0, 4.0, 8.0]))
    assert merged.shape == (2, 2)
    assert sorted(people.tolist()) == [3.0, 4.0]
    assert (merged @ people).tolist() == [3.0, 7.0]


def test_nobody_to_serve_is_an_empty_set() -> None:
    nothing = best_sites(question(np.zeros((3, 4), dtype=bool), np.ones(4)), 2)
    assert nothing.hills == ()
    assert nothing.people == 0.0


def test_bad_numbers_are_told() -> None:
    asked = question(matrix(3, 3, 0.5, 1), np.ones(3))
    with pytest.raises(RangeError, match="number of sites is 0; allowed: 1 to 1000"):
        best_sites(asked, 0)
    with pytest.raises(RangeError, match=r"share of people is 1.5; allowed: 0.01 to 1"):
        cheapest_sites(asked, 1.5)


def test_a_gap_is_nought_only_where_it_is_proved() -> None:
    served, people = matrix(9, 30, 0.3, 2), np.random.default_rng(2).integers(1, 90, 30).astype(float)
    assert math.isnan(greedy_sites(question(served, people), 2).gap_fraction)
    assert _gap_fraction(80.0, 100.0) == pytest.approx(0.25)
    assert _gap_fraction(100.0, 100.0 + 1e-5) == 0.0
    assert _gap_fraction(0.0, 0.0) == 0.0
    assert _gap_fraction(0.0, 7.0) == math.inf
    assert math.isnan(_gap_fraction(80.0, math.inf))


def test_without_time_the_greedy_set_stands_with_its_gap() -> None:
    served, people = matrix(300, 900, 0.03, 4), np.random.default_rng(4).random(900)
    asked = question(served, people)
    hurried, greedy = best_sites(asked, 12, time_limit_s=1e-3), greedy_sites(asked, 12)
    assert hurried.people >= greedy.people
    assert hurried.bound >= hurried.people - 1e-6
    assert hurried.gap_fraction > 0.0
    short = hurried.bound - (hurried.people - hurried.harmed)
    assert hurried.gap_fraction == pytest.approx(short / (hurried.people - hurried.harmed))
    cheap = cheapest_sites(asked, 0.9, time_limit_s=1e-3)
    assert cheap.people >= 0.9 * worth(served, people, range(300)) - 1e-6
    assert cheap.gap_fraction > 0.0


def test_hills_that_cannot_be_in_a_better_set_are_left_out() -> None:
    for seed in range(10):
        served, people = matrix(12, 40, 0.2, seed), np.random.default_rng(seed).random(40)
        least = greedy_sites(question(served, people), 3).people
        kept = set(keep_promising(served, people, 3, least).tolist())
        for each in combinations(range(12), 3):
            if worth(served, people, each) > least:
                assert set(each) <= kept
