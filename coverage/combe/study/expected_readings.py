"""What a study predicts for the readings of a visit: levels and C/N of the feed, and the powers it states."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from combe.planning.visits.readings import SeriesKey
from combe.planning.visits.sheet import SheetSite
from combe.reception.cascade import waterfall
from combe.standards.visit_readings import family_of
from combe.stations.transmitter import Station
from combe.study.feed_schema import FeedSection
from combe.study.file import Study
from combe.study.output_side import output_side
from combe.study.resolve import Scene, resolve, resolve_stations, resolve_television
from combe.study.run_feed import RelayFeed, ServiceFeed, feed_report

_SPLITTERS: Final = ("passive splitter", "active splitter")


def expected_readings(study: Study) -> Mapping[SeriesKey, float]:
    """Return the readings that a study predicts, each in the unit of its routine reading.

    Levels and C/N are medians of time at the receive side of each relay: at the lower end of the feeder,
    ahead of pads and splitters, at the splitter's ports, and at the receiver. The powers are the study's.

    Raises
    ------
    TerrainGapError, RasterError
        As of the feed.
    """
    scene = resolve(study)
    found: dict[SeriesKey, float] = {}
    for station in scene.stations:
        found |= _of_output(scene, station)
    for relay in feed_report(study).relays if _has_relays(scene) else ():
        for number, service in enumerate(relay.services, start=1):
            found |= _of_feed(relay, service, number)
    return found


def sheet_sites(study: Study) -> tuple[SheetSite, ...]:
    """Return the relays to visit, or all stations of a study without relays."""
    stations = resolve_stations(study)
    kinds = {section.name: _stage_kinds(section.feed) for section in study.content.stations}
    family = reading_family(study)
    relays = [station for station in stations if station.parent] or list(stations)
    return tuple(_site(station, family, kinds[station.name]) for station in relays)


def reading_family(study: Study) -> str:
    """Return the family of a study's television system, by which readings go."""
    system = resolve_television(study)
    return family_of(system.name, analogue=system.analogue_name is not None)


def _has_relays(scene: Scene) -> bool:
    return any(station.parent for station in scene.stations)


def _site(station: Station, family: str, kinds: list[str]) -> SheetSite:
    services = tuple(service.name for service in station.services)
    return SheetSite(
        station=station.name,
        services=services,
        family=family,
        receives=station.parent is not None,
        splitter_ports=len(services) if _splitters(kinds) else 0,
    )


def _of_output(scene: Scene, station: Station) -> dict[SeriesKey, float]:
    """Return the ERP of each service, and its power at the amplifier where the study has the chain."""
    side = output_side(scene, station)
    found = {
        SeriesKey(station.name, service.name, "output coupler", "ERP"): service.erp_w
        for service in station.services
    }
    for service in side.services if side else ():
        key = SeriesKey(station.name, service.air.service.name, "output coupler", "output power")
        found[key] = service.budget.points[0].power_w
    return found


def _of_feed(relay: RelayFeed, service: ServiceFeed, number: int) -> dict[SeriesKey, float]:
    """Return the levels of one service, which is measured at the splitter port of its number.

    C/N is what a receiver shows, with the noise of the relay's own outputs and the echo of its loop; where
    these are not known, none is expected.
    """
    names = (relay.relay.name, service.radiated.name)
    levels = [row.level_dbm for row in waterfall(service.cascade, service.cascade.services[0])]
    kinds = _stage_kinds(relay.side.section)
    found = {
        SeriesKey(*names, "feeder", "level"): levels[_feeder_end(kinds)],
        SeriesKey(*names, "receiver", "level"): service.budget.receiver_input_dbm,
    }
    if not math.isnan(service.judged.carrier_to_noise_db):
        found[SeriesKey(*names, "receiver", "C/N")] = service.judged.carrier_to_noise_db
    if _splitters(kinds):
        found[SeriesKey(*names, f"splitter port {number}", "level")] = levels[_splitters(kinds)[-1] + 1]
    return found


def _stage_kinds(feed: FeedSection | None) -> list[str]:
    """Return the kinds of the stages of a feed in order; those of a first budget where it lists none."""
    if feed is None:
        return []
    if feed.stages:
        return [stage.kind for stage in feed.stages]
    return ["feeder", *(["passive splitter"] if feed.splitter_loss_db else []), "receiver"]


def _splitters(kinds: list[str]) -> list[int]:
    return [index for index, kind in enumerate(kinds) if kind in _SPLITTERS]


def _feeder_end(kinds: list[str]) -> int:
    """Return the point of the chain at which the feeder ends; point n lies ahead of stage n.

    It is the last feeder ahead of the splitters. Without one it is the input of the first splitter, or else
    the aerial's terminals.
    """
    ahead = kinds[: _splitters(kinds)[0]] if _splitters(kinds) else kinds
    feeders = [index for index, kind in enumerate(ahead) if kind == "feeder"]
    if feeders:
        return feeders[-1] + 1
    return len(ahead) if _splitters(kinds) else 0
