"""Predicts what choosing channels needs, and what speaks against a channel before anybody is counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from combe.answers.corrections import Corrections, corrections_of, offset_at
from combe.answers.emissions import (
    emissions_of,
    interfering_conditions,
    rules_of,
)
from combe.answers.on_air import conversion_of, on_air
from combe.answers.people_places import PeopleTargets
from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning import StationService
from combe.planning.channels import SOURCE, Public, Signal, groups_of, input_troubles, needs_another_aerial
from combe.prediction import Area, Targets, find_targets, predict_targets
from combe.project import Project, minimum_field_dbuv_m, service_conditions
from combe.reception import FIXED_ROOF
from combe.standards import (
    Conversion,
    centre_frequency_mhz,
    channel_edges_mhz,
    channel_raster,
    channels_apart,
    in_planning_bands,
    same_signal,
)
from combe.stations import Service, Station
from combe.terrain import to_grid_m
from combe.words import joined, tell


@dataclass(frozen=True)
class Field:
    """The study with its places: what every prediction here goes by."""

    project: Project
    area: Area
    targets: Targets
    public: Public
    corrections: Corrections


def usable_channels(project: Project, relay: Station) -> tuple[int, ...]:
    """Return the channels of a relay's raster for which planning values hold, of all its systems."""
    raster = channel_raster(raster_of_relay(project, relay))
    signals = {project.television_of(service).signal for service in relay.services}

    def planned(frequency_mhz: float) -> bool:
        return all(in_planning_bands(signal, frequency_mhz) for signal in signals)

    return tuple(each for each in raster.channels if planned(centre_frequency_mhz(raster.name, each)))


def raster_of_relay(project: Project, relay: Station) -> str:
    """Return the channel raster of a relay's outputs.

    Raises
    ------
    RangeError
        For a relay whose services are on several, which cannot be chosen for together.
    """
    rasters = list(dict.fromkeys(project.raster_of(service) for service in relay.services))
    if len(rasters) > 1:
        raise RangeError(
            f"channel rasters of {relay.name}", " and ".join(rasters), "one, for channels to be chosen"
        )
    return rasters[0]


def lay_field(project: Project, area: Area, people: PeopleTargets) -> Field:
    """Put the places with people on the ground.

    Raises
    ------
    RangeError
        Without any.
    """
    targets = find_targets(area, people.longitude_deg, people.latitude_deg)
    x_m, y_m = to_grid_m(area.grid, people.longitude_deg, people.latitude_deg)
    public = Public(x_m, y_m, people.people, rules_of(project), project.interference.cross_polarization)
    return Field(project, area, targets, public, corrections_of(project))


def signals_of_station(field: Field, station: Station) -> tuple[Signal, ...]:
    """Return the services of a station as signals at the places."""
    median, at_time = predicted(field, station)
    return tuple(
        _signal(field, station, service, median[index], at_time[index])
        for index, service in enumerate(station.services)
    )


def signals_on_channels(
    field: Field, relay: Station, channels: Sequence[int]
) -> dict[tuple[str, int], Signal]:
    """Return each service of a relay on each of some channels, by (service, channel).

    The relay is predicted once with one watt on every channel; the services differ by their ERP.
    """
    found = {}
    for television in dict.fromkeys(service.television for service in relay.services):
        alike = [service for service in relay.services if service.television == television]
        raster = field.project.raster_of(alike[0])
        tried = tuple(
            Service(str(each), each, centre_frequency_mhz(raster, each), 1.0, television=television)
            for each in channels
        )
        median, at_time = predicted(field, replace(relay, services=tried))
        for service in alike:
            erp_db = 10.0 * np.log10(service.erp_w)
            for index, one in enumerate(tried):
                there = replace(service, channel=one.channel, frequency_mhz=one.frequency_mhz)
                fields = median[index] + erp_db, at_time[index] + erp_db
                found[service.name, one.channel] = _signal(field, relay, there, *fields)
    return found


def predicted(field: Field, station: Station) -> tuple[FloatArray, FloatArray]:
    """Return the fields of a station's services (services, n) for wanted and interfering signals."""
    height_m = field.project.field_height_m
    usual = service_conditions(field.project, station.services)
    later = interfering_conditions(field.project)
    median = predict_targets(field.area, station, field.targets, conditions=usual, rx_height_m=height_m)
    median = median + _offset_db(field, station)
    if later == usual:
        return median, median
    at_time = predict_targets(field.area, station, field.targets, conditions=later, rx_height_m=height_m)
    return median, at_time + _offset_db(field, station)


