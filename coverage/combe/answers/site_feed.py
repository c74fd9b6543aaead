"""The feed of a hill of the list through the judge of a relay's feed: noise, co-channel, adjacent channels.

The search over all cells counts noise and co-channel stations, with no discrimination by the aerial, which is
on the safe side, and no other channel. Here the hill is taken into the study as a relay and judged as
``combe feed`` judges one: with the receiving aerial's discrimination, and adjacent channels. The receiver's
window, its overload and the relay's own output are of a chain as it is built; no hill has one yet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from combe.answers.feed import relay_feed
from combe.answers.feed_service import ServiceFeed
from combe.answers.path import PathReport
from combe.answers.relay_site import relay_site
from combe.answers.site import SiteWork
from combe.project import Feed, SitingFeed
from combe.reception import Verdict
from combe.stations import Station
from combe.words import joined, tell

NOT_JUDGED = (
    "judged as combe feed judges a relay: noise, stations on the same and on adjacent channels, at an aerial "
    "of ITU-R BT.419-3; the receiver's window, overload and the relay's own output need a chain as it is "
    "built: put the hill into the study as a relay for those"
)


@dataclass(frozen=True)
class WholeFeed:
    """The feed of a hill judged with all that a study can say of it before a chain is built.

    ``allowance_db`` is that of the siting on top of every fade; the services have it in the margin asked.
    ``path`` is that from the parent.
    """

    verdict: Verdict
    services: tuple[ServiceFeed, ...]
    allowance_db: float = 0.0
    path: PathReport | None = field(default=None, repr=False, compare=False)

    @property
    def margin_db(self) -> float:
        """The least margin of its services for the time asked [dB], as ``combe feed`` shows it.

        Less the allowance; NaN where that of any service is not known.
        """
        margins_db = [each.budget.margin_db - self.allowance_db for each in self.services]
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
        return tell("fails: {causes}", causes=joined(", ", self.causes)) if self.causes else self.verdict


def whole_feed(work: SiteWork, station: Station) -> WholeFeed:
    """Judge the feed of a relay that stands on a hill.

    Raises
    ------
    TerrainGapError
        Ground missing on the way from a station that counts.
    """
    assert station.parent is not None, "a hill hears a parent"
    feed = _feed(work.siting.feed, station.parent)
    names = {each.name for each in work.on_air} | {station.parent}
    project = work.project.only(sorted(names)).with_station(station, feed=feed)
    found = relay_feed(relay_site(project, station, feed))
    return WholeFeed(found.verdict, found.services, work.siting.feed.fade_allowance_db, found.path)


def _feed(feed: SitingFeed, parent: str) -> Feed:
    return Feed.of_budget(
        parent,
        aerial_height_m=feed.aerial_height_m,
        aerial_gain_dbi=feed.aerial_gain_dbi,
        feeder_loss_db=feed.feeder_loss_db,
        splitter_loss_db=feed.splitter_loss_db,
        noise_figure_db=feed.noise_figure_db,
        # A fade deeper by the allowance leaves what so much more margin would have to hold.
        required_margin_db=feed.required_margin_db + feed.fade_allowance_db,
        time_percent=feed.time_percent,
        time_percents=feed.time_percents,
        required_cn_db=feed.required_cn_db,
    )
