"""Channel rasters: where the plans of the bands put their channels, and how far two channels lie apart."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

from combe.errors import ChannelError, RangeError
from combe.standards.cited import Confidence, require_citation
from combe.words import joined, tell

_EDGE_TOLERANCE: Final = 1e-9


class ChannelBlock(NamedTuple):
    """Channels that follow one another without a gap, the first from ``first_edge_mhz`` upwards."""

    first_channel: int
    last_channel: int
    first_edge_mhz: float

    def edge_mhz(self, channel: int, width_mhz: float) -> float:
        """Return the lower edge of one of the block's channels [MHz]."""
        return self.first_edge_mhz + width_mhz * (channel - self.first_channel)


@dataclass(frozen=True)
class ChannelRaster:
    """Channels of one width, in blocks of which each is without gaps.

    ``signal_offset_mhz`` is how far the centre of the signal lies over the middle of its channel.
    """

    name: str
    width_mhz: float
    blocks: tuple[ChannelBlock, ...]
    reference: str
    confidence: Confidence
    signal_offset_mhz: float = 0.0

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)

    @property
    def channels(self) -> tuple[int, ...]:
        """The numbers of its channels, lowest first."""
        return tuple(
            number for block in self.blocks for number in range(block.first_channel, block.last_channel + 1)
        )


ISDB_T_OFFSET_MHZ: Final = 1.0 / 7.0
"""How far an ISDB-T signal lies over the middle of its 6 MHz channel: kernel documentation of tuners."""

_UHF_8: Final = ChannelBlock(21, 69, 470.0)
_VHF_8: Final = (
    ChannelBlock(1, 1, 48.5),
    ChannelBlock(2, 2, 58.0),
    ChannelBlock(3, 5, 76.0),
    ChannelBlock(6, 12, 174.0),
)
_UHF_7: Final = ChannelBlock(28, 69, 526.0)
_UHF_6: Final = ChannelBlock(14, 69, 470.0)
_AMERICAS: Final = (ChannelBlock(2, 4, 54.0), ChannelBlock(5, 6, 76.0), ChannelBlock(7, 13, 174.0), _UHF_6)
_UHF_JAPAN: Final = ChannelBlock(13, 62, 470.0)
_JAPAN: Final = (ChannelBlock(1, 3, 90.0), ChannelBlock(4, 7, 170.0), ChannelBlock(8, 12, 192.0), _UHF_JAPAN)
_AUSTRALIA: Final = (ChannelBlock(6, 9, 174.0), ChannelBlock(10, 12, 209.0), _UHF_7)
_CHINA: Final = (
    ChannelBlock(1, 3, 48.5),
    ChannelBlock(4, 5, 76.0),
    ChannelBlock(6, 12, 167.0),
    ChannelBlock(13, 24, 470.0),
    ChannelBlock(25, 68, 606.0),
)

_MEMORY: Final[Confidence] = "from memory"
_CHANNEL_39: Final = "its channel 39, 620 to 626 MHz, read in a public listing"
_CARRIERS: Final = "carriers read in a public table of channels"
_OIRT: Final = f"OIRT channels R1 to R12, {_CARRIERS}; R6 to R12 are those of GE06 with 8 MHz"
_READ_JAPAN: Final = "Japan, its channels 7 and 8 overlap by 2 MHz; read in public listings"
_READ_AMERICAS: Final = "47 CFR 73.603, channels 2 to 69"
_READ_CHINA: Final = (
    "China, vision carriers of channels 1 to 12 read in a public listing; 13 to 68 from memory"
)
_LISTED_AUSTRALIA: Final = "Australia, channels 6 to 12 without 9A, and 28 to 69"

