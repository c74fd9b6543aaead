"""What the map page shows of a coverage: its layers, people, stations and feeds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from combe.answers.cover import CoverReport
from combe.answers.feed import RelayFeed
from combe.answers.network import Network
from combe.answers.people_places import people_places
from combe.digits import true_minus
from combe.planning import PeopleCount
from combe.publishing.content import FeedPath, MapPage, PeopleMark, Sight, StationMark
from combe.publishing.map_page import thinned_words
from combe.publishing.page_about import PageAbout
from combe.reports.by_system import system_sentences
from combe.reports.cover import people_sentence
from combe.reports.cover_classes import class_layers, classes_left_out, harm_words
from combe.reports.cover_districts import districts_left_out, map_districts
from combe.reports.cover_layers import AFTER, BEFORE, left_out_words, map_layers
from combe.reports.cover_recount import recount
from combe.reports.how_sure import range_remarks, range_sentences
from combe.reports.map_context import (
    context_credits,
    context_marks,
    contour_marks,
    named_places,
    sheet_credits,
)
from combe.reports.station_card import station_card
from combe.reports.study import unfed_sentences
from combe.stations import Station
from combe.words import Name, chain, joined, tell


def map_content(report: CoverReport, *, shares: bool = False, recounted: bool = True) -> MapPage:
    """Return the map of a coverage, with the feeds where they are known, and shares of places if asked.

    Unless it is to be ``recounted``, its people stand at the planning minimum, whatever its slider says, and
    it has no layers of classes.
    """
    about, feeds = report.project, report.feeds
    invented = report.provenance.get("invented", "")
    layers, counted = tuple(map_layers(report, shares=shares)), _counted(report)
    classes = tuple(class_layers(report)) if recounted else ()
    districts = map_districts(report) if recounted else ()
    return MapPage(
        title=Name(about.title),
        subtitle=about.note,
        grid=report.grid,
        heights_m=report.heights_m,
        layers=(*layers, *classes),
        before_keys=(BEFORE,),
        after_keys=(AFTER,),
        people=_people_marks(report),
        people_rows=tuple((name, people) for name, people, _ in counted),
        stations=tuple(
            replace(station_mark(each.station), card=station_card(report, each.station))
            for each in report.stations
        ),
        places=named_places(report),
        feeds=tuple(feed_path(relay) for relay in feeds.relays) if feeds else (),
        left_out=joined(
            " ", filter(None, (left_out_words(report), classes_left_out(report), thinned_words(report.grid)))
        ),
        provenance=(
            *(chain(name, ": ", words) for name, words in report.provenance.items()),
            *context_credits(report),
        ),
        sure=joined(
            " ",
            (
                *range_sentences(report.all_services.ranges, relays=True),
                *range_remarks(report.all_services),
                *system_sentences(report),
            ),
        ),
        feed_notes=_feed_notes(report),
        harm=harm_words(report) if recounted else "",
        invented_note=invented,
        districts=districts,
        districts_left_out=districts_left_out(report) if recounted else "",
        recount=recount(report, layers, [network for _, _, network in counted]) if recounted else None,
        sight=Sight(about.conditions.effective_radius_km, about.field_height_m),
        about=PageAbout("map", "Map of the coverage", about.title, people_sentence(report), invented),
        credits=sheet_credits(report),
        context=context_marks(report),
        contours=contour_marks(report),
    )


def _feed_notes(report: CoverReport) -> tuple[str, ...]:
    """Return a sentence for each relay whose feed does not pass, or is not judged."""
    return tuple(map(true_minus, unfed_sentences(report.standings)))


def _people_marks(report: CoverReport) -> tuple[PeopleMark, ...]:
    if report.people is None:
        return ()
    places = people_places(report.people, report.grid, report.all_services)
    return tuple(
        PeopleMark(place.longitude_deg, place.latitude_deg, place.people, place.state) for place in places
    )


def _counted(report: CoverReport) -> tuple[tuple[str, PeopleCount, Network], ...]:
    """Return the people of all services, of each, and by each further way; none where nobody was counted."""
    rows = [(each.name, each) for each in (report.all_services, *report.services)]
    rows += [(tell("All services, {name}", name=each.name), each.all_services) for each in report.ways[1:]]
    return tuple(
        (name, network.people, network)
        for name, network in rows
        if network.people and network.people.newly_served is not None
    )


def station_mark(station: Station) -> StationMark:
    """Return a station as a map shows it."""
    channels = ", ".join(str(service.channel) for service in station.services)
    return StationMark(
        name=station.name,
        role=station.role,
        longitude_deg=station.longitude_deg,
        latitude_deg=station.latitude_deg,
        aerial_height_m=station.aerial_height_m,
        services=tell("ch {channels} · {power} ERP", channels=Name(channels), power=_power_words(station)),
    )


def _power_words(station: Station) -> str:
    """Return the lowest and the highest ERP of a station, for example ``10 to 20 kW``."""
    powers_w = sorted({service.erp_w for service in station.services})
    unit, per_unit_w = ("kW", 1000.0) if powers_w[0] >= 1000.0 else ("W", 1.0)
    low, high = powers_w[0] / per_unit_w, powers_w[-1] / per_unit_w
    if low == high:
        return tell("{power:g} {unit}", power=low, unit=unit)
    return tell("{low:g} to {high:g} {unit}", low=low, high=high, unit=unit)


def feed_path(relay: RelayFeed) -> FeedPath:
    """Return the geodesic of a feed, thinned to some twenty places."""
    profile = relay.path.profile
    chosen = np.unique(np.linspace(0, profile.distance_km.size - 1, 21).astype(int))
    return FeedPath(
        parent=relay.parent.name,
        relay=relay.relay.name,
        longitude_deg=tuple(profile.lon_deg[chosen].tolist()),
        latitude_deg=tuple(profile.lat_deg[chosen].tolist()),
        verdict=relay.verdict,
    )
