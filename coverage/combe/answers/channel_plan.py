"""Assigns channels to all outputs at once, and says why where none will do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations
from typing import Final

from combe.answers.channel_signals import Field, conversion_at, inputs_of, raster_of_relay
from combe.decibels import dbw_from_watt
from combe.planning.channels import (
    Assignment,
    Before,
    Choice,
    Hit,
    JointHarm,
    OutputRanking,
    Pair,
    Signal,
    assign,
    joint_harm,
    output_conflict,
    pair_harm,
    product_hits,
)
from combe.reception import protections
from combe.standards import centre_frequency_mhz, channel_raster, channels_apart
from combe.stations import Service, Station
from combe.words import Sentence, joined, tell

MOST_TRIED: Final = 24
"""Channels of each output that the joint assignment chooses from: the least harmful ones."""

_MOST_ROUNDS: Final = 50
_NOBODY: Final = 0.5
"""Cost [people] that keeping products off a relay's own outputs may add."""


@dataclass(frozen=True)
class Output:
    """A service of a relay whose channel is to be chosen, with its signal on each channel it may take."""

    relay: Station
    service: Service
    signals: Mapping[int, Signal]
    ranking: OutputRanking


@dataclass(frozen=True)
class ChannelPlan:
    """A channel for each output, in their order.

    ``counted`` is what they do together on the air; ``summed`` what the assignment added up, which takes the
    harm of each output, and of each pair of relays, by itself. ``products`` are third-order products of a
    relay's outputs that fall on another of its outputs.
    """

    channels: tuple[int, ...]
    counted: JointHarm
    summed: float
    products: tuple[tuple[str, Hit], ...]


def make_plan(field: Field, before: Before, outputs: Sequence[Output]) -> ChannelPlan | None:
    """Assign a channel to every output; None where one has none left or no set can stand together.

    The least harmful channels of each output are tried, and all of them where these do not do.
    """
    if not all(each.ranking.ranked for each in outputs):
        return None
    most = max(len(each.ranking.ranked) for each in outputs)
    for tried in dict.fromkeys((min(MOST_TRIED, most), most)):
        costs = costs_of(outputs, tried)
        forbidden = list(conflicts(field, outputs, costs))
        found = _assigned(field, outputs, costs, _pair_costs(field, before, outputs, costs), forbidden)
        if found is not None:
            return _plan_of(field, before, outputs, found)
    return None


def costs_of(outputs: Sequence[Output], most: int | None = None) -> list[dict[int, float]]:
    """Return what each channel of each output costs, of the least harmful so many."""
    return [{one.channel: one.cost for one in each.ranking.ranked[:most]} for each in outputs]


def _plan_of(field: Field, before: Before, outputs: Sequence[Output], found: Assignment) -> ChannelPlan:
    chosen = [each.signals[channel] for each, channel in zip(outputs, found.channels, strict=True)]
    products = tuple(
        (relay.name, hit)
        for relay, channels in _by_relay(outputs, found.channels)
        for hit in _hits(raster_of_relay(field.project, relay), channels, channels)
        if hit.on_channel not in hit.outputs
    )
    summed = found.cost - sum(
        one.preference
        for each, channel in zip(outputs, found.channels, strict=True)
        for one in each.ranking.ranked
        if one.channel == channel
    )
    return ChannelPlan(
        found.channels, joint_harm(field.public, before, chosen), abs(float(round(summed, 2))), products
    )


def _assigned(
    field: Field,
    outputs: Sequence[Output],
    costs: Sequence[Mapping[int, float]],
    pairs: Mapping[Pair, float],
    forbidden: Sequence[frozenset[Choice]],
) -> Assignment | None:
    """Assign so that no third-order product falls on an input, nor on an output if that harms nobody."""
    found = without_products(field, outputs, costs, pairs, forbidden, own_outputs=False)
    if found is None:
        return None
    cleaner = without_products(field, outputs, costs, pairs, forbidden, own_outputs=True)
    return found if cleaner is None or cleaner.cost > found.cost + _NOBODY else cleaner


