"""Chooses output channels for relays: ranks them for each, and assigns them to all at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from combe.answers.channel_plan import ChannelPlan, Output, make_plan, why_no_plan
from combe.answers.channel_signals import (
    Field,
    Verdicts,
    judge_relay,
    lay_field,
    raster_of_relay,
    signals_of_station,
    signals_on_channels,
    usable_channels,
)
from combe.answers.corrections import correction_words
from combe.answers.emissions import every_ratio, method_words
from combe.answers.forecast import Forecast
from combe.answers.ground_check import check_stations
from combe.answers.people_places import people_targets
from combe.answers.provenance import provenance
from combe.errors import RangeError
from combe.planning.channels import (
    Before,
    JointHarm,
    OutputRanking,
    Signal,
    before_relays,
    joint_harm,
    rank_channels,
)
from combe.project import Project, off_air_hint, project_area, project_grid, project_people
from combe.standards import channel_words
from combe.stations import Service, Station


@dataclass(frozen=True)
class ChannelsReport:
    """The channels of a study; ``plan`` is None where no assignment keeps what must be kept.

    ``refusal`` then says why, a line for each relay or output that is to blame. ``present`` is what the
    channels of the study as it stands do. ``left_out`` people live on voids;
    ``forecast`` is what was told beforehand.
    """

    project: Project
    outputs: tuple[OutputRanking, ...]
    plan: ChannelPlan | None
    refusal: tuple[str, ...]
    present: JointHarm
    places: int
    people: float
    left_out: float
    provenance: dict[str, str]
    forecast: Forecast | None = None


def channels_report(
    project: Project, relays: Sequence[str] = (), channels: Sequence[int] | None = None
) -> ChannelsReport:
    """Rank the output channels of relays, and assign them.

    Parameters
    ----------
    project
        With people. Stations that are not asked for keep their channels.
    relays
        Names; all relays unless given.
    channels
        Those that may be used at all; all that the planning values cover unless given.

    Raises
    ------
    StudyError
        A study without people or relays, or with stations whose ground, cover or zone is not known.
    RangeError
        A name that is no relay, or a channel that is not usable.
    """
    check_stations(project)
    planned = _planned(project, relays)
    settled = [station for station in project.stations if station not in planned]
    area = project_area(project, project_grid(project))
    source = project_people(project, area.grid)
    if source is None:
        raise project.error(["people: is missing; channels are ranked by the people they harm"])
    places = people_targets(source.people, area)
    field = lay_field(project, area, places)
    fixed = [signal for station in settled for signal in signals_of_station(field, station)]
    names = [service.name for relay in planned for service in relay.services]
    before = before_relays(field.public, fixed, names)
    allowed = {relay.name: _allowed(project, relay, channels) for relay in planned}
    outputs = [
        found for relay in planned for found in _outputs(field, before, relay, settled, allowed[relay.name])
    ]
    shown = [each.signals[each.service.channel] for each in outputs]
    plan = make_plan(field, before, outputs)
    return ChannelsReport(
        project=project,
        outputs=tuple(each.ranking for each in outputs),
        plan=plan,
        refusal=() if plan else why_no_plan(field, outputs),
        present=joint_harm(field.public, before, shown),
        places=places.people.size,
        people=float(places.people.sum()),
        left_out=places.left_out,
        provenance=provenance(project, area.grid)
        | correction_words(field.corrections)
        | {"interference": method_words(project, every_ratio(project))},
    )


def _planned(project: Project, names: Sequence[str]) -> list[Station]:
    relays = project.relays
    if not relays:
        words = 'stations: no relay is there to choose for; add one with role = "relay"'
        raise project.error([f"{words}{off_air_hint(project.off_air)}"])
    asked = [project.station(name) for name in names]
    for station in asked:
        if station.role != "relay":
            raise RangeError("relay", f'"{station.name}"', ", ".join(relay.name for relay in relays))
    return [relay for relay in relays if not asked or relay in asked]


def _allowed(project: Project, relay: Station, channels: Sequence[int] | None) -> tuple[int, ...]:
    usable = usable_channels(project, relay)
    asked = usable if channels is None else tuple(dict.fromkeys(channels))
    wrong = [each for each in asked if each not in usable]
    if wrong:
        raise RangeError("channel", wrong[0], f"{channel_words(usable)} ({raster_of_relay(project, relay)})")
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
