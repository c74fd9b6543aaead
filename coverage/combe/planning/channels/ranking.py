"""Ranks the channels of one output: by the people that each harms, then by those it newly serves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

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
