"""Works out the off-air feed of every relay, and says how those stand whose coverage is shown."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from combe.answers.feed_service import ServiceFeed, service_feed
from combe.answers.ground_check import check_stations
from combe.answers.output_side import OutputSide
from combe.answers.path import PathReport
from combe.answers.provenance import provenance
from combe.answers.receiving import ReceivingSide
from combe.answers.relay_site import Known, RelaySite, relay_site
from combe.answers.scan import HeightScan, bearing_search, bearing_words, height_scan
from combe.errors import TerrainGapError
from combe.project import Feed, Project, asked_shares, off_air_hint
from combe.reception import BearingChoice, Hop, Verdict, worst_verdict
from combe.stations import Station
from combe.words import joined, tell

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

    from combe.answers.feed_advice import Advice
    from combe.answers.spectrum import PointSpectrum

__all__ = ["FeedGap", "FeedReport", "RelayFeed", "ServiceFeed", "feed_report", "relay_feed", "relay_sites"]

SHOWN_DB: Final = 0.05
"""Least ratio that is not shown as 0.0."""


@dataclass(frozen=True)
class RelayFeed:
    """The feed of one relay; its verdict is the worst of its services.

    ``scan`` and ``bearing_words`` are there where they were asked for; ``bearing`` is None where no other
    station disturbs the relay. ``advice`` is that of :func:`combe.answers.feed_advice.with_advice`, and
    ``spectrum`` that of :func:`combe.answers.spectrum.with_spectra`; both are None unless asked for.
    """

    site: RelaySite
    services: tuple[ServiceFeed, ...]
    verdict: Verdict
    scan: HeightScan | None = None
    bearing: BearingChoice | None = None
    bearing_words: str = ""
    advice: tuple[Advice, ...] | None = None
    spectrum: tuple[PointSpectrum, ...] | None = None

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
    def shortest(self) -> ServiceFeed:
        """A service of which it is not known for which share of the year it stands, or that of the least."""
        return min(self.services, key=_share_of_year)

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

    def to_geodataframe(self) -> GeoDataFrame:
        """Return lines from the parents to the relays, one for each service, with its verdict and margin.

        Examples
        --------
        >>> import combe
        >>> lines = combe.feed(combe.demo()).to_geodataframe()
        >>> lines[["parent", "relay", "service", "verdict"]].iloc[0].tolist()
        ['Tarnbeacon', 'Larkcombe', 'Mux A', 'passes']
        """
        from combe.answers.frames import feed_frame

        return feed_frame(self)


def feed_report(
    project: Project,
    *,
    time_percent: float | Sequence[float] | None = None,
    only: Collection[str] | None = None,
    over_gaps: bool = False,
    heights_m: Sequence[float] = (),
    best_bearing: bool = False,
    known: Known | None = None,
) -> FeedReport:
    """Work out the feeds of a project.

    Parameters
    ----------
    project
    time_percent
        Share of an average year for which the margin has to stand [%], 50 to 99.999, in place of that of each
        feed; of several the greatest is judged.
    only
        Names of the relays to look at, and with them those that feed them; without it all.
    over_gaps
        Whether feeds over ground that is not known are told as gaps of the report, and raise no error.
    heights_m
        Heights of the receiving aerials at which the field is to be predicted as well [m]; see
        :func:`combe.answers.scan.scan_heights`.
    best_bearing
        Whether the best bearing of each receiving aerial is searched.
    known
        What was found before of projects of which only the stations were others.

    Raises
    ------
    StudyError
        No relay in the study, or stations of feeds that stand on no ground.
    TerrainGapError, RasterError
        Ground missing on the way, or terrain that cannot be used.
    """
    known = Known() if known is None else known
    fed = _fed(project, time_percent)
    fed = fed if only is None else _with_feeders(project, fed, only)
    sites, gaps = list[RelaySite](), list[FeedGap]()
    for relay, feed in fed:
        try:
            sites.append(relay_site(project, relay, feed, known))
        except TerrainGapError as error:
            if not over_gaps:
                raise
            gaps.append(FeedGap(relay.name, project.station(feed.parent).name, str(error)))
    made: dict[str, RelayFeed | None] = {gap.relay: None for gap in gaps}
    for site in _parents_first(sites):
        made[site.relay.name] = _known_relay(site, made, known)
    relays = tuple(
        _asked(found, heights_m, best_bearing) for site in sites if (found := made[site.relay.name])
    )
    verdicts = [found.verdict for found in relays]
    verdict = worst_verdict([*verdicts, "not judged"] if gaps else verdicts)
    return FeedReport(project, relays, verdict, _provenance(project, relays), tuple(gaps))


def _asked(relay: RelayFeed, heights_m: Sequence[float], best_bearing: bool) -> RelayFeed:
    """Return a relay's feed with the scan and the search that were asked for."""
    if heights_m:
        relay = replace(relay, scan=height_scan(relay.site, heights_m))
    if best_bearing:
        choice = bearing_search(relay.site)
        relay = replace(relay, bearing=choice, bearing_words=bearing_words(relay.site, choice))
    return relay


def relay_sites(project: Project, *, time_percent: float | Sequence[float] | None = None) -> list[RelaySite]:
    """Return the site of each relay in the order of the file; errors as :func:`feed_report`."""
    fed = _fed(project, time_percent)
    return [relay_site(project, relay, feed) for relay, feed in fed]


