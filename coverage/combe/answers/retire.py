"""Which relays could go: who would be left without each, and the most that can close together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from combe.answers.cover import CoverReport, cover_report
from combe.answers.cover_run import CoverRun, judged_with, served_where
from combe.answers.feed import FeedStanding
from combe.answers.workspace import Progress
from combe.errors import require_range
from combe.planning import Closing, Dependence, Mask, depend_on, most_closed
from combe.project import Project, off_air_hint
from combe.stations import Station
from combe.terrain import people_on_grid

USUAL_KEEP_PERCENT = 99.0

_SOMEBODY = 0.5
"""Fewer people are told as nobody."""


@dataclass(frozen=True)
class RelayAlone:
    """What it would mean to close one relay, with those that it feeds.

    ``without`` are people who have every service now and would not any more; ``running_cost`` is the relay's
    own, and ``spared`` that of all that close with it, None where the study states none.
    """

    station: Station
    followers: tuple[str, ...]
    without: float
    running_cost: float | None
    spared: float | None
    closes: bool


class ServiceLoss(NamedTuple):
    """A service that fewer people have once a set of relays is closed: its name, people now and then."""

    service: str
    now: float
    then: float


@dataclass(frozen=True)
class RetireReport:
    """Which relays could go.

    ``relays`` one by one, the fewest people first; ``closing`` the set that spares most while
    ``keep_percent`` of the ``people`` who have every service now keep it. ``by_cost`` tells that running
    costs are spared, and not the number of relays. ``served_after`` are the people with every service once
    the network without the set is judged anew, interference and all; None where nothing closes, or where a
    service would be gone with it; ``losses`` are the services that fewer then have, though these people may
    never have had every one. ``standings`` are the feeds of the relays, which count as fed whatever
    their verdict.
    """

    project: Project
    relays: tuple[RelayAlone, ...]
    closing: Closing
    keep_percent: float
    people: float
    by_cost: bool
    served_after: float | None
    losses: tuple[ServiceLoss, ...]
    standings: tuple[FeedStanding, ...]
    provenance: dict[str, str]

    @property
    def closed(self) -> tuple[str, ...]:
        """Names of the relays that close."""
        return tuple(each.station.name for each in self.relays if each.closes)


def retire_report(
    project: Project,
    keep_percent: float = USUAL_KEEP_PERCENT,
    progress: Progress | None = None,
    *,
    cache_folder: Path | None = None,
) -> RetireReport:
    """Find which relays could go.

    Parameters
    ----------
    project
        With people and relays.
    keep_percent
        Share of the people who have every service now, and have to keep it [%], 0 to 100.
    progress
        Told how far the predictions are.
    cache_folder
        Where fields of stations are kept and found again; nothing is kept if not given.

    Raises
    ------
    StudyError
        No people or no relay; running costs for some relays and not for others.
    RangeError
        A share out of range; and what :func:`combe.answers.cover.cover_report` raises.
    """
    require_range("share of people to be kept, in percent", keep_percent, 0.0, 100.0)
    relays = project.relays
    costs = _costs(project, relays)
    if project.people is None:
        raise project.error(["people: is missing; relays are ranked by the people who hang on them"])
    report = cover_report(project.received_by(project.way), progress, cache_folder=cache_folder, feeds=True)
    dependence = _dependence(report, relays)
    closing = most_closed(dependence, keep_percent / 100.0, costs)
    alone = [_alone(project, dependence, relays, number, closing) for number in range(len(relays))]
    closed = [relays[number].name for number in closing.closed]
    anew = _judged_anew(project, closed, progress, cache_folder)
    return RetireReport(
        project=project,
        relays=tuple(sorted(alone, key=lambda each: each.without)),
        closing=closing,
        keep_percent=keep_percent,
        people=dependence.total,
        by_cost=costs is not None,
        served_after=anew.all_services.people.served if anew and anew.all_services.people else None,
        losses=_losses(report, anew),
        standings=report.standings,
        provenance=report.provenance,
    )


def _costs(project: Project, relays: Sequence[Station]) -> np.ndarray | None:
    """Return the running cost of each relay, None where the study states none."""
    if not relays:
        words = 'stations: no relay is there that could go; add one with role = "relay"'
        raise project.error([f"{words}{off_air_hint(project.off_air)}"])
    known = [each for each in relays if each.name in project.running_costs]
    if not known:
        return None
    missing = [each for each in relays if each not in known]
    if missing:
        raise project.error(
            [
                f"{project.label_of(each)}.running_cost: is missing; other relays have one, write it for all"
                for each in missing
            ]
        )
    return np.array([project.running_costs[each.name] for each in relays])


def _dependence(report: CoverReport, relays: Sequence[Station]) -> Dependence:
    """Return who hangs on which relay, cell by cell of the grid."""
    assert report.people is not None, "the project has people"
    run, services = report.run, report.run.services
    people = people_on_grid(report.grid, report.people).ravel()
    lived_in = np.flatnonzero(people > 0.0)
    by_parents = np.zeros((len(services), lived_in.size), dtype=np.bool_)
    by_relays = np.zeros((len(services), len(relays), lived_in.size), dtype=np.bool_)
    names = [relay.name for relay in relays]
    for emission, radiated in enumerate(run.radiated):
        served = _served_by_itself(run, emission).ravel()[lived_in]
        service = services.index(radiated.service.name)
        if radiated.station.name in names:
            by_relays[service, names.index(radiated.station.name)] |= served
        else:
            by_parents[service] |= served
    feeds_from = [names.index(relay.parent) if relay.parent in names else -1 for relay in relays]
    return depend_on(people[lived_in], by_parents, by_relays, feeds_from)


def _served_by_itself(run: CoverRun, emission: int) -> Mask:
    """Return where an emission serves whatever other relays close.

    With all on the air; of a network on one frequency without its echoes, which may close too.
    """
    network = run.judges.emissions[emission].one_frequency
    if network is None:
        return served_where(run, emission)
    others = [
        index
        for index, each in enumerate(run.judges.emissions)
        if each.one_frequency is None or each.one_frequency.network != network.network
    ]
    served: Mask = np.greater_equal(judged_with(run, emission, others)[0], 0.0)
    return served


def _alone(
    project: Project, dependence: Dependence, relays: Sequence[Station], number: int, closing: Closing
) -> RelayAlone:
    names = [relays[each].name for each in dependence.followers(number)]
    costs = [project.running_costs.get(name) for name in names]
    spared = None if any(cost is None for cost in costs) else sum(cost for cost in costs if cost is not None)
    return RelayAlone(
        station=relays[number],
        followers=tuple(name for name in names if name != relays[number].name),
        without=dependence.total - dependence.kept((number,)),
        running_cost=project.running_costs.get(relays[number].name),
        spared=spared,
        closes=number in closing.closed,
    )


def _judged_anew(
    project: Project, closed: list[str], progress: Progress | None, cache_folder: Path | None
) -> CoverReport | None:
    """Judge the network without some relays anew; None where that is another question."""
    if not closed:
        return None
    left = project.without(*closed)
    services = [
        {each.name for station in one.stations for each in station.services} for one in (project, left)
    ]
    if services[0] != services[1]:
        return None
    return cover_report(left.received_by(left.way), progress, cache_folder=cache_folder)


def _losses(now: CoverReport, then: CoverReport | None) -> tuple[ServiceLoss, ...]:
    """Return the services that fewer people have then, by half a person or more."""
    if then is None:
        return ()
    after = {each.name: each.people.served for each in then.services if each.people}
    return tuple(
        ServiceLoss(each.name, each.people.served, after[each.name])
        for each in now.services
        if each.people and each.people.served - after[each.name] >= _SOMEBODY
    )
