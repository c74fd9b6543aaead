"""What the map tells of one station: aerial, pattern, feed and its verdict, what each service radiates."""

from __future__ import annotations

from collections.abc import Iterator

from combe.answers.cover import CoverReport
from combe.answers.feed import FeedStanding, RelayFeed
from combe.decibels import dbw_from_watt
from combe.digits import spoken, telling, true_minus
from combe.publishing.station_card import StationCard
from combe.stations import Service, Station, main_bearings_deg
from combe.words import Digits, Name, chain, joined, tell

_MOST_BEARINGS = 4


def station_card(report: CoverReport, station: Station) -> StationCard:
    """Return what is told of a station; nothing of a feed that was not asked for."""
    feeds = {feed.relay.name: feed for feed in report.relay_feeds}
    standings = {each.relay: each for each in report.standings}
    feed = _feed_words(station, feeds.get(station.name), standings.get(station.name))
    return StationCard(
        lines=(
            (
                "Aerial",
                tell(
                    "{height:g} m above ground, {polarization}",
                    height=float(station.aerial_height_m),
                    polarization=station.polarization,
                ),
            ),
            ("Pattern", pattern_words(station)),
            *((("Fed by", feed),) if feed else ()),
        ),
        services=tuple(_row(each) for each in station.services),
    )


def pattern_words(station: Station) -> str:
    """Return where a station's aerial radiates most, by true bearing."""
    if station.horizontal_pattern is None:
        return chain("alike in all directions", _tilt_words(station))
    found = [(each + station.bearing_deg) % 360.0 for each in main_bearings_deg(station.horizontal_pattern)]
    if len(found) > _MOST_BEARINGS:
        return chain(tell("{count} maxima all around", count=len(found)), _tilt_words(station))
    told = joined(" and ", (Name(f"{round(each) % 360}°") for each in sorted(found)))
    return chain(tell("most towards {bearings} true", bearings=told), _tilt_words(station))


def _tilt_words(station: Station) -> str:
    if station.vertical_pattern is None or not station.tilt_deg:
        return ""
    return true_minus(tell(", tilted down by {tilt:g}°", tilt=float(station.tilt_deg)))


def _feed_words(station: Station, feed: RelayFeed | None, standing: FeedStanding | None) -> str:
    """Return who feeds a relay and how that stands; empty for a parent."""
    return joined(": ", _feed_parts(station, feed, standing))


def _feed_parts(station: Station, feed: RelayFeed | None, standing: FeedStanding | None) -> Iterator[str]:
    if not station.parent:
        return
    yield Name(station.parent)
    if feed is not None:
        worst = feed.scantiest.budget
        margin = telling(worst.margin_db, worst.required_margin_db, 1)
        told = "{verdict}, least margin {margin} dB, {asked:g} dB asked"
        asked_db = float(worst.required_margin_db)
        yield true_minus(tell(told, verdict=feed.verdict, margin=margin, asked=asked_db))
    elif standing is not None:
        yield joined(", ", filter(None, (standing.verdict, standing.reason)))


def _row(service: Service) -> tuple[str, ...]:
    erp_dbw = spoken(float(dbw_from_watt(service.erp_w)), 1)
    erp_w = spoken(service.erp_w) if service.erp_w >= 100.0 else Digits(f"{service.erp_w:g}")
    return service.name, str(service.channel), Digits(f"{service.frequency_mhz:g}"), erp_w, erp_dbw