def without_products(
    field: Field,
    outputs: Sequence[Output],
    costs: Sequence[Mapping[int, float]],
    pairs: Mapping[Pair, float],
    forbidden: Sequence[frozenset[Choice]],
    *,
    own_outputs: bool,
) -> Assignment | None:
    """Assign, and forbid sets whose products fall where they must not, until none does."""
    apart = list(forbidden)
    for _ in range(_MOST_ROUNDS):
        found = assign(costs, pairs, apart)
        spoilt = [] if found is None else list(_spoilt(field, outputs, found.channels, own_outputs))
        if not spoilt:
            return found
        apart += spoilt
    return None


def _spoilt(
    field: Field, outputs: Sequence[Output], channels: Sequence[int], own_outputs: bool
) -> Iterator[frozenset[Choice]]:
    """Yield the choices of one relay whose third-order products fall on one of its inputs, or outputs."""
    for relay, own in _by_relay(outputs, channels):
        inputs = [service.channel for service in inputs_of(field, relay)]
        raster = raster_of_relay(field.project, relay)
        for hit in _hits(raster, own, [*inputs, *(own if own_outputs else [])]):
            if hit.on_channel not in hit.outputs:
                taken = hit.outputs | {hit.on_channel}
                yield frozenset(
                    (index, channel)
                    for index, (each, channel) in enumerate(zip(outputs, channels, strict=True))
                    if each.relay is relay and channel in taken
                )


def _by_relay(outputs: Sequence[Output], channels: Sequence[int]) -> list[tuple[Station, list[int]]]:
    relays = {each.relay.name: each.relay for each in outputs}
    taken = list(zip(outputs, channels, strict=True))
    return [(relay, [channel for each, channel in taken if each.relay is relay]) for relay in relays.values()]


def _hits(raster_name: str, outputs: Sequence[int], on: Sequence[int]) -> tuple[Hit, ...]:
    raster = channel_raster(raster_name)
    frequencies = {each: centre_frequency_mhz(raster.name, each) for each in {*outputs, *on}}
    return product_hits(outputs, on, frequencies, raster.width_mhz)


def conflicts(
    field: Field, outputs: Sequence[Output], costs: Sequence[Mapping[int, float]]
) -> dict[frozenset[Choice], str]:
    """Return pairs of choices that cannot stand together on one mast, and why."""
    found = {}
    for (i, one), (j, other) in combinations(enumerate(outputs), 2):
        if one.relay is not other.relay:
            continue
        conversion = conversion_at(field, inputs_of(field, one.relay) or one.relay.services)
        systems = [field.project.television_of(each.service) for each in (one, other)]
        ratios, back = protections(*systems), protections(*reversed(systems))
        analogue = any(each.analogue_name is not None for each in systems)
        apart = partial(channels_apart, raster_of_relay(field.project, one.relay))
        for a in costs[i]:
            for b in costs[j]:
                ends = (a, _erp_dbw(one)), (b, _erp_dbw(other))
                words = output_conflict(ratios, conversion, *ends, analogue=analogue, apart=apart, back=back)
                if words:
                    found[frozenset({(i, a), (j, b)})] = words
    return found


def _erp_dbw(output: Output) -> float:
    return float(dbw_from_watt(output.service.erp_w))


def _pair_costs(
    field: Field, before: Before, outputs: Sequence[Output], costs: Sequence[Mapping[int, float]]
) -> dict[Pair, float]:
    """Return the people that two choices of different relays take from one another."""
    found: dict[Pair, float] = {}
    for (i, one), (j, other) in combinations(enumerate(outputs), 2):
        if one.relay is other.relay:
            continue
        systems = [field.project.television_of(each.service) for each in (one, other)]
        raster = field.project.raster_of(one.service)
        alike = raster == field.project.raster_of(other.service)
        steps, back = set(protections(*systems)), set(protections(*reversed(systems)))
        for a in costs[i]:
            for b in costs[j]:
                # Channels of two rasters are held against one another all: their numbers tell nothing.
                if not alike or channels_apart(raster, a, b) in steps or channels_apart(raster, b, a) in back:
                    found[(i, a), (j, b)] = pair_harm(field.public, before, one.signals[a], other.signals[b])
    return found


