"""Which static delays would serve most people: a bounded search over the networks on one frequency."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.answers.corrections import correction_words, corrections_of
from combe.answers.cover import cover_report
from combe.answers.cover_run import CoverRun, heard_at, run_network
from combe.answers.emissions import interference_words
from combe.answers.feed import FeedStanding, feed_report, feed_standings
from combe.answers.ground_check import check_stations
from combe.answers.one_frequency import (
    Radiated,
    idle_notes,
    network_notes,
    one_frequency_of,
    radiated_at,
    shared_services,
    timing_of,
    way_us,
)
from combe.answers.provenance import provenance
from combe.answers.workspace import Progress
from combe.decibels import FloatArray
from combe.errors import require_range
from combe.planning import MOST_TRIALS, DelaysFound, Freedom, Mask, freedom_of, search_delays
from combe.project import (
    Project,
    SingleFrequencyNetwork,
    off_air_hint,
    project_area,
    project_grid,
    project_people,
)
from combe.reception import (
    Emission,
    Judges,
    OneFrequency,
    Roles,
    fields_at,
    make_judges,
    make_roles,
    stand_cells,
)
from combe.stations import Service, Station
from combe.terrain import cell_centres_m, people_on_grid

USUAL_TRIALS: Final = 200

_CELLS_AT_A_TIME: Final = 4096
_ENDLESS_US: Final = 1e5
"""A guard interval in which every echo comes, whatever its way."""

_Singles = npt.NDArray[np.float32]


@dataclass(frozen=True)
class MemberDelay:
    """A member of a network, when it radiates now, and when as advised.

    ``looked`` tells within what its delay was looked for; None of the one from which the others are counted.
    ``people_beside`` are the fewest people with its delay a microsecond off; None where that was not tried.
    """

    network: str
    station: str
    now: Radiated
    advised: Radiated
    looked: Freedom | None
    people_beside: float | None

    @property
    def kept(self) -> bool:
        """Whether it was not changed in the search, because the others are counted from it."""
        return self.looked is None

    @property
    def changes(self) -> bool:
        """Whether another static delay is advised."""
        return self.now.static_us != self.advised.static_us


@dataclass(frozen=True)
class DelaysReport:
    """The static delays that a bounded search found to serve most people.

    People have every service, each from the station that gives it best. ``people_now`` and ``people_advised``
    are counted in the cells where people live; ``people_at_most`` would be served if every echo were of use,
    more than any delays can do. ``served_after`` is what the coverage of the ``advised`` project counts; None
    where no other delay is advised.
    ``standings`` are the feeds of the relays, which count as fed whatever their verdict; ``notes`` tell of
    networks that no delays help.
    """

    project: Project
    advised: Project
    members: tuple[MemberDelay, ...]
    people: float
    people_now: float
    people_advised: float
    people_at_most: float
    served_after: float | None
    trials: int
    limit: int
    exhausted: bool
    standings: tuple[FeedStanding, ...]
    notes: tuple[str, ...]
    provenance: dict[str, str] = field(repr=False)

    @property
    def changed(self) -> tuple[MemberDelay, ...]:
        """The members that should wait longer or shorter."""
        return tuple(each for each in self.members if each.changes)


class _Member(NamedTuple):
    """A station that adds to others of a network, one of its services that do, and whom it repeats."""

    network: SingleFrequencyNetwork
    station: Station
    service: Service
    heard: str
    guard_us: float


class _Homes(NamedTuple):
    """Cells where people live: how many (n,), where [m], and the fields of all emissions (emissions, n)."""

    people: FloatArray
    x_m: FloatArray
    y_m: FloatArray
    median_dbuv_m: _Singles
    at_time_dbuv_m: _Singles

    def only(self, kept: Mask) -> _Homes:
        """Return some of the cells."""
        return _Homes(
            self.people[kept],
            self.x_m[kept],
            self.y_m[kept],
            self.median_dbuv_m[:, kept],
            self.at_time_dbuv_m[:, kept],
        )


def delays_report(
    project: Project,
    trials: int = USUAL_TRIALS,
    progress: Progress | None = None,
    *,
    cache_folder: Path | None = None,
) -> DelaysReport:
    """Look for the static delays of networks on one frequency that serve most people.

    Parameters
    ----------
    project
        With people, and a network on one frequency whose echoes can add.
    trials
        How many sets of delays are judged at most, beside the present ones.
    progress
        Told how far the predictions and the trials are.
    cache_folder
        Where fields of stations are kept and found again; nothing is kept if not given.

    Raises
    ------
    StudyError
        No people, no network on one frequency, none whose echoes add, or a relay that should radiate before
        it hears.
    RangeError
        A limit out of range; and what :func:`combe.answers.cover.cover_report` raises.
    """
    require_range("limit of trials", trials, 1, MOST_TRIALS)
    members = _members(project)
    if project.people is None:
        raise project.error(["people: is missing; delays are judged by the people who are served"])
    check_stations(project)
    grid = project_grid(project)
    source = project_people(project, grid)
    assert source is not None, "the project has people"
    corrections = corrections_of(project)
    run = run_network(project, project_area(project, grid), corrections, cache_folder, progress)
    homes, roles = _homes(run, people_on_grid(grid, source.people)), _roles(run)
    helped, at_most = _that_matter(run, project, homes, roles)
    free = [each for each in members if each not in _references(members)]
    names = [each.station.name for each in free]
    freedoms = [_freedom(project, each, members) for each in free]

    def people_of(delays: tuple[float, ...]) -> float:
        judges = _judges(run, _delayed(project, free, delays))
        return float(helped.people[_served(helped, judges, roles)].sum())

    def told(trial: int) -> None:
        if progress is not None:
            progress(trial, trials, "judging delays")

    found = search_delays(freedoms, people_of, trials, at_most, told)
    advised = _delayed(project, free, found.best)
    return DelaysReport(
        project=project,
        advised=advised,
        members=_told(project, advised, members, dict(zip(names, freedoms, strict=True)), found),
        people=float(homes.people.sum()),
        people_now=found.people_now,
        people_advised=found.people,
        people_at_most=at_most,
        served_after=_served_after(project, advised, progress, cache_folder),
        trials=found.trials,
        limit=trials,
        exhausted=found.exhausted,
        standings=_standings(project),
        notes=tuple(network_notes(project)),
        provenance={
            **provenance(project, grid),
            **interference_words(project, run.radiated, run.judges.partners),
            **correction_words(corrections),
            "people": source.people.source,
        },
    )


def _members(project: Project) -> list[_Member]:
    """Return the members whose delays matter; StudyError for none, or for one that cannot be as told."""
    if not project.networks:
        words = "sfn: is missing; name stations of one network on one frequency in [[sfn]]"
        raise project.error([f"{words}{off_air_hint(project.off_air)}"])
    found: list[_Member] = []
    for network in project.networks:
        first: dict[str, _Member] = {}
        for station, service in shared_services(project, network):
            timing = timing_of(project, network, service)
            if timing is not None:
                heard = radiated_at(project, network, station, service).heard
                member = _Member(network, station, service, heard, timing.guard_us)
                # One that repeats any of its services can only wait with all of them.
                if station.name not in first or (heard and not first[station.name].heard):
                    first[station.name] = member
        found += first.values()
    if not found:
        raise project.error([f"sfn: {each}; no delays help" for each in idle_notes(project)])
    early = [each for each in found if each.heard and _static_us(each) < 0.0]
    if early:
        raise project.error(
            [
                f"sfn[{project.networks.index(each.network)}].static_delay_us: {each.station.name} repeats "
                f"{each.heard}, hears it off air and can only wait; write 0 or more, not {_static_us(each):g}"
                for each in early
            ]
        )
    return found


def _static_us(member: _Member) -> float:
    return member.network.static_delay_us.get(member.station.name, 0.0)


def _references(members: Sequence[_Member]) -> list[_Member]:
    """Return of each network the first that hears no other: only by how much the others differ counts."""
    first: dict[str, _Member] = {}
    for member in members:
        if not member.heard:
            first.setdefault(member.network.name, member)
    return list(first.values())


def _freedom(project: Project, member: _Member, members: Sequence[_Member]) -> Freedom:
    own = [each for each in members if each.network is member.network]
    farthest_us = max(way_us(member.station, each.station) for each in own)
    times_us = [radiated_at(project, each.network, each.station, each.service).delay_us for each in own]
    after_us = times_us[own.index(member)] - times_us[own.index(_references(own)[0])]
    return freedom_of(
        _static_us(member), after_us, member.guard_us, farthest_us, only_later=bool(member.heard)
    )


def _delayed(project: Project, members: Sequence[_Member], delays_us: Sequence[float]) -> Project:
    """Return the project with other static delays of some members; those that stay are not written."""
    networks = {network.name: network for network in project.networks}
    for member, delay_us in zip(members, delays_us, strict=True):
        if delay_us != _static_us(member):
            name = member.network.name
            networks[name] = networks[name].delayed(member.station.name, delay_us)
    return replace(project, networks=tuple(networks.values()))


def _homes(run: CoverRun, people: FloatArray) -> _Homes:
    """Read the fields of all emissions where people live."""
    cells = np.flatnonzero(people.ravel() > 0.0)
    x_m, y_m = cell_centres_m(run.area.grid)
    row, column = np.divmod(cells, run.area.grid.columns)
    median, at_time = (np.empty((len(run.radiated), cells.size), dtype=np.float32) for _ in range(2))
    for emission in range(len(run.radiated)):
        median[emission], at_time[emission] = heard_at(run, emission, cells)
    return _Homes(people.ravel()[cells], x_m[column], y_m[row], median, at_time)


def _that_matter(run: CoverRun, project: Project, homes: _Homes, roles: Roles) -> tuple[_Homes, float]:
    """Return the cells that are served now or would be if every echo were of use, and their people.

    No delays serve any other: a service of no network knows none, and no echo is of more use than in full.
    """
    now = _served(homes, _judges(run, project), roles)
    every = _served(homes, _judges(run, project, _of_use), roles)
    helped = homes.only(now | every)
    return helped, float(helped.people.sum())


def _of_use(own: OneFrequency) -> OneFrequency:
    """Return an emission in a network with a guard interval so long that every echo comes within it."""
    return OneFrequency(own.network, 0.0, _ENDLESS_US, _ENDLESS_US, _ENDLESS_US, "best C/I")


def _judges(
    run: CoverRun, project: Project, changed: Callable[[OneFrequency], OneFrequency] | None = None
) -> Judges:
    """Return the judges of a run with the delays of a project; who may disturb whom stays."""

    def emission(own: Emission, station: Station, service: Service) -> Emission:
        found = one_frequency_of(project, station, service)
        return replace(own, one_frequency=changed(found) if changed and found else found)

    emissions = [emission(own, *of) for own, of in zip(run.judges.emissions, run.radiated, strict=True)]
    return make_judges(emissions, run.judges.rules, run.judges.partners)


def _roles(run: CoverRun) -> Roles:
    """Return roles in which no station is a relay: how it was with the parents alone is not asked."""
    return make_roles(run.judges, [False] * len(run.radiated), [each.median_dbuv_m for each in run.minima])


def _served(homes: _Homes, judges: Judges, roles: Roles) -> Mask:
    """Return in which cells every service is served by some station."""

    def part(first: int) -> Mask:
        at = slice(first, first + _CELLS_AT_A_TIME)
        here = fields_at(
            homes.x_m[at], homes.y_m[at], homes.median_dbuv_m[:, at], homes.at_time_dbuv_m[:, at]
        )
        margins_db = stand_cells(judges, roles, here).cells["margin"][:, :, 0]
        # A service without prediction is NaN, and so is the least of all.
        served: Mask = np.greater_equal(margins_db.min(axis=0), 0.0)
        return served

    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        parts = list(pool.map(part, range(0, homes.people.size, _CELLS_AT_A_TIME)))
    return np.concatenate(parts) if parts else np.zeros(0, dtype=np.bool_)


def _told(
    project: Project,
    advised: Project,
    members: Sequence[_Member],
    freedoms: Mapping[str, Freedom],
    found: DelaysFound,
) -> tuple[MemberDelay, ...]:
    networks = {network.name: network for network in advised.networks}
    beside = dict(zip(freedoms, found.beside, strict=True))
    return tuple(
        MemberDelay(
            network=each.network.name,
            station=each.station.name,
            now=radiated_at(project, each.network, each.station, each.service),
            advised=radiated_at(advised, networks[each.network.name], each.station, each.service),
            looked=freedoms.get(each.station.name),
            people_beside=beside.get(each.station.name),
        )
        for each in members
    )


def _served_after(
    project: Project, advised: Project, progress: Progress | None, cache_folder: Path | None
) -> float | None:
    """Judge the advised delays by the coverage itself; None where they are the present ones."""
    if advised.networks == project.networks:
        return None
    by_one_way = advised.received_by(advised.way)
    people = cover_report(by_one_way, progress, cache_folder=cache_folder).all_services.people
    return None if people is None else people.served


def _standings(project: Project) -> tuple[FeedStanding, ...]:
    if not any(station.parent for station in project.stations):
        return ()
    return feed_standings(feed_report(project, over_gaps=True))
