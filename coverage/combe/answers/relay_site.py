"""A relay's receiving site: what its services share, and what arrives there from other stations."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final, NamedTuple, TypeVar

from combe.answers.emissions import carrier_of
from combe.answers.on_air import conversion_of, on_air, steps_apart
from combe.answers.output_side import OutputSide, output_side, own_outputs
from combe.answers.path import PathReport, predict_between, way_between
from combe.answers.receiving import ReceivingSide, receiving_side
from combe.decibels import FloatArray, field_from_loss_dbuv_m
from combe.geodesy import bearing_deg, distance_km
from combe.prediction import MEDIAN_PERCENT, predict_path, shortest_path_km
from combe.project import Feed, Project
from combe.propagation import free_space_loss_db
from combe.propagation.p1812 import INLAND
from combe.reception import OwnOutput, UnwantedSignal, channel_relation
from combe.standards import troubled_channels
from combe.stations import Service, Station, erp_towards_dbw
from combe.terrain import TerrainProfile, ZoneCells

Made = TypeVar("Made")


@dataclass(frozen=True)
class RelaySite:
    """A relay with its parent, the path between them, its receiving side, and all else on its aerial.

    ``project`` predicts medians of time. ``own_outputs`` holds the relay's outputs with the isolation [dB] to
    each, empty where the study states none.
    """

    project: Project
    relay: Station
    parent: Station
    path: PathReport
    way: Way
    side: ReceivingSide
    output: OutputSide | None
    arrivals: tuple[Arrival, ...]
    own_outputs: tuple[tuple[OwnOutput, float], ...]


def relay_site(project: Project, relay: Station, feed: Feed, known: Known | None = None) -> RelaySite:
    """Gather a relay's site; ``project`` has to predict medians of time."""
    known = Known() if known is None else known
    parent, height_m = project.station(feed.parent), feed.aerial.height_m
    path = known.of(
        (relay.name, "path"),
        (parent, relay, height_m),
        lambda: predict_between(project, parent, relay, height_m),
    )
    way = way_of(path, relay)
    output = output_side(project, relay)
    side = receiving_side(project, feed, parent, relay, way.arrival_deg)
    return RelaySite(
        project=project,
        relay=relay,
        parent=parent,
        path=path,
        way=way,
        side=side,
        output=output,
        arrivals=arrivals(project, relay, way, height_m, _concerns(project, relay, parent, side), known),
        own_outputs=tuple(own_outputs(project, relay, output, feed.own_output)) if feed.own_output else (),
    )


def _concerns(
    project: Project, relay: Station, parent: Station, side: ReceivingSide
) -> Callable[[Service], bool]:
    """Return whether a service lies on, beside, or on a troubled channel of one that the relay receives."""
    names = {service.name for service in relay.services}
    wanted = [on_air(project, service) for service in parent.services if service.name in names]
    steps: set[int] = set()
    if side.image_rejection_db is not None:
        conversion = conversion_of(project, wanted[0], side.intermediate_frequency_mhz)
        steps = {each.channel_step for each in troubled_channels(conversion)}

    def counts(service: Service) -> bool:
        channel = on_air(project, service).channel
        return any(
            channel_relation(each.channel, channel) is not None
            or steps_apart(project, each.service, service) in steps
            for each in wanted
        )

    return counts


LITTLE_TIME_PERCENT: Final = 1.0
"""Time for which an interfering field is exceeded: ITU-R BT.655, tropospheric interference (from memory)."""

NEAREST_KM: Final = shortest_path_km("p1812")
"""Nearer stations are on the same site, whatever the model."""

SAME_MAST_KM: Final = 0.01
"""Stations on the same site, which are taken in free space, count as at least this far apart."""

LOADING_KM: Final = 30.0
"""Farther stations are taken not to load the receiver unless their channel concerns it (our own choice)."""

WEAKEST_DBUV_M: Final = -50.0
"""Fields under this for 1 % of time count for nothing (our own choice)."""


@dataclass(frozen=True)
class Way:
    """The way from a station to a receiving aerial; ``profile`` is None on the same site."""

    sender: Station
    length_km: float
    departure_deg: float
    arrival_deg: float
    profile: TerrainProfile | None
    clutter_height_m: FloatArray | None
    zone: ZoneCells | None


class Arrival(NamedTuple):
    """A service of another station with its field at the aerial."""

    signal: UnwantedSignal
    service: Service


class Known:
    """What was found last at each place, and all that it hangs on."""

    def __init__(self) -> None:
        self._found: dict[Hashable, tuple[object, Any]] = {}

    def of(self, place: Hashable, hangs_on: object, make: Callable[[], Made]) -> Made:
        """Return what was found at a place, made anew where it hangs on something else now."""
        if place not in self._found or self._found[place][0] != hangs_on:
            self._found[place] = hangs_on, make()
        made: Made = self._found[place][1]
        return made


