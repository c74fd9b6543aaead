"""Where the signals of a study's services lie: channel, carrier, noise bandwidth, and carriers of sound."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from combe.project import Project, feed_noise_db
from combe.reception import Channel, FeedSignal, channel_of
from combe.standards import (
    VISION_TO_SOUND_DB,
    AnalogueSystem,
    Conversion,
    analogue_conversion,
    analogue_system,
    channel_edges_mhz,
    channels_apart,
    digital_conversion,
)
from combe.stations import Service
from combe.words import tell


class OnAir(NamedTuple):
    """A service on its channel.

    ``carrier_mhz`` is the centre of a digital signal, the vision carrier of an analogue one; ``edges_mhz``
    are those of the channel.
    """

    service: Service
    channel: Channel
    edges_mhz: tuple[float, float]
    carrier_mhz: float


def on_air(project: Project, service: Service) -> OnAir:
    """Return where a service lies."""
    low, high = channel_edges_mhz(project.raster_of(service), service.channel)
    # By the middle of the channel: its centre is what receivers' images are told by.
    channel = replace(channel_of(project.television_of(service), (low + high) / 2.0), over_middle_mhz=0.0)
    system = picture_system(project, service)
    carrier_mhz = service.frequency_mhz if system is None else low + system.vision_over_edge_mhz
    return OnAir(service, channel, (low, high), carrier_mhz)


def steps_apart(project: Project, wanted: Service, unwanted: Service) -> int:
    """Return how many of the wanted channel's widths an unwanted one lies above it."""
    raster, other = project.raster_of(wanted), project.raster_of(unwanted)
    if raster == other:
        return channels_apart(raster, wanted.channel, unwanted.channel)
    low_mhz, high_mhz = channel_edges_mhz(raster, wanted.channel)
    return round((channel_edges_mhz(other, unwanted.channel)[0] - low_mhz) / (high_mhz - low_mhz))


def picture_system(project: Project, service: Service) -> AnalogueSystem | None:
    """Return the analogue system of a service, or None for a digital one."""
    name = project.television_of(service).analogue_name
    return None if name is None else analogue_system(name)


def signals_of(project: Project, air: OnAir, level_dbm: float, name: str) -> list[FeedSignal]:
    """Return a service at a level as signals: the service itself, then its sound when it is analogue.

    ``level_dbm`` is the mean power of a digital service, that at peak sync of an analogue one; sound is 10 dB
    under it.
    """
    bandwidth_mhz = project.television_of(air.service).bandwidth_mhz
    noise_db = feed_noise_db(project, air.service.frequency_mhz)
    found = [FeedSignal(name, air.carrier_mhz, level_dbm, bandwidth_mhz, noise_db)]
    system = picture_system(project, air.service)
    if system is not None:
        sound_mhz = air.carrier_mhz + system.sound_over_vision_mhz
        sound_dbm = level_dbm - VISION_TO_SOUND_DB.value
        found.append(
            FeedSignal(tell("{name} sound", name=name), sound_mhz, sound_dbm, bandwidth_mhz, noise_db)
        )
    return found


def conversion_of(project: Project, air: OnAir, intermediate_frequency_mhz: float | None) -> Conversion:
    """Return the frequency change of a receiver of a service; the usual one unless a frequency is given."""
    system, given = picture_system(project, air.service), intermediate_frequency_mhz
    if system is None:
        width = air.channel.width_mhz
        return digital_conversion(width) if given is None else digital_conversion(width, given)
    if given is None:
        return analogue_conversion(system)
    usual = analogue_conversion(system)
    return Conversion(usual.channel_width_mhz, usual.carriers, system.vision_over_edge_mhz + given)
