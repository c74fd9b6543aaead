"""The layers of a coverage's map: margins of networks, fields of stations, shares of places."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport, ServiceCoverage, StationCoverage
from combe.answers.network import mapped_margin_db
from combe.answers.place_shares import PlaceShares, place_shares
from combe.planning import limited_by_interference
from combe.publishing.content import MapLayer, ShareScale
from combe.reception import Field
from combe.stations import Station
from combe.words import tell

BEFORE, AFTER = "before", "after"
_EVERY = "Every station"
_LOWEST_DBUV_M = -100.0
_NOTHING_MISSING_DB = -1.0
_LEAST_GAIN_DB = 1.0

MOST_STATION_LAYERS: Final = 24
"""Fields of single stations that a page holds at most: each makes it heavier by a megabyte or so."""


def map_layers(report: CoverReport, *, shares: bool = False) -> Iterator[MapLayer]:
    """Yield the layers of a coverage, each worked out when it is asked for."""
    for group in (
        _network_layers,
        _interference_layers,
        _gain_layers,
        _system_layers,
        _way_layers,
        _service_layers,
        _station_layers,
    ):
        yield from group(report)
    yield from _share_layers(report, shares)


def left_out_words(report: CoverReport) -> str:
    """Return what the page says of the fields that it does not hold; nothing where it holds all."""
    every = sum(len(each.services) for each in report.stations)
    shown = sum(len(each.services) for _, each in _shown_stations(report))
    if shown == every:
        return ""
    return tell(
        "This page holds the fields of {shown} of the {every} services of single stations, relays first; "
        "all of them are rasters beside it.",
        shown=shown,
        every=every,
    )


def _shown_stations(report: CoverReport) -> list[tuple[int, StationCoverage]]:
    """Return the stations whose fields the page holds, in order; where there are too many, relays first."""
    numbered = list(enumerate(report.stations))
    found, layers = [], 0
    for number, each in sorted(numbered, key=lambda one: (one[1].station.role == "parent", one[0])):
        layers += len(each.services)
        if layers <= MOST_STATION_LAYERS:
            found.append((number, each))
    return sorted(found, key=lambda one: one[0])


def _network_layers(report: CoverReport) -> list[MapLayer]:
    """Return the layers of all services, before and after."""
    network, name = report.all_services, "All services"
    told = "margin of the worst-off service, each from its best station, with interference"
    before = margin_layer(
        BEFORE, tell("{name}, parents alone", name=name), name, network.margin_before_db, told
    )
    after = margin_layer(AFTER, tell("{name}, every station", name=name), name, network.margin_db, told)
    return [replace(before, station="Parents", role="parent"), after]


def margin_layer(key: str, title: str, service: str, margin_db: Field, told: str) -> MapLayer:
    """Return a layer of every station, as the margin over each service's own minimum."""
    return decibel_layer(key, title, service, mapped_margin_db(margin_db), told, shows="margin")


def decibel_layer(key: str, title: str, service: str, values_db: Field, told: str, *, shows: str) -> MapLayer:
    """Return a layer of every station together, in decibels over 0."""
    return MapLayer(
        key=key,
        title=title,
        station=_EVERY,
        role="relay",
        service=service,
        field_dbuv_m=values_db,
        threshold_dbuv_m=0.0,
        description=told,
        shows=shows,
    )


def only_in_cells(cells: npt.NDArray[np.bool_], values_db: Field) -> Field:
    """Return the values of some cells, under 0 in the others, and NaN where nothing is known."""
    return np.where(np.isnan(values_db), np.nan, np.where(cells, values_db, _NOTHING_MISSING_DB))


def _way_layers(report: CoverReport) -> list[MapLayer]:
    """Return the margin of all services by each way of receiving but the first, which has all layers."""
    return [
        margin_layer(
            f"way-{number}",
            tell("All services, {name}", name=each.name),
            "All services",
            each.all_services.margin_db,
            tell("margin of the worst-off service, received {name}, with interference", name=each.name),
        )
        for number, each in enumerate(report.ways[1:], 1)
    ]


def _service_layers(report: CoverReport) -> list[MapLayer]:
    """Return a layer of each service over its stations where not all of their fields are in the page."""
    if not left_out_words(report) or len(report.services) > MOST_STATION_LAYERS:
        return []
    told = "margin from its best station, with interference"
    return [
        margin_layer(
            f"service-{number}",
            tell("{name}, every station", name=each.name),
            each.name,
            each.margin_db,
            told,
        )
        for number, each in enumerate(report.services)
    ]


