"""What a manager decides by, gathered from the answers: people, feeds, harm, cost, other places, doubts.

All is worked out here, by the answers that the other commands give; what is said of it only words it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from combe.answers.brief_alternatives import Alternatives, alternatives
from combe.answers.brief_inputs import Setting, settings_of
from combe.answers.brief_people import (
    MeasuringPlace,
    NamedSettlement,
    measuring_places,
    named_settlements,
)
from combe.answers.coordinate import CoordinateReport, coordinate_report
from combe.answers.cover import CoverReport, Progress, cover_report
from combe.answers.exposure import exposure_of
from combe.answers.feed_service import ServiceFeed
from combe.answers.people_places import PeoplePlace, people_places
from combe.answers.provenance import provenance
from combe.answers.relay_totals import cost_of_relays
from combe.answers.site_report import SiteReport, site_report
from combe.decibels import FloatArray
from combe.errors import RangeError, StudyError, TableError
from combe.project import InputFile, Project
from combe.reception import Cause
from combe.stations import Station
from combe.words import tell

MOST_IN_DOUBT: Final = 3
"""So many districts are told whose people are most in doubt (our own choice)."""


@dataclass(frozen=True)
class FeedOfService:
    """One service of a relay's feed; ``limit`` is what leaves least to spare, by ``spare_db``."""

    relay: str
    parent: str
    service: ServiceFeed
    limit: Cause
    spare_db: float


@dataclass(frozen=True)
class Cost:
    """What a relay costs in a year; None where the study does not tell."""

    relay: str
    yearly: float | None


@dataclass(frozen=True)
class Costs:
    """What the relays cost in a year, each and together, in whatever currency the study has.

    ``total`` is None where any relay has no cost, ``sites`` (to build them, once) where the siting has none;
    what is for each person newly served also where that is nobody.
    """

    relays: tuple[Cost, ...]
    total: float | None
    each_person: float | None
    sites: float | None
    sites_each_person: float | None

    @property
    def given(self) -> bool:
        """Whether the study gives any."""
        return self.sites is not None or any(each.yearly is not None for each in self.relays)


@dataclass(frozen=True)
class Exposure:
    """How far the public keeps off the main beam of a relay, its services together; or why not known."""

    relay: str
    distance_m: float | None
    fault: str


@dataclass(frozen=True)
class DistrictInDoubt:
    """A district by the width of the range of its people served."""

    name: str
    low: float
    high: float
    total: float


@dataclass(frozen=True)
class BriefReport:
    """The brief of a study.

    ``settlements`` are those with names, None where people come without; ``places`` all people by where they
    live and their state, for a picture. ``site`` and ``alternatives`` are None where other places were not
    asked for, or the study has no question of a site. ``coordination`` is None where the study has none, or
    where ``coordination_fault`` says why it cannot be asked. ``lacking`` is what the feeds lack to be judged.
    """

    project: Project
    cover: CoverReport
    feeds: tuple[FeedOfService, ...]
    lacking: tuple[str, ...]
    settlements: tuple[NamedSettlement, ...] | None
    places: tuple[PeoplePlace, ...]
    measuring: tuple[MeasuringPlace, ...]
    in_doubt: tuple[DistrictInDoubt, ...]
    costs: Costs
    exposures: tuple[Exposure, ...]
    site: SiteReport | None
    alternatives: Alternatives | None
    coordination: CoordinateReport | None
    coordination_fault: str
    settings: tuple[Setting, ...]
    files: tuple[InputFile, ...]
    provenance: dict[str, str]

    @property
    def heights_m(self) -> FloatArray:
        """Heights of the ground (rows, columns)."""
        return self.cover.heights_m

    @property
    def relays(self) -> tuple[Station, ...]:
        """The relays of the study."""
        return self.project.relays

    @property
    def feed_verdict(self) -> str | None:
        """The verdict of all feeds together; None without a relay."""
        return self.cover.feeds.verdict if self.cover.feeds else None


def brief_report(
    project: Project,
    progress: Progress | None = None,
    *,
    cache_folder: Path | None = None,
    siting_folder: Path | None = None,
    files: Sequence[InputFile] = (),
) -> BriefReport:
    """Gather what a brief tells of a project.

    Parameters
    ----------
    progress, cache_folder
        As :func:`combe.answers.cover.cover_report`.
    siting_folder
        Where the search of other places keeps its blocks; without it none is searched.
    files
        What the project was made from, for whoever repeats the work.

    Raises
    ------
    StudyError, RangeError, TerrainGapError, RasterError, TableError, OutputError
        As coverage, feeds and siting.
    """
    cover = cover_report(project, progress, cache_folder=cache_folder, feeds=True, unserved=True)
    site = None
    if siting_folder is not None and project.siting is not None:
        site = site_report(project, siting_folder, progress=progress, cache_folder=cache_folder)
    others = None if site is None else alternatives(site)
    coordination, fault = _coordination(project, progress)
    return BriefReport(
        project=project,
        cover=cover,
        feeds=feeds_by_service(cover),
        lacking=_lacking(cover),
        settlements=named_settlements(cover),
        places=_places(cover),
        measuring=measuring_places(cover),
        in_doubt=_in_doubt(cover),
        costs=_costs(project, cover, others),
        exposures=tuple(_exposure(each) for each in project.relays),
        site=site,
        alternatives=others,
        coordination=coordination,
        coordination_fault=fault,
        settings=settings_of(project),
        files=tuple(files),
        provenance={**provenance(project, cover.grid, over_year=True), **cover.provenance},
    )


