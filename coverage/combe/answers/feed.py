"""Works out the off-air feed of every relay: path, chain and verdict for each service it re-radiates."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from combe.answers.feed_service import ServiceFeed, service_feed
from combe.answers.ground_check import check_stations
from combe.answers.output_side import OutputSide
from combe.answers.path import PathReport
from combe.answers.provenance import provenance
from combe.answers.receiving import ReceivingSide
from combe.answers.relay_site import RelaySite, relay_site
from combe.errors import TerrainGapError
from combe.project import Feed, Project
from combe.reception.feed_verdict import Verdict, worst_verdict
from combe.reception.quality import Hop
from combe.stations.transmitter import Station

__all__ = ["FeedGap", "FeedReport", "RelayFeed", "ServiceFeed", "feed_report", "relay_feed", "relay_sites"]

SHOWN_DB: Final = 0.05
"""Least ratio that is not shown as 0.0."""


@dataclass(frozen=True)
class RelayFeed:
    """The feed of one relay; its verdict is the worst of its services."""

    site: RelaySite
    services: tuple[ServiceFeed, ...]
    verdict: Verdict

    @property
    def relay(self) -> Station:
        """The station that receives."""
        return self.site.relay

    @property
    def parent(self) -> Station:
        """The station that is received."""
        return self.site.parent

    @property
    def path(self) -> PathReport:
        """The path from the parent to the receiving aerial."""
        return self.site.path

    @property
    def side(self) -> ReceivingSide:
        """The receiving side."""
        return self.site.side

    @property
    def output(self) -> OutputSide | None:
        """The output side, where the study describes it."""
        return self.site.output

    @property
    def scantiest(self) -> ServiceFeed:
        """A service that does not pass, if there is one, with a margin that is unknown or the least."""
        return min(self.services, key=_stands)

    @property
    def own_output_tells(self) -> bool:
        """Whether its own outputs take as much from a service as is shown, or what is not known."""
        costs_db = (service.budget.own_output_cost_db or 0.0 for service in self.services)
        return not all(cost_db < SHOWN_DB for cost_db in costs_db)


@dataclass(frozen=True)
class FeedGap:
    """A relay whose feed cannot be predicted, since ground on its way is not known."""

    relay: str
    parent: str
    reason: str


@dataclass(frozen=True)
class FeedReport:
    """The feeds of all relays, and those that cannot be predicted; the verdict is the worst of them."""

    project: Project
    relays: tuple[RelayFeed, ...]
    verdict: Verdict
    provenance: dict[str, str]
    gaps: tuple[FeedGap, ...] = ()


def feed_report(
    project: Project,
    *,
    time_percent: float | None = None,
    only: Collection[str] | None = None,
    over_gaps: bool = False,
) -> FeedReport:
    """Work out the feeds of a project.

    Parameters
    ----------
    project
    time_percent
        Time for which the margin has to stand [%], 50 to 99, in place of that of each feed.
    only
        Names of the relays to look at, and with them those that feed them; without it all.
    over_gaps
        Whether feeds over ground that is not known are told as gaps of the report, and raise no error.

    Raises
    ------
    StudyError
        No relay in the study, or stations of feeds that stand on no ground.
    TerrainGapError, RasterError
        Ground missing on the way, or terrain that cannot be used.
    """
    fed = _fed(project, time_percent)
    fed = fed if only is None else _with_feeders(project, fed, only)
    sites, gaps = list[RelaySite](), list[FeedGap]()
    for relay, feed in fed:
        try:
            sites.append(relay_site(project, relay, feed))
        except TerrainGapError as error:
            if not over_gaps:
                raise
            gaps.append(FeedGap(relay.name, project.station(feed.parent).name, str(error)))
    made: dict[str, RelayFeed | None] = {gap.relay: None for gap in gaps}
    for site in _parents_first(sites):
        made[site.relay.name] = _relay(site, made)
    relays = tuple(found for site in sites if (found := made[site.relay.name]))
    verdicts = [found.verdict for found in relays]
    verdict = worst_verdict([*verdicts, "not judged"] if gaps else verdicts)
    return FeedReport(project, relays, verdict, _provenance(project, relays), tuple(gaps))


def relay_sites(project: Project, *, time_percent: float | None = None) -> list[RelaySite]:
    """Return the site of each relay in the order of the file; errors as :func:`feed_report`."""
    fed = _fed(project, time_percent)
    return [relay_site(project, relay, feed) for relay, feed in fed]


def _fed(project: Project, time_percent: float | None) -> list[tuple[Station, Feed]]:
    """Return each relay with its feed; refuse a project without one."""
    fed = project.fed
    check_stations(project, [each for relay, feed in fed for each in (relay, project.station(feed.parent))])
    if not fed:
        raise project.error(['stations: no relay is there to feed; add one with role = "relay"'])
    return [(relay, _timed(feed, time_percent)) for relay, feed in fed]


def _with_feeders(
    project: Project, fed: Sequence[tuple[Station, Feed]], only: Collection[str]
) -> list[tuple[Station, Feed]]:
    """Return the relays of some names, and those from which they are fed."""
    parents = {relay.name: project.station(feed.parent).name for relay, feed in fed}
    wanted, left = set[str](), list(only)
    while left:
        name = left.pop()
        if name in parents and name not in wanted:
            wanted.add(name)
            left.append(parents[name])
    return [(relay, feed) for relay, feed in fed if relay.name in wanted]


def _stands(service: ServiceFeed) -> tuple[bool, float]:
    margin_db = service.budget.margin_db
    return service.verdict == "passes", -math.inf if math.isnan(margin_db) else margin_db


def _timed(feed: Feed, time_percent: float | None) -> Feed:
    return feed if time_percent is None else replace(feed, time_percent=time_percent)


def _parents_first(sites: Sequence[RelaySite]) -> list[RelaySite]:
    """Return the relays so that one comes behind the one that feeds it; a checked study has no circle."""
    left, ordered = list(sites), list[RelaySite]()
    while left:
        waiting = {site.relay.name for site in left}
        ready = [site for site in left if site.parent.name not in waiting]
        ordered += ready
        left = [site for site in left if site not in ready]
    return ordered


def relay_feed(site: RelaySite) -> RelayFeed:
    """Return the feed of one relay whose station that is received is the head of the chain."""
    return _relay(site, {})


def _relay(site: RelaySite, made: Mapping[str, RelayFeed | None]) -> RelayFeed:
    by_name = {each.service.name: each for each in site.path.services}
    services = tuple(
        service_feed(site, radiated, by_name[radiated.name], _hops(site, radiated.name, made))
        for radiated in site.relay.services
    )
    return RelayFeed(site, services, worst_verdict(service.verdict for service in services))


def _hops(site: RelaySite, service: str, made: Mapping[str, RelayFeed | None]) -> tuple[Hop, ...] | None:
    """Return the hops that bring a service to the parent: those of the relay it is, or itself alone.

    None where one of them is not known.
    """
    if site.parent.name in made:
        before = made[site.parent.name]
        services = () if before is None else before.services
        return next((each.hops for each in services if each.radiated.name == service), None)
    output = site.project.outputs.get(site.parent.name)
    return (Hop(site.parent.name, None, output.equipment_db if output else None),)


def _provenance(project: Project, relays: tuple[RelayFeed, ...]) -> dict[str, str]:
    """Return what made the feeds, with how the time of the margin is come by."""
    methods = [service.budget.time_method for relay in relays for service in relay.services]
    return provenance(project) | {"time of the margin": "; ".join(dict.fromkeys(methods))}
