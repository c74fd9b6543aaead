"""Chooses channels: ranks those of one output, and assigns one to each output at once.

A channel ranks by the people that it harms, then by those it newly serves. The assignment harms the fewest
people, by an integer programme: one variable says that an output takes a channel; one more for each pair of
choices that harm one another says that both are taken. Choices that may not stand together are kept apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

from combe.errors import RangeError
from combe.planning.channels.harm import Before, HarmIn, HarmTo, Public, Signal, harm_in, harm_out

SERVED_COST = 1e-2
"""What it weighs beside one person harmed to newly serve nobody rather than all the public: it only decides
between channels that harm equally."""

CAUTION_COST = 1e-7
"""What a caution weighs: it only decides between channels that also serve equally many."""

ORDER_COST = 1e-9
"""What a channel number weighs, so that of equal channels the lowest is taken, always the same."""


@dataclass(frozen=True)
class RankedChannel:
    """A channel that an output may take.

    ``harm`` lists whom it harms, also those with 0; ``own`` how many people the output would newly serve
    there, and how many of them interference denies it; ``cautions`` what else speaks against it; ``public``
    how many people there are in all.
    """

    channel: int
    frequency_mhz: float
    harm: tuple[HarmTo, ...]
    own: HarmIn
    cautions: tuple[str, ...]
    public: float

    @property
    def harm_out(self) -> float:
        """People of other stations that fall below the standard, once for each service lost."""
        return sum(each.people for each in self.harm)

    @property
    def not_known(self) -> float:
        """People of other stations, and of its own public, of whom nobody can say."""
        return sum(each.not_known for each in self.harm) + self.own.not_known

    @property
    def people_harmed(self) -> float:
        """People harmed, out and in."""
        return self.harm_out + self.own.denied

    @property
    def newly_served(self) -> float:
        """People whom the output newly serves, interference counted."""
        return self.own.newly_served

    @property
    def preference(self) -> float:
        """What decides between channels that harm equally, the better the less; far under one person."""
        missed = 1.0 - self.newly_served / self.public if self.public > 0.0 else 0.0
        return SERVED_COST * missed + CAUTION_COST * len(self.cautions) + ORDER_COST * self.channel

    @property
    def cost(self) -> float:
        """What the assignment minimises."""
        return self.people_harmed + self.preference


@dataclass(frozen=True)
class OutputRanking:
    """One service of a relay: its channels, the least harmful first, and why others are rejected."""

    relay: str
    service: str
    erp_w: float
    present_channel: int
    ranked: tuple[RankedChannel, ...]
    rejected: Mapping[int, tuple[str, ...]]


def rank_channels(
    public: Public, before: Before, signals: Mapping[int, Signal], cautions: Mapping[int, tuple[str, ...]]
) -> tuple[RankedChannel, ...]:
    """Return the channels of one output, the least harmful first; of equal harm those that serve most.

    Parameters
    ----------
    public, before
        Who lives where, and who is served before the relay is added.
    signals
        The output on each channel that is not rejected.
    cautions
        By channel, what else speaks against it.
    """
    everybody = float(public.people.sum())
    ranked = [
        RankedChannel(
            channel,
            signal.emission.channel.centre_mhz,
            harm_out(public, before, [signal]),
            harm_in(public, before, signal),
            cautions.get(channel, ()),
            everybody,
        )
        for channel, signal in signals.items()
    ]
    return tuple(sorted(ranked, key=lambda each: each.cost))


@dataclass(frozen=True)
class JointHarm:
    """What several outputs do together: whom they harm, and how many each serves newly or is denied."""

    harm: tuple[HarmTo, ...]
    own: tuple[HarmIn, ...]

    @property
    def people_harmed(self) -> float:
        """People harmed, out and in, once for each service lost."""
        return sum(each.people for each in self.harm) + sum(each.denied for each in self.own)

    @property
    def not_known(self) -> float:
        """People out and in of whom nobody can say, once for each service."""
        return sum(each.not_known for each in self.harm) + sum(each.not_known for each in self.own)


def joint_harm(public: Public, before: Before, outputs: Iterable[Signal]) -> JointHarm:
    """Judge several outputs on the air together."""
    added = list(outputs)
    own = [harm_in(public, before, each, [one for one in added if one is not each]) for each in added]
    return JointHarm(harm_out(public, before, added), tuple(own))


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
    # Whole numbers come back from the solver as nearly whole.
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
        # All of a set but one may stand together.
        low, high = [*low, -np.inf], [*high, len(each) - 1.0]
    return rows, low, high
