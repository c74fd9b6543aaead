"""The feed of a hill of the list through the judge of a relay's feed: noise, co-channel, adjacent channels.

The search over all cells counts noise and co-channel stations, with no discrimination by the aerial, which is
on the safe side, and no other channel. Here the hill is taken into the study as a relay and judged as
``combe feed`` judges one: with the receiving aerial's discrimination, and adjacent channels. The receiver's
window, its overload and the relay's own output are of a chain as it is built; no hill has one yet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from combe.reception.feed_verdict import Verdict
from combe.stations.transmitter import Station
from combe.study.feed_schema import FeedSection
from combe.study.feed_service import ServiceFeed
from combe.study.relay_site import relay_site
from combe.study.resolve import Scene
from combe.study.run_feed import relay_feed
from combe.study.run_site import SiteWork
from combe.study.schema import ServiceSection, StationSection
from combe.study.siting_schema import SitingFeedSection

NOT_JUDGED = (
    "judged as combe feed judges a relay: noise, stations on the same and on adjacent channels, at an aerial "
    "of ITU-R BT.419-3; the receiver's window, overload and the relay's own output need a chain as it is "
    "built: put the hill into the study as a relay for those"
)


@dataclass(frozen=True)
class WholeFeed:
    """The feed of a hill judged with all that a study can say of it before a chain is built."""

    verdict: Verdict
    services: tuple[ServiceFeed, ...]

    @property
    def margin_db(self) -> float:
        """The least margin of its services for the time asked [dB], as ``combe feed`` shows it.

        NaN where that of any service is not known.
        """
        margins_db = [each.budget.margin_db for each in self.services]
        return math.nan if any(map(math.isnan, margins_db)) else min(margins_db)

    @property
    def causes(self) -> tuple[str, ...]:
        """What fails it, each once."""
        return tuple(dict.fromkeys(cause for each in self.services for cause in each.causes))

    @property
    def not_judged(self) -> tuple[str, ...]:
        """What could fail it and is not known, each once."""
        return tuple(dict.fromkeys(words for each in self.services for words in each.judged.not_judged))

    @property
    def words(self) -> str:
        """Verdict, with the causes where it fails."""
        return f"fails: {', '.join(self.causes)}" if self.causes else self.verdict


def whole_feed(work: SiteWork, station: Station) -> WholeFeed:
    """Judge the feed of a relay that stands on a hill.

    Raises
    ------
    TerrainGapError
        Ground missing on the way from a station that counts.
    """
    assert station.parent is not None, "a hill hears a parent"
    section = _section(work.siting.feed, station.parent)
    found = relay_feed(relay_site(_scene(work, station, section), station, section))
    return WholeFeed(found.verdict, found.services)


def _section(feed: SitingFeedSection, parent: str) -> FeedSection:
    known = feed.model_dump(exclude={"from_", "fade_allowance_db"})
    return FeedSection.model_validate({"from": parent} | known)


def _scene(work: SiteWork, station: Station, section: FeedSection) -> Scene:
    """Return the scene with the stations on air and the hill's relay."""
    scene, names = work.scene, {each.name for each in work.on_air} | {str(station.parent)}
    content = scene.study.content
    kept = [n for n, each in enumerate(scene.stations) if each.name in names]
    sections = (*(content.stations[n] for n in kept), _station_section(station, section))
    stations = (*(scene.stations[n] for n in kept), station)
    return replace(
        scene,
        study=replace(scene.study, content=content.model_copy(update={"stations": sections})),
        stations=stations,
    )


def _station_section(station: Station, feed: FeedSection) -> StationSection:
    """Return the relay as a study file writes it; its patterns are those of the station."""
    return StationSection(
        name=station.name,
        role="relay",
        longitude_deg=station.longitude_deg,
        latitude_deg=station.latitude_deg,
        aerial_height_m=station.aerial_height_m,
        polarization=station.polarization,
        services=tuple(
            ServiceSection(name=each.name, channel=each.channel, erp_w=each.erp_w)
            for each in station.services
        ),
        feed=feed,
    )