def _fed(project: Project, time_percent: float | Sequence[float] | None) -> list[tuple[Station, Feed]]:
    """Return each relay with its feed; refuse a project without one."""
    fed = project.fed
    check_stations(project, [each for relay, feed in fed for each in (relay, project.station(feed.parent))])
    if not fed:
        words = 'stations: no relay is there to feed; add one with role = "relay"'
        raise project.error([f"{words}{off_air_hint(project.off_air)}"])
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


def _share_of_year(service: ServiceFeed) -> float:
    return -math.inf if service.year.stands_for is None else service.year.stands_for.percent


def _timed(feed: Feed, time_percent: float | Sequence[float] | None) -> Feed:
    if time_percent is None:
        return feed
    shares = asked_shares(time_percent)
    return replace(feed, time_percent=shares[-1], time_percents=shares)


def _parents_first(sites: Sequence[RelaySite]) -> list[RelaySite]:
    """Return the relays so that one comes behind the one that feeds it; a checked study has no circle."""
    left, ordered = list(sites), list[RelaySite]()
    while left:
        waiting = {site.relay.name for site in left}
        ready = [site for site in left if site.parent.name not in waiting]
        ordered += ready
        left = [site for site in left if site not in ready]
    return ordered


def _known_relay(site: RelaySite, made: Mapping[str, RelayFeed | None], known: Known) -> RelayFeed:
    """Return the feed of a relay, as it was found before if all that it hangs on is the same."""
    project, name = site.project, site.relay.name
    hops = tuple(_hops(site, each.name, made) for each in site.relay.services)
    outputs = (project.outputs.get(name), project.outputs.get(site.parent.name))
    hangs_on = (site.relay, project.feeds[name], site.parent, site.arrivals, outputs, hops)
    return replace(known.of((name, "feed"), hangs_on, lambda: _relay(site, made)), site=site)


def relay_feed(site: RelaySite, made: Mapping[str, RelayFeed | None] = MappingProxyType({})) -> RelayFeed:
    """Return the feed of one relay; ``made`` has those of the relays that may feed it, None if not predicted.

    A station that is not in ``made`` is the head of the chain.
    """
    return _relay(site, made)


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
    return provenance(project) | {"time of the margin": joined("; ", dict.fromkeys(methods))}


@dataclass(frozen=True)
class ServiceStanding:
    """The verdict on one service of a feed, by the name under which the relay radiates it, and why."""

    service: str
    verdict: Verdict
    reason: str


@dataclass(frozen=True)
class FeedStanding:
    """The verdict on the feed of a relay, and on each of its services; none where nothing is predicted."""

    relay: str
    parent: str
    verdict: Verdict
    services: tuple[ServiceStanding, ...]
    reason: str = ""

    @property
    def words(self) -> str:
        """What has to be borne in mind of the coverage; nothing where the feed passes."""
        if self.verdict == "passes":
            return ""
        told = [
            tell(
                "{service} {verdict}: {reason}",
                service=each.service,
                verdict=each.verdict,
                reason=each.reason,
            )
            for each in self._failing
        ]
        why = joined("; ", told) if told else self.reason
        return tell(
            "the feed of {relay} {said}, and it counts as if it passed ({why})",
            relay=self.relay,
            said=_said(self.verdict),
            why=why,
        )

    @property
    def _failing(self) -> list[ServiceStanding]:
        return [each for each in self.services if each.verdict != "passes"]

    def verdict_of(self, service: str) -> Verdict:
        """Return the verdict on one service of the relay."""
        found = [each.verdict for each in self.services if each.service == service]
        return found[0] if found else self.verdict

    def words_of(self, service: str) -> str:
        """Return what has to be borne in mind of a service of the relay; nothing where its feed passes."""
        for each in self.services:
            if each.service == service:
                return _service_words(self.relay, each)
        return self.words


def feed_standings(report: FeedReport) -> tuple[FeedStanding, ...]:
    """Return how each feed of a report stands, those that cannot be predicted last and not judged."""
    unknown = (FeedStanding(each.relay, each.parent, "not judged", (), each.reason) for each in report.gaps)
    return (*(_standing(relay) for relay in report.relays), *unknown)


def standings_of(project: Project, relays: Collection[str]) -> dict[str, FeedStanding]:
    """Return how the feeds of some relays stand, by relay."""
    if not relays:
        return {}
    found = feed_standings(feed_report(project, only=relays, over_gaps=True))
    return {each.relay: each for each in found if each.relay in relays}


def _standing(feed: RelayFeed) -> FeedStanding:
    services = tuple(ServiceStanding(each.radiated.name, each.verdict, each.reason) for each in feed.services)
    return FeedStanding(feed.relay.name, feed.parent.name, feed.verdict, services)


def _service_words(relay: str, found: ServiceStanding) -> str:
    if found.verdict == "passes":
        return ""
    said = _said(found.verdict)
    return tell(
        "{relay}'s own feed of {service} {said}, and it counts as if it passed: {reason}",
        relay=relay,
        service=found.service,
        said=said,
        reason=found.reason,
    )


def _said(verdict: Verdict) -> str:
    return tell("is {verdict}", verdict=verdict) if verdict == "not judged" else verdict
