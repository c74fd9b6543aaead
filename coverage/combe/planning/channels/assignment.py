"""Assigns a channel to each output at once, so that the fewest people are harmed: an integer programme.

One variable says that an output takes a channel; one more for each pair of choices that harm one another says
that both are taken. Choices that may not stand together are kept apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

from combe.errors import RangeError

Choice = tuple[int, int]
"""An output, by its place, and a channel."""

Pair = tuple[Choice, Choice]

MOST_CHOICES = 20_000

_SCALE = 1e4
"""Factor on the costs, so that the solver's absolute gap of 1e-6 hides no difference in cost over 1e-10."""


@dataclass(frozen=True)
class Assignment:
    """A channel for each output, in their order, and what it costs in all."""

    channels: tuple[int, ...]
    cost: float


def assign(
    costs: Sequence[Mapping[int, float]],
    pair_costs: Mapping[Pair, float],
    forbidden: Sequence[frozenset[Choice]] = (),
) -> Assignment | None:
    """Return the assignment of least cost, or None where there is none.

    Parameters
    ----------
    costs
        For each output, the cost of each channel that it may take, 0 or more.
    pair_costs
        What two choices of different outputs cost together, over their own costs; 0 or more.
    forbidden
        Sets of choices that may not all be taken.

    Raises
    ------
    RangeError
        For an output without a channel, or too many choices.
    """
    choices = [(output, channel) for output, each in enumerate(costs) for channel in each]
    if not all(costs) or not 1 <= len(choices) <= MOST_CHOICES:
        given = f"{len(choices)} choices for {len(costs)} outputs"
        raise RangeError("channels to choose from", given, f"at least one for each, {MOST_CHOICES} in all")
    pairs = {pair: cost for pair, cost in pair_costs.items() if cost > 0.0}
    weights = [costs[output][channel] for output, channel in choices] + list(pairs.values())
    rows, low, high = _constraints(choices, list(pairs), [set(each) for each in forbidden], len(costs))
    solution = milp(
        c=_SCALE * np.array(weights),
        constraints=LinearConstraint(rows, low, high),
        integrality=np.array([1] * len(choices) + [0] * len(pairs)),
        bounds=Bounds(0.0, 1.0),
        options={"mip_rel_gap": 0.0},
    )
    if solution.x is None:
        return None
    taken = dict(choice for choice, value in zip(choices, solution.x, strict=False) if value > 0.5)
    channels = tuple(taken[output] for output in range(len(costs)))
    return Assignment(channels, cost_of(channels, costs, pair_costs))


def cost_of(
    channels: Sequence[int], costs: Sequence[Mapping[int, float]], pair_costs: Mapping[Pair, float]
) -> float:
    """Return what an assignment costs in all."""
    taken = set(enumerate(channels))
    own = sum(costs[output][channel] for output, channel in enumerate(channels))
    return own + sum(cost for (one, other), cost in pair_costs.items() if one in taken and other in taken)


def _constraints(
    choices: Sequence[Choice], pairs: Sequence[Pair], forbidden: Sequence[set[Choice]], outputs: int
) -> tuple[lil_matrix, list[float], list[float]]:
    """Return the rows: one channel for each output, pairs counted when both are taken, sets kept apart."""
    place = {choice: index for index, choice in enumerate(choices)}
    known = [each for each in forbidden if all(choice in place for choice in each)]
    rows = lil_matrix((outputs + len(pairs) + len(known), len(choices) + len(pairs)))
    low, high = [1.0] * outputs, [1.0] * outputs
    for choice, index in place.items():
        rows[choice[0], index] = 1.0
    for number, (one, other) in enumerate(pairs):
        row = outputs + number
        # x(one) + x(other) - y ≤ 1: the pair is paid for when both are taken, and y need not be a whole
        # number.
        rows[row, place[one]] = rows[row, place[other]] = 1.0
        rows[row, len(choices) + number] = -1.0
        low, high = [*low, -np.inf], [*high, 1.0]
    for number, each in enumerate(known):
        for choice in each:
            rows[outputs + len(pairs) + number, place[choice]] = 1.0
        low, high = [*low, -np.inf], [*high, len(each) - 1.0]
    return rows, low, high
