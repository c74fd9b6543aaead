"""What a study predicts for the readings of a visit: levels and C/N of the feed, and the powers it states."""

from __future__ import annotations

from collections.abc import Mapping

from combe.planning.visits.readings import SeriesKey
from combe.planning.visits.sheet import SheetSite
from combe.standards.systems import TelevisionSystem
from combe.stations.transmitter import Station
from combe.study.file import Study
from combe.study.resolve import resolve_stations, resolve_television
from combe.study.run_feed import RelayFeed, ServiceFeed, feed_report


def expected_readings(study: Study) -> Mapping[SeriesKey, float]:
    """Return the readings that a study predicts, each in the unit of its routine reading.

    Levels are medians of time at the receive side of each relay; the ERP is that of the study.

    Raises
    ------
    TerrainGapError, RasterError
        As of the feed.
    """
    stations = resolve_stations(study)
    found = {
        SeriesKey(station.name, service.name, "output coupler", "ERP"): service.erp_w
        for station in stations
        for service in station.services
    }
    relays = feed_report(study).relays if any(station.parent for station in stations) else ()
    for relay in relays:
        for number, service in enumerate(relay.services, start=1):
            found |= _of_feed(relay, service, number)
    return found


def sheet_sites(study: Study) -> tuple[SheetSite, ...]:
    """Return the relays to visit, or all stations of a study without relays."""
    stations = resolve_stations(study)
    divided = {
        section.name: bool(section.feed and section.feed.splitter_loss_db)
        for section in study.content.stations
    }
    analogue = is_analogue(resolve_television(study))
    relays = [station for station in stations if station.parent] or list(stations)
    return tuple(_site(station, analogue, divided[station.name]) for station in relays)


def is_analogue(system: TelevisionSystem) -> bool:
    """Tell whether a television system is analogue."""
    return bool(getattr(system, "analogue_name", None))


def _site(station: Station, analogue: bool, divided: bool) -> SheetSite:
    services = tuple(service.name for service in station.services)
    return SheetSite(
        station=station.name,
        services=services,
        analogue=analogue,
        receives=station.parent is not None,
        splitter_ports=len(services) if divided else 0,
    )


def _of_feed(relay: RelayFeed, service: ServiceFeed, number: int) -> dict[SeriesKey, float]:
    """Return the levels of one service; it is measured at the splitter port of its number."""
    budget, names = service.budget, (relay.relay.name, service.radiated.name)
    found = {
        SeriesKey(*names, "feeder", "level"): budget.aerial_output_dbm - budget.feeder_loss_db,
        SeriesKey(*names, "receiver", "level"): budget.receiver_input_dbm,
        SeriesKey(*names, "receiver", "C/N"): budget.carrier_to_noise_db,
    }
    if budget.splitter_loss_db:
        found[SeriesKey(*names, f"splitter port {number}", "level")] = budget.receiver_input_dbm
    return found