TOP_REASONS: Final = 3
_NOT_FOUND: Final = "none was found that keeps what must be kept; try with fewer relays, or more channels"


def why_no_plan(field: Field, outputs: Sequence[Output]) -> tuple[str, ...]:
    """Return a line for each output that has no channel left, or else for what excludes one another."""
    used_up = [_used_up(each) for each in outputs if not each.ranking.ranked]
    return tuple(used_up or _exclusions(field, outputs)) or (_NOT_FOUND,)


def _used_up(output: Output) -> str:
    rejected, who = (
        output.ranking.rejected,
        tell("{name}, {name_2}", name=output.relay.name, name_2=output.service.name),
    )
    reasons = [_kind(reason) for why in rejected.values() for reason in dict.fromkeys(why)]
    return tell(
        "{who}: no channel is left; rejected are all {rejected} that may be used: {counted}",
        who=who,
        rejected=len(rejected),
        counted=_counted(reasons),
    )


def _kind(reason: str) -> str:
    """Return a reason without the level that differs from channel to channel."""
    station = reason.values.get("station") if isinstance(reason, Sentence) else None
    return reason if station is None else tell("not free at the receive site: {station}", station=station)


def _counted(reasons: Iterable[str]) -> str:
    """Return the reasons that hold most often, each with its number."""
    counts = Counter(reasons).most_common()
    said = joined(
        ", ",
        (tell("{reason} ({count})", reason=reason, count=count) for reason, count in counts[:TOP_REASONS]),
    )
    return said + (
        tell(" and {counts} more reasons", counts=len(counts) - TOP_REASONS)
        if len(counts) > TOP_REASONS
        else ""
    )


def _exclusions(field: Field, outputs: Sequence[Output]) -> Iterator[str]:
    """Yield a line for each relay whose own outputs have no set that can stand together."""
    for relay in dict.fromkeys(each.relay.name for each in outputs):
        own = [each for each in outputs if each.relay.name == relay]
        pairs = [words for one, other in combinations(own, 2) if (words := _pair(field, one, other))]
        if pairs:
            yield from pairs
        elif together := _set(field, own):
            yield tell("{relay}: {together}", relay=relay, together=together)


def _pair(field: Field, one: Output, other: Output) -> str:
    """Say that two outputs exclude one another on every pair of channels; nothing where they do not."""
    costs = costs_of([one, other])
    found = conflicts(field, [one, other], costs)
    count = len(costs[0]) * len(costs[1])
    if len(found) < count:
        return ""
    kinds = Counter(found.values()).most_common(TOP_REASONS)
    more = ("...",) if len(set(found.values())) > TOP_REASONS else ()
    return tell(
        "{relay}: {one} and {other} exclude one another on {pairs} of channels left to them: {reasons}",
        relay=one.relay.name,
        one=one.service.name,
        other=other.service.name,
        pairs="the only pair" if count == 1 else tell("all {count} pairs", count=count),
        reasons=joined(", ", (*(words for words, _ in kinds), *more)),
    )


def _set(field: Field, own: Sequence[Output]) -> str:
    """Say why the outputs of a relay have no set, though any two of them have; nothing where they have."""
    costs = costs_of(own)
    forbidden = list(conflicts(field, own, costs))
    if assign(costs, {}, forbidden) is None:
        return tell(
            "its {own} outputs cannot all stand together on the channels left, though any two can",
            own=len(own),
        )
    if without_products(field, own, costs, {}, forbidden, own_outputs=False) is not None:
        return ""
    inputs = joined(", ", (str(service.channel) for service in inputs_of(field, own[0].relay)))
    return tell(
        "a third-order product of every set of channels tried for its {own} outputs falls on its "
        "inputs ({inputs})",
        own=len(own),
        inputs=inputs,
    )