def _offset_db(field: Field, station: Station) -> FloatArray:
    """Return by how much the fields of a station are corrected at the places (n,) [dB]."""
    return offset_at(field.corrections, station.name, field.public.x_m, field.public.y_m)


def _signal(
    field: Field, station: Station, service: Service, median: FloatArray, at_time: FloatArray
) -> Signal:
    named = StationService(station, service)
    (emission,) = emissions_of(field.project, field.area.grid, [named])
    return Signal(emission, service.channel, median, at_time)


@dataclass(frozen=True)
class Verdicts:
    """By channel why it is rejected, and for the others what has to be borne in mind."""

    rejected: dict[int, tuple[str, ...]]
    cautions: dict[int, tuple[str, ...]]


@dataclass(frozen=True)
class Arriving:
    """A service of a settled station at the relay's receiving aerial, with its median field [dB(µV/m)]."""

    station: str
    service: Service
    field_dbuv_m: float


def inputs_of(field: Field, relay: Station) -> tuple[Service, ...]:
    """Return the services of the parent that the relay receives; none that it radiates as another system."""
    project = field.project
    parent = project.station(str(relay.parent))
    radiated = {service.name: project.television_of(service) for service in relay.services}
    return tuple(
        service
        for service in parent.services
        if service.name in radiated and same_signal(project.television_of(service), radiated[service.name])
    )


def judge_relay(
    field: Field, relay: Station, settled: Sequence[Station], channels: Sequence[int]
) -> Verdicts:
    """Return what is wrong with each of some channels for a relay.

    Raises
    ------
    RangeError, TerrainGapError
        As the prediction of the receive site.
    """
    received = inputs_of(field, relay)
    arriving = arriving_at(field, relay, settled)
    conversion = conversion_at(field, received or relay.services)
    raster = raster_of_relay(field.project, relay)
    rejected, cautions = {}, {}
    for channel in channels:
        apart = partial(channels_apart, raster)
        reasons = input_troubles(conversion, [each.channel for each in received], channel, apart=apart)
        reasons += _occupied(field, arriving, raster, channel)
        if reasons:
            rejected[channel] = reasons
        else:
            cautions[channel] = _aerial_cautions(received or relay.services, raster, channel)
    return Verdicts(rejected, {channel: told for channel, told in cautions.items() if told})


def conversion_at(field: Field, received: Sequence[Service]) -> Conversion:
    """Return the frequency change of the relay's receiver, the usual one of the system."""
    return conversion_of(field.project, on_air(field.project, received[0]), None)


def arriving_at(field: Field, relay: Station, settled: Sequence[Station]) -> list[Arriving]:
    """Return the fields of the settled stations at the relay's receiving aerial, omnidirectional."""
    feed = next(each for station, each in field.project.fed if station.name == relay.name)
    place = find_targets(field.area, [relay.longitude_deg], [relay.latitude_deg])
    found = []
    for station in settled:
        levels = predict_targets(
            field.area,
            station,
            place,
            conditions=field.project.conditions,
            rx_height_m=feed.aerial.height_m,
        )
        pairs = zip(station.services, levels[:, 0].tolist(), strict=True)
        found += [Arriving(station.name, service, level) for service, level in pairs]
    return found


def _occupied(field: Field, arriving: Sequence[Arriving], raster: str, channel: int) -> tuple[str, ...]:
    """Say who is received at the site on a channel; a channel is free where nobody reaches the minimum."""
    # The relay's own aerial hears them, not a portable one.
    project, (low_mhz, high_mhz) = field.project.received_by(FIXED_ROOF), channel_edges_mhz(raster, channel)

    def on_it(service: Service) -> bool:
        low, high = channel_edges_mhz(project.raster_of(service), service.channel)
        return low < high_mhz and high > low_mhz

    return tuple(
        tell(
            "not free at the receive site: {station} arrives with {field_dbuv_m:.0f} dB(µV/m)",
            station=each.station,
            field_dbuv_m=each.field_dbuv_m,
        )
        for each in arriving
        if on_it(each.service)
        and each.field_dbuv_m
        >= minimum_field_dbuv_m(project, each.service.frequency_mhz, service=each.service)
    )


def _aerial_cautions(received: Sequence[Service], raster: str, channel: int) -> tuple[str, ...]:
    present = [each.frequency_mhz for each in received]
    frequency_mhz = centre_frequency_mhz(raster, channel)
    if not needs_another_aerial(present, frequency_mhz):
        return ()
    names = joined(" or ", (group.name for group in groups_of(present))) or "wide"
    return (
        tell(
            "outside the aerial group of the present services, {names} ({source})", names=names, source=SOURCE
        ),
    )
