"""Which relays can close: against every set tried, followers, costs, and what is refused."""

import itertools
import re

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.retiring import Dependence, depend_on, most_closed


def drawn(seed, relays=6, services=2, cells=300):
    """Return invented flags of a network in which some relays hang on others."""
    random = np.random.default_rng(seed)
    people = random.integers(0, 40, cells).astype(float)
    by_parents = random.random((services, cells)) < 0.4
    by_relays = random.random((services, relays, cells)) < random.uniform(0.1, 0.5, (1, relays, 1))
    feeds_from = [-1, -1, *(int(random.integers(-1, k)) for k in range(2, relays))]
    return people, by_parents, by_relays, feeds_from


def kept_cell_by_cell(people, by_parents, by_relays, feeds_from, closed):
    """Count the people with every service before and after, without groups."""
    gone = set(closed)
    for _ in feeds_from:
        gone |= {n for n, feeder in enumerate(feeds_from) if feeder in gone}
    left = [n for n in range(len(feeds_from)) if n not in gone]
    before = (by_parents | by_relays.any(axis=1)).all(axis=0)
    after = (by_parents | by_relays[:, left].any(axis=1)).all(axis=0)
    return people[before & after].sum(), gone


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("share", [0.5, 0.8, 0.95, 1.0])
def test_no_other_set_spares_more(seed, share):
    network = drawn(seed)
    cost = np.random.default_rng(seed + 100).integers(1, 9, 6).astype(float)
    dependence = depend_on(*network)
    whole, _ = kept_cell_by_cell(*network, ())
    assert dependence.total == pytest.approx(whole)
    for weights in (np.ones(6), cost):
        found = most_closed(dependence, share, weights)
        allowed = []
        for count in range(7):
            for closed in itertools.combinations(range(6), count):
                people, gone = kept_cell_by_cell(*network, closed)
                if len(gone) == count and people >= share * whole - 1e-6:
                    allowed.append((weights[list(closed)].sum(), people))
        assert found.spared == pytest.approx(max(spared for spared, _ in allowed))
        assert found.people == pytest.approx(
            max(people for spared, people in allowed if spared > found.spared - 1e-6)
        )
        assert found.gap == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_people_kept_are_those_counted_cell_by_cell(seed):
    network = drawn(seed)
    dependence = depend_on(*network)
    for closed in ((0,), (1, 3), (0, 1, 2, 3, 4, 5)):
        people, gone = kept_cell_by_cell(*network, closed)
        assert dependence.kept(closed) == pytest.approx(people)
        assert set().union(*map(set, map(dependence.followers, closed))) == gone


def test_a_relay_that_feeds_others_counts_with_its_followers():
    by_relays = np.array([[[True, False, False], [False, True, False], [False, False, True]]])
    chain = depend_on(np.array([1.0, 10.0, 100.0]), np.zeros((1, 3), dtype=bool), by_relays, (-1, 0, 1))
    assert [chain.kept((relay,)) for relay in range(3)] == [0.0, 1.0, 11.0]
    # The middle one may close only with the last, which most people have.
    assert most_closed(chain, 0.5).closed == ()
    assert most_closed(chain, 0.09).closed == (2,)
    assert most_closed(chain, 0.009).closed == (1, 2)


def test_nobody_is_left_where_parents_serve_all():
    served = np.ones((2, 4), dtype=bool)
    all_by_parents = depend_on(np.full(4, 5.0), served, np.ones((2, 3, 4), dtype=bool), (-1, -1, -1))
    found = most_closed(all_by_parents, 1.0)
    assert (found.closed, found.people, found.gap) == ((0, 1, 2), 20.0, 0.0)


def test_who_lacks_a_service_now_is_not_counted():
    by_parents = np.array([[True, True], [True, False]])
    nothing = np.zeros((2, 1, 2), dtype=bool)
    assert depend_on(np.array([3.0, 4.0]), by_parents, nothing, (-1,)).total == 3.0


@pytest.mark.parametrize(
    ("share", "cost", "words"),
    [
        (1.5, None, "share of people who keep every service is 1.5; allowed: 0 to 1"),
        (0.5, np.array([1.0, -1.0]), "running costs is [1.0, -1.0]; allowed: 2 numbers of 0 or more"),
        (0.5, np.array([1.0]), "running costs is [1.0]; allowed: 2 numbers of 0 or more"),
    ],
)
def test_what_cannot_be_asked_is_refused(share, cost, words):
    served = np.ones((1, 2, 3), dtype=bool)
    dependence = depend_on(np.ones(3), np.zeros((1, 3), dtype=bool), served, (-1, -1))
    with pytest.raises(RangeError, match=re.escape(words)):
        most_closed(dependence, share, cost)


def test_a_circle_of_feeds_is_refused():
    served = np.ones((1, 2, 3), dtype=bool)
    with pytest.raises(RangeError, match="feeds of relays is a circle"):
        depend_on(np.ones(3), np.zeros((1, 3), dtype=bool), served, (1, 0))


def test_shapes_that_do_not_fit_are_refused():
    needs = np.ones((2, 1, 2), dtype=bool)
    with pytest.raises(RangeError, match="shape of the people"):
        Dependence(np.ones(3), needs, needs.any(axis=2), (-1, -1))
    with pytest.raises(RangeError, match="feeds of relays is 1"):
        Dependence(np.ones(2), needs, needs.any(axis=2), (-1,))
    with pytest.raises(RangeError, match="served by nothing"):
        Dependence(np.ones(2), needs, np.zeros((2, 1), dtype=bool), (-1, -1))
