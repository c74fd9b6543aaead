"""What a study predicts for the readings of a visit: levels and C/N of the feed, and the powers it states.

With those of the feed comes what the air alone does to them: how far the path falls and rises over the year.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from combe.answers.feed import RelayFeed, ServiceFeed, feed_report
from combe.answers.measuring_points import feeder_end, splitters, stage_kinds
from combe.answers.output_side import output_side
from combe.planning.visits import AirSpread, SeriesKey, SheetSite
from combe.project import Project
from combe.reception import waterfall
from combe.standards import family_of
from combe.stations import Station


class ExpectedReadings(NamedTuple):
    """Values in the unit of the routine reading, what the air does to those of the feed, and the feeds."""

    values: Mapping[SeriesKey, float]
    air: Mapping[SeriesKey, AirSpread]
    relays: tuple[RelayFeed, ...] = ()


def expected_readings(project: Project) -> ExpectedReadings:
    """Return the readings that a study predicts.

    Levels and C/N are medians of time at the receive side of each relay: at the lower end of the feeder,
    ahead of pads and splitters, at the splitter's ports, and at the receiver. The powers are the study's.

    Raises
    ------
    TerrainGapError, RasterError
        As of the feed.
    """
    found: dict[SeriesKey, float] = {}
    air: dict[SeriesKey, AirSpread] = {}
    for station in project.stations:
        found |= _of_output(project, station)
    relays = feed_report(project).relays if _has_relays(project) else ()
    for relay in relays:
        for number, service in enumerate(relay.services, start=1):
            values = _of_feed(relay, service, number)
            found |= values
            air |= dict.fromkeys(values, AirSpread(*service.year.spread_db))
    return ExpectedReadings(found, air, relays)


def sheet_sites(project: Project) -> tuple[SheetSite, ...]:
    """Return the relays to visit, or all stations of a study without relays."""
    family = reading_family(project)
    relays = [station for station in project.stations if station.parent] or list(project.stations)
    return tuple(_site(each, family, stage_kinds(project.feeds.get(each.name))) for each in relays)


def reading_family(project: Project) -> str:
    """Return the family of a study's television system, by which readings go."""
    system = project.television
    return family_of(system.name, analogue=system.analogue_name is not None)


def _has_relays(project: Project) -> bool:
    return any(station.parent for station in project.stations)


def _site(station: Station, family: str, kinds: list[str]) -> SheetSite:
    services = tuple(service.name for service in station.services)
    return SheetSite(
        station=station.name,
        services=services,
        family=family,
        receives=station.parent is not None,
        splitter_ports=len(services) if splitters(kinds) else 0,
    )


def _of_output(project: Project, station: Station) -> dict[SeriesKey, float]:
    """Return the ERP of each service, and its power at the amplifier where the study has the chain."""
    side = output_side(project, station)
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
    kinds = stage_kinds(relay.side.feed)
    found = {
        SeriesKey(*names, "feeder", "level"): levels[feeder_end(kinds)],
        SeriesKey(*names, "receiver", "level"): service.budget.receiver_input_dbm,
    }
    if not math.isnan(service.judged.carrier_to_noise_db):
        found[SeriesKey(*names, "receiver", "C/N")] = service.judged.carrier_to_noise_db
    if splitters(kinds):
        found[SeriesKey(*names, f"splitter port {number}", "level")] = levels[splitters(kinds)[-1] + 1]
    return found
