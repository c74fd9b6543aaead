"""Chooses output channels for relays: ranks them for each, and assigns them to all at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from combe.decibels import dbw_from_watt
from combe.errors import RangeError, StudyError
from combe.planning.channels.assign import Assignment, Choice, Pair, assign
from combe.planning.channels.harm import Before, before_relays, pair_harm
from combe.planning.channels.public import Signal
from combe.planning.channels.ranking import JointHarm, OutputRanking, joint_harm, rank_channels
from combe.planning.channels.relations import Hit, output_conflict, product_hits
from combe.standards.channels import centre_frequency_mhz, channel_raster
from combe.stations.transmitter import Service, Station
from combe.study.channel_signals import (
    Field,
    lay_field,
    ratios_of,
    signals_of_station,
    signals_on_channels,
    usable_channels,
)
from combe.study.emissions import method_words, protections
from combe.study.file import Study
from combe.study.on_air import picture_system
from combe.study.people_targets import people_targets
from combe.study.provenance import provenance
from combe.study.relay_channels import Verdicts, conversion_at, inputs_of, judge_relay
from combe.study.resolve import (
    Scene,
    raster_name,
    resolve,
    resolve_grid,
    resolve_people,
    station_named,
)
from combe.study.run_survey import correction_words
from combe.study.study_area import check_stations, study_area

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


@dataclass(frozen=True)
class ChannelsReport:
    """The channels of a study; ``plan`` is None where no assignment keeps what must be kept.

    ``present`` is what the channels of the study as it stands do. ``left_out`` people live on voids.
    """

    study: Study
    outputs: tuple[OutputRanking, ...]
    plan: ChannelPlan | None
    present: JointHarm
    places: int
    people: float
    left_out: float
    provenance: dict[str, str]


def channels_report(
    study: Study, relays: Sequence[str] = (), channels: Sequence[int] | None = None
) -> ChannelsReport:
    """Rank the output channels of relays, and assign them.

    Parameters
    ----------
    study
        With people. Stations that are not asked for keep their channels.
    relays
        Names; all relays unless given.
    channels
        Those that may be used at all; all that the planning values cover unless given.

    Raises
    ------
    StudyError
        A study without people or relays.
    RangeError
        A name that is no relay, or a channel that is not usable.
    """
    scene = resolve(study)
    check_stations(scene)
    planned = _planned(scene, relays)
    settled = [station for station in scene.stations if station not in planned]
    area = study_area(scene, resolve_grid(scene))
    people = resolve_people(study, area.grid)
    if people is None:
        raise StudyError(study.path, ["people: is missing; channels are ranked by the people they harm"])
    places = people_targets(people, area)
    field = lay_field(scene, area, places)
    fixed = [signal for station in settled for signal in signals_of_station(field, station)]
    names = [service.name for relay in planned for service in relay.services]
    before = before_relays(field.public, fixed, names)
    allowed = _allowed(scene, channels)
    outputs = [found for relay in planned for found in _outputs(field, before, relay, settled, allowed)]
    shown = [each.signals[each.service.channel] for each in outputs]
    return ChannelsReport(
        study=study,
        outputs=tuple(each.ranking for each in outputs),
        plan=_plan(field, before, outputs),
        present=joint_harm(field.public, before, shown),
        places=places.people.size,
        people=float(places.people.sum()),
        left_out=places.left_out,
        provenance=provenance(scene, area.grid)
        | correction_words(field.corrections)
        | {"interference": method_words(scene, protections(scene.television).values())},
    )


def _planned(scene: Scene, names: Sequence[str]) -> list[Station]:
    relays = [station for station in scene.stations if station.role == "relay"]
    if not relays:
        raise StudyError(
            scene.study.path, ['stations: no relay is there to choose for; add one with role = "relay"']
        )
    asked = [station_named(scene, name) for name in names]
    for station in asked:
        if station.role != "relay":
            raise RangeError("relay", f'"{station.name}"', ", ".join(relay.name for relay in relays))
    return [relay for relay in relays if not asked or relay in asked]


def _allowed(scene: Scene, channels: Sequence[int] | None) -> tuple[int, ...]:
    usable = usable_channels(scene)
    asked = usable if channels is None else tuple(dict.fromkeys(channels))
    wrong = [each for each in asked if each not in usable]
    if wrong:
        raise RangeError("channel", wrong[0], f"{usable[0]} to {usable[-1]} ({raster_name(scene)})")
    return asked


def _outputs(
    field: Field, before: Before, relay: Station, settled: Sequence[Station], allowed: Sequence[int]
) -> Iterator[Output]:
    """Rank the channels of each service of one relay."""
    verdicts = judge_relay(field, relay, settled, allowed)
    tried = [each for each in allowed if each not in verdicts.rejected]
    shown = dict.fromkeys([*tried, *(service.channel for service in relay.services)])
    signals = signals_on_channels(field, relay, list(shown))
    for service in relay.services:
        own = {channel: signals[service.name, channel] for channel in shown}
        yield Output(relay, service, own, _ranking(field, before, relay, service, own, tried, verdicts))


def _ranking(
    field: Field,
    before: Before,
    relay: Station,
    service: Service,
    signals: Mapping[int, Signal],
    tried: Sequence[int],
    verdicts: Verdicts,
) -> OutputRanking:
    there = {channel: signals[channel] for channel in tried}
    ranked = rank_channels(field.public, before, there, verdicts.cautions)
    return OutputRanking(relay.name, service.name, service.erp_w, service.channel, ranked, verdicts.rejected)


def _plan(field: Field, before: Before, outputs: Sequence[Output]) -> ChannelPlan | None:
    """Assign a channel to every output; None where one has none left or no set can stand together."""
    costs = [{one.channel: one.cost for one in each.ranking.ranked[:MOST_TRIED]} for each in outputs]
    if not all(costs):
        return None
    forbidden = list(_conflicts(field, outputs, costs))
    found = _assigned(field, outputs, costs, _pair_costs(field, before, outputs, costs), forbidden)
    if found is None:
        return None
    chosen = [each.signals[channel] for each, channel in zip(outputs, found.channels, strict=True)]
    products = tuple(
        (relay.name, hit)
        for relay, channels in _by_relay(outputs, found.channels)
        for hit in _hits(field, channels, channels)
        if hit.on_channel not in hit.outputs
    )
    return ChannelPlan(
        found.channels, joint_harm(field.public, before, chosen), float(round(found.cost, 2)), products
    )


def _assigned(
    field: Field,
    outputs: Sequence[Output],
    costs: Sequence[Mapping[int, float]],
    pairs: Mapping[Pair, float],
    forbidden: Sequence[frozenset[Choice]],
) -> Assignment | None:
    """Assign so that no third-order product falls on an input, nor on an output if that harms nobody."""
    found = _without_products(field, outputs, costs, pairs, forbidden, own_outputs=False)
    if found is None:
        return None
    cleaner = _without_products(field, outputs, costs, pairs, forbidden, own_outputs=True)
    return found if cleaner is None or cleaner.cost > found.cost + _NOBODY else cleaner


def _without_products(
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
        for hit in _hits(field, own, [*inputs, *(own if own_outputs else [])]):
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


def _hits(field: Field, outputs: Sequence[int], on: Sequence[int]) -> tuple[Hit, ...]:
    raster = channel_raster(raster_name(field.scene))
    frequencies = {each: centre_frequency_mhz(raster.name, each) for each in {*outputs, *on}}
    return product_hits(outputs, on, frequencies, raster.width_mhz)


def _conflicts(
    field: Field, outputs: Sequence[Output], costs: Sequence[Mapping[int, float]]
) -> Iterator[frozenset[Choice]]:
    """Yield pairs of choices that cannot stand together on one mast."""
    ratios, analogue = ratios_of(field.scene), picture_system(field.scene) is not None
    for (i, one), (j, other) in combinations(enumerate(outputs), 2):
        if one.relay is not other.relay:
            continue
        conversion = conversion_at(field, inputs_of(field, one.relay))
        for a in costs[i]:
            for b in costs[j]:
                ends = (a, _erp_dbw(one)), (b, _erp_dbw(other))
                if output_conflict(ratios, conversion, *ends, analogue=analogue):
                    yield frozenset({(i, a), (j, b)})


def _erp_dbw(output: Output) -> float:
    return float(dbw_from_watt(output.service.erp_w))


def _pair_costs(
    field: Field, before: Before, outputs: Sequence[Output], costs: Sequence[Mapping[int, float]]
) -> dict[Pair, float]:
    """Return the people that two choices of different relays take from one another."""
    found: dict[Pair, float] = {}
    steps = set(field.public.ratios)
    for (i, one), (j, other) in combinations(enumerate(outputs), 2):
        if one.relay is other.relay:
            continue
        for a in costs[i]:
            for b in costs[j]:
                if b - a in steps or a - b in steps:
                    found[(i, a), (j, b)] = pair_harm(field.public, before, one.signals[a], other.signals[b])
    return found
