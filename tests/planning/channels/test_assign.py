"""Assignment of channels: the integer programme against every assignment tried, on small invented cases."""

from itertools import product

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.channels.choosing import Assignment, assign, cost_of


def assign_by_trial(costs, pair_costs, forbidden=()):
    """Return the assignment of least cost by trying every one."""
    best = None
    for channels in product(*costs):
        taken = set(enumerate(channels))
        if any(each <= taken for each in forbidden):
            continue
        cost = cost_of(channels, costs, pair_costs)
        if best is None or cost < best.cost:
            best = Assignment(channels, cost)
    return best


def invented(seed, outputs=4, channels=6):
    """Return costs, costs of pairs and forbidden sets, made up at random."""
    random = np.random.default_rng(seed)
    costs = [
        {21 + channel: float(random.integers(0, 40)) for channel in range(channels) if random.random() < 0.8}
        for _ in range(outputs)
    ]
    costs = [each or {21: 5.0} for each in costs]
    choices = [(output, channel) for output, each in enumerate(costs) for channel in each]
    pairs = {
        (one, other): float(random.integers(0, 60))
        for one in choices
        for other in choices
        if one[0] < other[0] and abs(one[1] - other[1]) <= 1 and random.random() < 0.7
    }
    forbidden = [
        frozenset({one, other}) for one in choices for other in choices
        if one[0] + 1 == other[0] and one[1] == other[1] and random.random() < 0.5
    ]  # fmt: skip
    triples = [frozenset(choices[i] for i in random.choice(len(choices), 3, replace=False)) for _ in range(5)]
    return costs, pairs, forbidden + triples


@pytest.mark.parametrize("seed", range(12))
def test_the_programme_finds_what_trial_finds(seed):
    case = invented(seed)
    found, tried = assign(*case), assign_by_trial(*case)
    assert tried is not None
    assert found.cost == pytest.approx(tried.cost)
    assert cost_of(found.channels, *case[:2]) == pytest.approx(found.cost)
    taken = set(enumerate(found.channels))
    assert not any(each <= taken for each in case[2])


def test_two_relays_part_where_they_harm_one_another():
    costs = [{21: 0.0, 22: 3.0}, {21: 0.0, 22: 4.0}]
    together = {((0, 21), (1, 21)): 50.0, ((0, 22), (1, 22)): 50.0}
    assert assign(costs, together).channels == (22, 21)
    assert assign(costs, {}).channels == (21, 21)
    assert assign(costs, together, [frozenset({(0, 22), (1, 21)})]).channels == (21, 22)


def test_what_cannot_stand_together_has_no_assignment():
    costs = [{21: 0.0}, {21: 0.0}]
    assert assign(costs, {}, [frozenset({(0, 21), (1, 21)})]) is None
    assert assign_by_trial(costs, {}, [frozenset({(0, 21), (1, 21)})]) is None


def test_an_output_without_channels_is_an_error():
    with pytest.raises(RangeError, match="at least one for each"):
        assign([{21: 0.0}, {}], {})
