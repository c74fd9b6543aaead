"""Where the carriers of an analogue television channel lie, from the raster and the system."""

from __future__ import annotations

from typing import NamedTuple

from combe.errors import RangeError
from combe.standards.analogue import analogue_system
from combe.standards.channels import channel_edges_mhz, channel_raster


class ChannelCarriers(NamedTuple):
    """Carriers of one channel [MHz]; ``digital_sound_mhz`` is None where the system has none."""

    vision_mhz: float
    chroma_mhz: float
    sound_mhz: float
    digital_sound_mhz: float | None


def channel_carriers(raster_name: str, channel: int, system_name: str) -> ChannelCarriers:
    """Return the carriers of an analogue channel.

    Parameters
    ----------
    raster_name : str
        A key of :data:`combe.standards.channels.CHANNEL_RASTERS`.
    channel : int
    system_name : str
        A key of :data:`combe.standards.analogue.ANALOGUE_SYSTEMS`, such as ``I``.

    Raises
    ------
    ChannelError
        When the raster has no such channel.
    RangeError
        For an unknown raster or system, or a system whose channels are wider or narrower than the raster's.

    Examples
    --------
    >>> channel_carriers("8 MHz UHF", 21, "I").vision_mhz
    471.25
    """
    system = analogue_system(system_name)
    width_mhz = channel_raster(raster_name).width_mhz
    if system.channel_width_mhz != width_mhz:
        raise RangeError(
            f"channel width of the {raster_name} raster",
            f"{width_mhz:g} MHz",
            f"{system.channel_width_mhz:g} MHz, that of system {system.name}",
        )
    vision_mhz = channel_edges_mhz(raster_name, channel)[0] + system.vision_over_edge_mhz
    digital = system.digital_sound_over_vision_mhz
    return ChannelCarriers(
        vision_mhz=vision_mhz,
        chroma_mhz=vision_mhz + system.chroma_over_vision_mhz,
        sound_mhz=vision_mhz + system.sound_over_vision_mhz,
        digital_sound_mhz=None if digital is None else vision_mhz + digital,
    )
