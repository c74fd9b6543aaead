"""Works out the off-air feed of every relay: path, chain and verdict for each service it re-radiates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from combe.errors import StudyError
from combe.reception.feed_verdict import Verdict, worst_verdict
from combe.reception.relay_chain import Hop
from combe.stations.transmitter import Station
from combe.study.feed_schema import FeedSection
from combe.study.feed_service import ServiceFeed, service_feed
from combe.study.file import Study
from combe.study.groundcheck import check_stations
from combe.study.output_side import OutputSide, output_section
from combe.study.provenance import provenance
from combe.study.receiving import ReceivingSide
from combe.study.relay_site import RelaySite, relay_site
from combe.study.resolve import Scene, feeds, resolve, station_named
from combe.study.run_path import PathReport

__all__ = ["FeedReport", "RelayFeed", "ServiceFeed", "feed_report", "relay_feed", "relay_sites"]


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


@dataclass(frozen=True)
class FeedReport:
    """The feeds of all relays; the verdict is the worst of theirs."""

    study: Study
    relays: tuple[RelayFeed, ...]
    verdict: Verdict
    provenance: dict[str, str]


def feed_report(study: Study, *, time_percent: float | None = None) -> FeedReport:
    """Work out the feeds of a study.

    Parameters
    ----------
    study
    time_percent
        Time for which the margin has to stand [%], 50 to 99, in place of that of each feed.

    Raises
    ------
    StudyError
        No relay in the study, or stations of feeds that stand on no ground.
    TerrainGapError, RasterError
        Ground missing on the way, or terrain that cannot be used.
    """
    sites = relay_sites(study, time_percent=time_percent)
    made: dict[str, RelayFeed] = {}
    for site in _parents_first(sites):
        made[site.relay.name] = _relay(site, made)
    relays = tuple(made[site.relay.name] for site in sites)
    verdict = worst_verdict(relay.verdict for relay in relays)
    return FeedReport(study, relays, verdict, _provenance(sites[0].scene, relays))


def relay_sites(study: Study, *, time_percent: float | None = None) -> list[RelaySite]:
    """Return the site of each relay in the order of the file; errors as :func:`feed_report`."""
    scene = resolve(study)
    fed = feeds(scene)
    check_stations(scene, [each for relay, feed in fed for each in (relay, station_named(scene, feed.from_))])
    sites = [relay_site(scene, relay, _timed(feed, time_percent)) for relay, feed in fed]
    if not sites:
        raise StudyError(study.path, ['stations: no relay is there to feed; add one with role = "relay"'])
    return sites


def _timed(feed: FeedSection, time_percent: float | None) -> FeedSection:
    return feed if time_percent is None else feed.model_copy(update={"time_percent": time_percent})


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


def _relay(site: RelaySite, made: dict[str, RelayFeed]) -> RelayFeed:
    by_name = {each.service.name: each for each in site.path.services}
    services = tuple(
        service_feed(site, radiated, by_name[radiated.name], _hops(site, radiated.name, made))
        for radiated in site.relay.services
    )
    return RelayFeed(site, services, worst_verdict(service.verdict for service in services))


def _hops(site: RelaySite, service: str, made: dict[str, RelayFeed]) -> tuple[Hop, ...]:
    """Return the hops that bring a service to the parent: those of the relay it is, or itself alone."""
    before = made.get(site.parent.name)
    if before is not None:
        return next(each.hops for each in before.services if each.radiated.name == service)
    section = output_section(site.scene, site.parent)
    return (Hop(site.parent.name, None, section.equipment_db if section else None),)


def _provenance(scene: Scene, relays: tuple[RelayFeed, ...]) -> dict[str, str]:
    """Return what made the feeds, with how the time of the margin is come by."""
    methods = [service.budget.time_method for relay in relays for service in relay.services]
    return provenance(scene) | {"time of the margin": "; ".join(dict.fromkeys(methods))}
