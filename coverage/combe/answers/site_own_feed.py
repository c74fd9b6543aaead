"""The feed of the study's own relay on a hill, as the study states it, and what it would take to carry it.

A search receives with the siting's feed, the same on every hill. The relay that the study describes may have
another aerial and a chain as it is built. So each hill of the list is judged once more with that relay on it:
its aerials, its chain and its outputs, all turned to the parent that the hill hears.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from combe.answers.feed import RelayFeed, relay_feed
from combe.answers.feed_advice import feed_advice
from combe.answers.relay_site import relay_site
from combe.answers.site import EVERY_STATION, SiteWork
from combe.errors import TerrainGapError
from combe.project import Feed, Project
from combe.reception import Verdict
from combe.stations import Station
from combe.words import joined, tell


@dataclass(frozen=True)
class OwnFeed:
    """The feed of a relay of the study on a hill; None with the fault where it cannot be predicted.

    ``feed`` has advice where it fails, as :func:`combe.answers.feed_advice.feed_advice` finds it.
    """

    relay: str
    feed: RelayFeed | None
    fault: str = ""

    @property
    def verdict(self) -> Verdict:
        """The verdict on it; a feed that cannot be predicted is not judged."""
        return self.feed.verdict if self.feed else "not judged"

    @property
    def margin_db(self) -> float:
        """The least margin of its services for the time asked [dB]; NaN where that of any is not known."""
        margins_db = [each.budget.margin_db for each in self.feed.services] if self.feed else []
        return math.nan if not margins_db or any(map(math.isnan, margins_db)) else min(margins_db)

    @property
    def causes(self) -> tuple[str, ...]:
        """What fails it, each once."""
        services = self.feed.services if self.feed else ()
        return tuple(dict.fromkeys(cause for each in services for cause in each.causes))

    @property
    def words(self) -> str:
        """Verdict, with the causes where it fails, and the reason where it is not judged."""
        if self.causes:
            return tell("fails: {causes}", causes=joined(", ", self.causes))
        why = self.fault if self.feed is None else self.feed.scantiest.reason
        return tell("not judged: {why}", why=why) if self.verdict == "not judged" else self.verdict


def own_relay(work: SiteWork) -> tuple[Station, Feed] | None:
    """Return the relay of the study that the siting may move: the first that radiates all its services.

    None where there is none, and where the siting looks for one more beside those that stand.
    """
    if work.siting.before == EVERY_STATION:
        return None
    names = {each.name for each in work.siting.services}
    found = (each for each in work.project.fed if names <= {one.name for one in each[0].services})
    return next(found, None)


def own_feed(work: SiteWork, hill: Station) -> OwnFeed | None:
    """Judge the feed of the study's own relay on a hill, given as the relay that the search puts there."""
    own = own_relay(work)
    if own is None:
        return None
    relay, feed = own
    moved, turned = _moved(relay, hill), _turned(feed, hill)
    try:
        found = relay_feed(relay_site(_project(work, moved, turned), moved, turned))
        return OwnFeed(relay.name, replace(found, advice=feed_advice(found, {})))
    except TerrainGapError as error:
        return OwnFeed(relay.name, None, str(error))


def _moved(relay: Station, hill: Station) -> Station:
    return replace(
        relay, longitude_deg=hill.longitude_deg, latitude_deg=hill.latitude_deg, parent=hill.parent
    )


def _turned(feed: Feed, hill: Station) -> Feed:
    """Return a feed with its aerial turned to a hill's parent, in the polarization of a new one."""
    assert hill.parent is not None, "a hill hears a parent"
    same = hill.parent.casefold() == feed.parent.casefold()
    polarization = feed.aerial.polarization if same else None
    turned = replace(feed.aerial, bearing_deg=None, polarization=polarization)
    return replace(feed, parent=hill.parent, aerial=turned)


def _project(work: SiteWork, relay: Station, feed: Feed) -> Project:
    """Return the project with what is on the air before the relay, and the relay on the hill."""
    names = {each.name for each in work.on_air} | {relay.name, feed.parent}
    project = work.project.only(sorted(names))
    return project.with_station(relay, feed=feed, output=work.project.outputs.get(relay.name))