def _interference_layers(report: CoverReport) -> list[MapLayer]:
    """Return what is missing where noise alone would leave all services served; none without such cells."""
    network = report.all_services
    limited = limited_by_interference(network.margin_db, network.noise_margin_db)
    if not limited.any():
        return []
    return [
        decibel_layer(
            "interference",
            "Limited by interference",
            "All services",
            only_in_cells(limited, -network.margin_db),
            "unserved, and served if there were noise alone; what the worst-off service is short",
            shows="missing",
        )
    ]


def _gain_layers(report: CoverReport) -> list[MapLayer]:
    """Return what each network on one frequency gains, and where its echoes leave cells unserved; if any."""
    layers = []
    for number, effect in enumerate(report.on_one_frequency):
        gains = np.greater_equal(effect.gain_map_db, _LEAST_GAIN_DB)
        if gains.any():
            layers.append(
                decibel_layer(
                    f"gain-{number}",
                    tell("{service}, gain of the network", service=effect.service),
                    effect.service,
                    only_in_cells(gains, effect.gain_map_db),
                    "of what receivers can use of all its stations, over the best of them alone",
                    shows="gain",
                )
            )
        if effect.cells_hurt:
            layers.append(
                decibel_layer(
                    f"hurt-{number}",
                    tell("{service}, hurt by its own echoes", service=effect.service),
                    effect.service,
                    effect.hurt_map_db,
                    "unserved, and served if echoes that receivers cannot use did not disturb",
                    shows="missing",
                )
            )
    return layers


def _system_layers(report: CoverReport) -> list[MapLayer]:
    """Return a layer of all services of each television system, where there are several."""
    told = "margin of the worst-off service of this system, each from its best station, with interference"
    return [
        margin_layer(
            f"system-{number}",
            tell("{system}, every station", system=each.system),
            each.system,
            each.margin_db,
            told,
        )
        for number, each in enumerate(each for each in report.by_system if each.whole)
    ]


def _share_layers(report: CoverReport, wanted: bool) -> list[MapLayer]:
    """Return the layers of shares of places: all services, and each where there are several."""
    if not wanted:
        return []
    return [_share_layer(f"share-{number}", found) for number, found in enumerate(place_shares(report))]


def _share_layer(key: str, found: PlaceShares) -> MapLayer:
    need, deviation = found.minimum.at_a_place_dbuv_m, found.minimum.location_deviation_db
    return MapLayer(
        key=key,
        title=tell("{name}, share of places", name=found.name),
        station=_EVERY,
        role="relay",
        service=found.name,
        field_dbuv_m=np.maximum(found.field_dbuv_m, _LOWEST_DBUV_M),
        threshold_dbuv_m=found.minimum.median_dbuv_m,
        description=(
            tell(
                "where the best station gives the field that a receiver needs, against noise alone; the "
                "field scatters normally over the places of a cell, deviation {deviation:g} dB",
                deviation=deviation,
            )
        ),
        shares=ShareScale(
            need, deviation, found.planning_percent, tuple(found.required_fields_dbuv_m.items())
        ),
    )


def _station_layers(report: CoverReport) -> Iterator[MapLayer]:
    told = {
        (station.name, service.name): tell(", {name}", name=report.project.television_of(service).name)
        for station in report.project.stations
        for service in station.services
        if report.by_system
    }
    for number, covered in _shown_stations(report):
        for index, service in enumerate(covered.services):
            system = told.get((covered.station.name, service.service), "")
            yield _station_layer(f"s{number}-{index}", covered.station, service, system)


def _station_layer(key: str, station: Station, service: ServiceCoverage, system: str) -> MapLayer:
    field_map = service.field_map
    told = tell(
        "field strength at {receive_height_m:g} m, {frequency_mhz:g} MHz",
        receive_height_m=field_map.receive_height_m,
        frequency_mhz=field_map.frequency_mhz,
    )
    alone = "; against noise alone, without interference" if service.disturbed else ""
    return MapLayer(
        key=key,
        title=tell(
            "{name}: {service}, channel {channel}{system}",
            name=station.name,
            service=service.service,
            channel=service.channel,
            system=system,
        ),
        station=station.name,
        role=station.role,
        service=service.service,
        field_dbuv_m=np.maximum(field_map.field_dbuv_m, _LOWEST_DBUV_M),
        threshold_dbuv_m=service.minimum_field_dbuv_m,
        description=tell("{told}{alone}", told=told, alone=alone),
        frequency_mhz=field_map.frequency_mhz,
    )
