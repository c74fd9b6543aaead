"""When each station of a network on one frequency radiates, and what its receivers can make of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from combe.geodesy import distance_km
from combe.project import USUAL_PROCESSING_US, Project, SingleFrequencyNetwork
from combe.reception import OneFrequency, channel_of
from combe.standards import SymbolTiming, ofdm_standard, symbol_timing
from combe.stations import Service, Station
from combe.words import joined, tell

_KM_PER_US = 0.299792458


class Radiated(NamedTuple):
    """When a member radiates, and how that came about [µs].

    ``delay_us`` after the time of the network; of an on-channel relay, which hears another member off air,
    ``path_us`` is the way from there, ``processing_us`` what it takes itself. ``static_us`` is told.
    """

    delay_us: float
    static_us: float
    path_us: float = 0.0
    processing_us: float = 0.0
    heard: str = ""


def network_of(project: Project, station: Station) -> SingleFrequencyNetwork | None:
    """Return the network of a station; None for one that is in none."""
    return next((each for each in project.networks if station.name in each.members), None)


def timing_of(project: Project, network: SingleFrequencyNetwork, service: Service) -> SymbolTiming | None:
    """Return the symbols of a service in a network; None for a system whose echoes only disturb.

    Raises
    ------
    RangeError
        For symbols that the system does not have.
    """
    system = project.television_of(service)
    standard = ofdm_standard(system.name)
    if standard is None:
        return None
    width_mhz = channel_of(system, service.frequency_mhz).width_mhz
    return symbol_timing(standard, width_mhz, network.size, network.guard_interval, network.pilot_pattern)


def radiated_at(
    project: Project, network: SingleFrequencyNetwork, station: Station, service: Service
) -> Radiated:
    """Return when a member radiates a service.

    One whose feed hears a member on the very channel that it radiates repeats what it hears; every other is
    taken to get the signal by a way that keeps the time of the network.
    """
    static_us = network.static_delay_us.get(station.name, 0.0)
    parent = _heard(project, network, station, service)
    if parent is None:
        return Radiated(static_us, static_us)
    path_us = way_us(station, parent)
    processing_us = network.processing_delay_us.get(station.name, USUAL_PROCESSING_US)
    before = radiated_at(project, network, parent, service).delay_us
    return Radiated(
        before + path_us + processing_us + static_us, static_us, path_us, processing_us, parent.name
    )


def one_frequency_of(project: Project, station: Station, service: Service) -> OneFrequency | None:
    """Return what a service does in its network; None where it is in none, or echoes only disturb."""
    network = network_of(project, station)
    timing = timing_of(project, network, service) if network else None
    if network is None or timing is None:
        return None
    delay_us = radiated_at(project, network, station, service).delay_us
    return OneFrequency(
        network.name, delay_us, timing.useful_us, timing.guard_us, timing.equalised_us, network.window
    )


def shared_services(project: Project, network: SingleFrequencyNetwork) -> list[tuple[Station, Service]]:
    """Return the services that two or more members radiate on one channel, station by station."""
    every = [
        (station, service)
        for station in project.stations
        if station.name in network.members
        for service in station.services
    ]
    keys = [(service.name, service.channel, project.television_of(service)) for _, service in every]
    return [each for each, key in zip(every, keys, strict=True) if keys.count(key) > 1]


def way_us(one: Station, other: Station) -> float:
    """Return how long a signal takes from one station to another [µs]."""
    apart_km = distance_km(one.longitude_deg, one.latitude_deg, other.longitude_deg, other.latitude_deg)
    return apart_km / _KM_PER_US


def network_words(project: Project) -> dict[str, str]:
    """Return what was taken of each network on one frequency, in words by its name."""
    return {each.name: _words(project, each) for each in project.networks}


def network_notes(project: Project) -> Iterator[str]:
    """Tell which networks on one frequency do nothing, and which relays on channels of others are in none."""
    yield from idle_notes(project)
    yield from _outside_notes(project)


def idle_notes(project: Project) -> Iterator[str]:
    """Tell which networks on one frequency do nothing, or have services that do not add."""
    for network in project.networks:
        shared = shared_services(project, network)
        if not shared:
            yield tell(
                "{name}: no service is on one channel of two of its members, so nothing adds",
                name=network.name,
            )
        for name in dict.fromkeys(project.television_of(service).name for _, service in shared):
            if ofdm_standard(name) is None:
                yield tell(
                    "{name}: echoes of {name_2} do not add; each disturbs the others",
                    name=network.name,
                    name_2=name,
                )


def _outside_notes(project: Project) -> Iterator[str]:
    """Tell which relays repeat what they hear on its own channel and are in no network."""
    for relay, feed in project.fed:
        if network_of(project, relay) is not None:
            continue
        heard = {(each.name, each.channel) for each in project.station(feed.parent).services}
        adding = [each for each in relay.services if ofdm_standard(project.television_of(each).name)]
        if heard & {(each.name, each.channel) for each in adding}:
            yield (
                tell(
                    "{name} repeats {parent} on its channel and counts as its interferer; if both "
                    'are one network on one frequency, write [[sfn]] with members = ["{parent}", '
                    '"{name}"]',
                    name=relay.name,
                    parent=feed.parent,
                )
            )


def _words(project: Project, network: SingleFrequencyNetwork) -> str:
    shared = shared_services(project, network)
    members = joined(", ", network.members)
    if not shared:
        return tell(
            "{members}: no service on one channel by two of them, so each is judged by itself",
            members=members,
        )
    timing = timing_of(project, network, shared[0][1])
    if timing is None:
        name = project.television_of(shared[0][1]).name
        return tell(
            "{members}: echoes of {name} only disturb, by its co-channel ratio", members=members, name=name
        )
    told = joined(
        "; ",
        (
            tell(
                "{name} {delay_us:.1f} µs",
                name=station.name,
                delay_us=radiated_at(project, network, station, service).delay_us,
            )
            for station, service in shared
            if service.name == shared[0][1].name
        ),
    )
    usual = "" if network.size or network.guard_interval else " (taken as usual, not told)"
    return tell(
        "{words}{usual}; window by {window}; radiated after {told}; weights of echoes by EBU "
        "Technical Review 295 (from memory)",
        words=timing.words,
        usual=usual,
        window=network.window,
        told=told,
    )


def _heard(
    project: Project, network: SingleFrequencyNetwork, station: Station, service: Service
) -> Station | None:
    """Return the member that a relay repeats on its channel; None for any other station."""
    if station.parent is None or station.parent not in network.members:
        return None
    parent = project.station(station.parent)
    on_channel = any((each.name, each.channel) == (service.name, service.channel) for each in parent.services)
    return parent if on_channel else None