def feeds_by_service(cover: CoverReport) -> tuple[FeedOfService, ...]:
    """Return each service of each feed, those that do not pass first and then by what is to spare."""
    found = [
        FeedOfService(
            relay.relay.name, relay.parent.name, each, each.judged.findings[0].cause,
            each.judged.findings[0].spare_db,
        )
        for relay in cover.relay_feeds
        for each in relay.services
    ]  # fmt: skip
    worst_first = ("fails", "not judged", "passes")

    def rank(each: FeedOfService) -> tuple[int, float]:
        # What is not known may be anything, so it comes before what is.
        spare_db = -math.inf if math.isnan(each.spare_db) else each.spare_db
        return worst_first.index(each.service.verdict), spare_db

    return tuple(sorted(found, key=rank))


def _lacking(cover: CoverReport) -> tuple[str, ...]:
    """Return what is not known of the feeds and could fail them, each once with its relay."""
    if cover.feeds is None:
        return ()
    told = [
        tell("{name}: {words}", name=relay.relay.name, words=words)
        for relay in cover.feeds.relays
        for each in relay.services
        for words in each.judged.not_judged
    ]
    gaps = [tell("{relay}: {reason}", relay=gap.relay, reason=gap.reason) for gap in cover.feeds.gaps]
    built = [
        tell("{name}: the chain is a first budget, not as it is built", name=relay.name)
        for relay, feed in cover.project.fed
        if not feed.as_built
    ]
    return tuple(dict.fromkeys([*told, *gaps, *built]))


def _places(cover: CoverReport) -> tuple[PeoplePlace, ...]:
    if cover.people is None:
        return ()
    return tuple(people_places(cover.people, cover.grid, cover.all_services, most=400))


def _in_doubt(cover: CoverReport) -> tuple[DistrictInDoubt, ...]:
    """Return the districts whose people served have the widest ranges, the widest first."""
    network = cover.all_services
    pairs = zip(network.districts, network.district_ranges, strict=False)
    found = [
        DistrictInDoubt(name, ranges.served.low, ranges.served.high, people.total)
        for (name, people), ranges in pairs
    ]
    return tuple(sorted(found, key=lambda each: each.low - each.high)[:MOST_IN_DOUBT])


def _costs(project: Project, cover: CoverReport, others: Alternatives | None) -> Costs:
    each = tuple(Cost(relay.name, project.running_costs.get(relay.name)) for relay in project.relays)
    total = cost_of_relays(project)
    people = cover.all_services.people
    new = people.newly_served if people else None
    sites = _sites_cost(project, len(each), others)

    def shared(cost: float | None) -> float | None:
        return cost / new if cost is not None and new else None

    return Costs(each, total, shared(total), sites, shared(sites))


def _sites_cost(project: Project, relays: int, others: Alternatives | None) -> float | None:
    """Return what it costs to build the relays: one as its place was priced, else the price of every site."""
    siting = project.siting
    if siting is None or not relays or not (siting.cost_per_site or siting.cost_per_access_km):
        return None
    if relays == 1 and others is not None and others.own is not None:
        return others.own.cost
    # The way to a site costs as well, and nobody has looked how long it is.
    return siting.cost_per_site * relays if not siting.cost_per_access_km else None


def _exposure(relay: Station) -> Exposure:
    found, fault = exposure_of(relay)
    return Exposure(relay.name, found.distance_m if found else None, fault)


def _coordination(project: Project, progress: Progress | None) -> tuple[CoordinateReport | None, str]:
    """Return the fields at the neighbour's places; why they cannot be had, where they cannot."""
    asked = project.coordination
    if asked is None:
        return None, ""
    # What the neighbour is asked about is what is new; parents are on the air already.
    relays = tuple(each.name for each in project.relays)
    only = asked if asked.stations or not relays else replace(asked, stations=relays)
    try:
        return coordinate_report(project, only, progress), ""
    except (RangeError, TableError, StudyError) as error:
        return None, str(error)