def way_in(project: Project, sender: Station, receiver: Station) -> Way:
    """Return the way from a station to a relay; raises TerrainGapError where ground is missing on it."""
    place = (sender.longitude_deg, sender.latitude_deg, receiver.longitude_deg, receiver.latitude_deg)
    back = (*place[2:], *place[:2])
    length_km = distance_km(*place)
    if length_km < NEAREST_KM:
        length_km = max(length_km, SAME_MAST_KM)
        return Way(sender, length_km, bearing_deg(*place), bearing_deg(*back), None, None, None)
    bearing, profile, cover_m, zone = way_between(project, sender, *place[2:])
    return Way(sender, length_km, bearing, bearing_deg(*back), profile, cover_m, zone)


def way_of(path: PathReport, receiver: Station) -> Way:
    """Return the way of a path that is predicted already."""
    sender = path.from_station
    back = (receiver.longitude_deg, receiver.latitude_deg, sender.longitude_deg, sender.latitude_deg)
    length_km = float(path.profile.distance_km[-1])
    return Way(
        sender,
        length_km,
        path.bearing_deg,
        bearing_deg(*back),
        path.profile,
        path.clutter_height_m,
        path.zone,
    )


def field_dbuv_m(
    project: Project, way: Way, service: Service, rx_height_m: float, time_percent: float
) -> float:
    """Return the field [dB(µV/m)] of a service exceeded for a percentage of time, patterns counted.

    A model without statistics of time gives its median for all of them.
    """
    if way.profile is None:
        erp_dbw = erp_towards_dbw(way.sender, service, way.departure_deg, 0.0)
        loss_db = float(free_space_loss_db(way.length_km, service.frequency_mhz))
        return field_from_loss_dbuv_m(float(erp_dbw), loss_db, service.frequency_mhz)
    conditions = project.conditions
    percent = time_percent if conditions.model == "p1812" else MEDIAN_PERCENT
    prediction = predict_path(
        way.profile,
        tx_height_m=way.sender.aerial_height_m,
        rx_height_m=rx_height_m,
        frequency_mhz=service.frequency_mhz,
        polarization=way.sender.polarization,
        conditions=replace(conditions, time_percent=percent),
        clutter_height_m=way.clutter_height_m,
        zone=INLAND if way.zone is None else way.zone,
    )
    erp_dbw = erp_towards_dbw(way.sender, service, way.departure_deg, prediction.elevation_deg)
    return field_from_loss_dbuv_m(float(erp_dbw), prediction.basic_loss_db, service.frequency_mhz)


def arrivals(
    project: Project,
    relay: Station,
    parent_way: Way,
    rx_height_m: float,
    counts: Callable[[Service], bool],
    known: Known,
) -> tuple[Arrival, ...]:
    """Return services of other stations as unwanted signals at a relay's receiving aerial.

    Of stations within 30 km all are given, since they load the receiver; of those farther away the services
    that ``counts`` picks. The parent's own other services come over the wanted path and fade with it, so that
    their median stands for 1 % of time too.
    """
    found: list[Arrival] = []
    for station in project.stations:
        if station is relay:
            continue
        near = apart_km(station, relay) <= LOADING_KM
        services = tuple(each for each in station.services if near or counts(each))
        if station is parent_way.sender:
            found += _of_station(project, parent_way, station.services, rx_height_m, fades_alike=True)
        elif services:
            hear = partial(_heard, project, station, relay, services, rx_height_m)
            aerial = (relay.longitude_deg, relay.latitude_deg, rx_height_m)
            found += known.of((relay.name, "hears", station.name), (station, services, aerial), hear)
    return tuple(found)


def apart_km(one: Station, other: Station) -> float:
    """Return how far two stations are from one another [km]."""
    return distance_km(one.longitude_deg, one.latitude_deg, other.longitude_deg, other.latitude_deg)


def _heard(
    project: Project, station: Station, relay: Station, services: Sequence[Service], rx_height_m: float
) -> tuple[Arrival, ...]:
    """Return services of a station that is not the parent."""
    way = way_in(project, station, relay)
    return tuple(_of_station(project, way, services, rx_height_m, fades_alike=False))


def _of_station(
    project: Project, way: Way, services: Sequence[Service], rx_height_m: float, *, fades_alike: bool
) -> Iterator[Arrival]:
    for service in services:
        median = field_dbuv_m(project, way, service, rx_height_m, MEDIAN_PERCENT)
        little = (
            median if fades_alike else field_dbuv_m(project, way, service, rx_height_m, LITTLE_TIME_PERCENT)
        )
        if little < WEAKEST_DBUV_M:
            continue
        signal = UnwantedSignal(
            way.sender.name,
            service.name,
            on_air(project, service).channel,
            way.arrival_deg,
            way.sender.polarization,
            max(median, 2.0 * WEAKEST_DBUV_M),
            max(little, median),
            carrier_of(service),
            fades_alike,
        )
        yield Arrival(signal, service)
