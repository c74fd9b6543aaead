"""Channel rasters of television bands: which channel numbers there are and where they lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from combe.errors import ChannelError, RangeError
from combe.standards.cited import Confidence, require_citation


@dataclass(frozen=True)
class ChannelRaster:
    """Equally spaced channels: the middle of channel n is ``offset_mhz`` + ``width_mhz`` × n.

    ``signal_offset_mhz`` is how far the centre of the signal lies over the middle of its channel.
    """

    name: str
    width_mhz: float
    offset_mhz: float
    first_channel: int
    last_channel: int
    reference: str
    confidence: Confidence
    signal_offset_mhz: float = 0.0

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)


ISDB_T_OFFSET_MHZ: Final = 1.0 / 7.0
"""How far an ISDB-T signal lies over the middle of its 6 MHz channel: kernel documentation of tuners."""

_CHANNEL_39: Final = "its channel 39, 620 to 626 MHz, read in a public listing"

_ROWS: Final = (
    ChannelRaster("8 MHz UHF", 8.0, 306.0, 21, 69, "Bands IV and V of GE06", "from memory"),
    ChannelRaster("7 MHz UHF", 7.0, 333.5, 28, 69, "Australia, channel 28 526 to 533 MHz", "from memory"),
    ChannelRaster("6 MHz UHF", 6.0, 389.0, 14, 69, f"47 CFR 73.603; {_CHANNEL_39}", "from memory"),
    ChannelRaster("6 MHz UHF ISDB-T", 6.0, 389.0, 14, 69, "Brazil", "from memory", ISDB_T_OFFSET_MHZ),
    ChannelRaster(
        "6 MHz UHF ISDB-T Japan", 6.0, 395.0, 13, 62, "Japan, last channel", "from memory", ISDB_T_OFFSET_MHZ
    ),
)

CHANNEL_RASTERS: Final[Mapping[str, ChannelRaster]] = MappingProxyType({row.name: row for row in _ROWS})
"""Rasters by name."""


def channel_raster(raster_name: str) -> ChannelRaster:
    """Return a raster of the table, or raise :class:`RangeError` naming those there are."""
    if raster_name not in CHANNEL_RASTERS:
        raise RangeError("channel raster", repr(raster_name), ", ".join(CHANNEL_RASTERS))
    return CHANNEL_RASTERS[raster_name]


def centre_frequency_mhz(raster_name: str, channel: int) -> float:
    """Return the centre of the signal on a channel [MHz]; ISDB-T is 1/7 MHz over the channel's middle.

    Raises
    ------
    ChannelError
        When the raster has no such channel.
    RangeError
        When there is no such raster.

    Examples
    --------
    >>> centre_frequency_mhz("8 MHz UHF", 21)
    474.0
    """
    raster = channel_raster(raster_name)
    _require_channel(raster, channel)
    return raster.offset_mhz + raster.width_mhz * channel + raster.signal_offset_mhz


def channel_edges_mhz(raster_name: str, channel: int) -> tuple[float, float]:
    """Return the lower and upper edge of a channel [MHz]; errors as :func:`centre_frequency_mhz`."""
    raster = channel_raster(raster_name)
    _require_channel(raster, channel)
    middle = raster.offset_mhz + raster.width_mhz * channel
    return middle - raster.width_mhz / 2.0, middle + raster.width_mhz / 2.0


def _require_channel(raster: ChannelRaster, channel: int) -> None:
    whole = isinstance(channel, int) and not isinstance(channel, bool)
    if not (whole and raster.first_channel <= channel <= raster.last_channel):
        given = channel if whole else repr(channel)
        raise ChannelError(given, f"{raster.first_channel} to {raster.last_channel} ({raster.name})")