_ROWS: Final = (
    ChannelRaster("8 MHz UHF", 8.0, (_UHF_8,), "Bands IV and V of GE06", _MEMORY),
    ChannelRaster("7 MHz UHF", 7.0, (_UHF_7,), "Australia, channel 28 526 to 533 MHz", _MEMORY),
    ChannelRaster("6 MHz UHF", 6.0, (_UHF_6,), f"47 CFR 73.603; {_CHANNEL_39}", _MEMORY),
    ChannelRaster("6 MHz UHF ISDB-T", 6.0, (_UHF_6,), "Brazil", _MEMORY, ISDB_T_OFFSET_MHZ),
    ChannelRaster(
        "6 MHz UHF ISDB-T Japan", 6.0, (_UHF_JAPAN,), "Japan, last channel", _MEMORY, ISDB_T_OFFSET_MHZ
    ),
    ChannelRaster(
        "7 MHz VHF",
        7.0,
        (ChannelBlock(2, 4, 47.0), ChannelBlock(5, 12, 174.0)),
        f"CCIR channels E2 to E12, {_CARRIERS}; E5 to E12 are those of GE06 with 7 MHz",
        "read",
    ),
    ChannelRaster("8 MHz VHF", 8.0, _VHF_8, _OIRT, "read"),
    ChannelRaster(
        "8 MHz VHF and UHF", 8.0, (*_VHF_8, _UHF_8), "those of 8 MHz VHF and of 8 MHz UHF", _MEMORY
    ),
    ChannelRaster("7 MHz VHF and UHF Australia", 7.0, _AUSTRALIA, _LISTED_AUSTRALIA, _MEMORY),
    ChannelRaster("6 MHz VHF and UHF", 6.0, _AMERICAS, _READ_AMERICAS, "read"),
    ChannelRaster("6 MHz VHF and UHF ISDB-T", 6.0, _AMERICAS, _READ_AMERICAS, "read", ISDB_T_OFFSET_MHZ),
    ChannelRaster("6 MHz VHF and UHF Japan", 6.0, _JAPAN, _READ_JAPAN, "read"),
    ChannelRaster("8 MHz VHF and UHF China", 8.0, _CHINA, _READ_CHINA, _MEMORY),
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
    low, high = channel_edges_mhz(raster_name, channel)
    return (low + high) / 2.0 + channel_raster(raster_name).signal_offset_mhz


def channel_edges_mhz(raster_name: str, channel: int) -> tuple[float, float]:
    """Return the lower and upper edge of a channel [MHz]; errors as :func:`centre_frequency_mhz`."""
    raster = channel_raster(raster_name)
    low = _block_of(raster, channel).edge_mhz(channel, raster.width_mhz)
    return low, low + raster.width_mhz


def channels_apart(raster_name: str, wanted: int, unwanted: int) -> int:
    """Return how many channel widths an unwanted channel of a raster lies above the wanted one.

    Within a block that is the difference of their numbers. Over a gap between blocks it goes by frequency: 0
    where the two overlap, 1 where the unwanted one begins less than a width beyond the wanted one's edge.

    Examples
    --------
    >>> channels_apart("8 MHz UHF", 21, 25), channels_apart("6 MHz VHF and UHF Japan", 8, 7)
    (4, 0)
    """
    width_mhz = channel_raster(raster_name).width_mhz
    lows = [channel_edges_mhz(raster_name, each)[0] for each in (wanted, unwanted)]
    widths = (lows[1] - lows[0]) / width_mhz
    if abs(widths) < 2.0 - _EDGE_TOLERANCE:
        # Part of a width over touching is still the next channel, part of a width under it is the same.
        return math.trunc(widths + math.copysign(_EDGE_TOLERANCE, widths))
    return round(widths)


def channel_words(channels: Iterable[int]) -> str:
    """Return numbers of channels for print, those in a row as a range.

    Examples
    --------
    >>> channel_words([1, 2, 3, 21, 23, 24])
    '1 to 3, 21, 23 to 24'
    """
    runs: list[list[int]] = []
    for number in sorted(channels):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return joined(
        ", ",
        (
            tell("{run} to {run_2}", run=run[0], run_2=run[-1]) if len(run) > 1 else str(run[0])
            for run in runs
        ),
    )


def _block_of(raster: ChannelRaster, channel: int) -> ChannelBlock:
    whole = isinstance(channel, int) and not isinstance(channel, bool)
    for block in raster.blocks:
        if whole and block.first_channel <= channel <= block.last_channel:
            return block
    given = channel if whole else repr(channel)
    raise ChannelError(given, f"{channel_words(raster.channels)} ({raster.name})")
