"""Protection ratios of channels farther away than the next: image, oscillator, intermediate frequency."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple, TypeVar

from combe.standards.analogue import analogue_system
from combe.standards.cited import Confidence
from combe.standards.frequency_relations import (
    analogue_conversion,
    digital_conversion,
    image_band_steps,
    image_channels,
)
from combe.standards.protection import SignalKind

_Row = TypeVar("_Row")


class ImageRatio(NamedTuple):
    """Ratio [dB] for an unwanted signal on the image channel, wherever the receiver's IF puts it."""

    wanted: SignalKind
    unwanted: SignalKind
    tropospheric_db: float
    continuous_db: float
    reference: str
    confidence: Confidence


class FarRatio(NamedTuple):
    """Ratio [dB] for an unwanted signal ``channel_step`` channels above the wanted one, at any time."""

    wanted: SignalKind
    unwanted: SignalKind
    channel_step: int
    relation: str
    ratio_db: float
    reference: str
    confidence: Confidence


_BT655: Final = "ITU-R BT.655-7, image channel: the strictest of -1 to -13 dB, by system; little confidence"
_BT1368: Final = "ITU-R BT.1368-13 Annex 2, image channel: the strictest by system; little confidence"
_IEC62216: Final = "IEC 62216 receivers, image channel; little confidence"
_74705: Final = "47 CFR 74.705(d), low power stations"
_OET69: Final = "FCC OET Bulletin 69, analogue receivers"

IMAGE_RATIOS: Final = (
    ImageRatio("analogue 625", "analogue 625", -1.0, 9.0, _BT655, "from memory"),
    ImageRatio("analogue 625", "DVB", -16.0, -11.0, _BT1368, "from memory"),
    ImageRatio("DVB", "DVB", -31.0, -31.0, _IEC62216, "from memory"),
)

FAR_RATIOS: Final = (
    FarRatio("analogue 525", "analogue 525", 14, "image of sound", -23.0, _74705, "from memory"),
    FarRatio("analogue 525", "analogue 525", 15, "image of vision", -6.0, _74705, "from memory"),
    FarRatio("analogue 525", "ATSC", -8, "beat at the IF", -32.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -7, "oscillator", -35.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -4, "intermodulation", -34.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -3, "intermodulation", -30.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -2, "intermodulation", -24.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 2, "intermodulation", -28.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 3, "intermodulation", -34.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 4, "intermodulation", -25.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 7, "oscillator", -43.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 8, "beat at the IF", -43.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 14, "image of sound", -33.0, _OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 15, "image of vision", -31.0, _OET69, "from memory"),
)
"""With 625 lines and with DVB the image channel follows from the receiver's intermediate frequency."""


def image_ratio(wanted: SignalKind, unwanted: SignalKind) -> ImageRatio | None:
    """Return the row of a pair of signals, or None where the table has none."""
    return _first(row for row in IMAGE_RATIOS if (row.wanted, row.unwanted) == (wanted, unwanted))


def far_ratio(wanted: SignalKind, unwanted: SignalKind, channel_step: int) -> FarRatio | None:
    """Return the row of a pair of signals and a step, or None where the table has none."""
    key = (wanted, unwanted, channel_step)
    return _first(row for row in FAR_RATIOS if (row.wanted, row.unwanted, row.channel_step) == key)


def image_steps(analogue_name: str | None, channel_width_mhz: float) -> tuple[int, ...]:
    """Return the channel steps in which the image of the wanted channel lies, lowest first.

    Parameters
    ----------
    analogue_name : str or None
        Row of :data:`combe.standards.analogue.ANALOGUE_SYSTEMS`; None for a digital receiver with the
        intermediate frequency 36.125 MHz, of which a channel counts that holds a tenth of the image.
    channel_width_mhz : float
        Of the raster [MHz].

    Examples
    --------
    >>> image_steps("I", 8.0), image_steps("D/K", 8.0), image_steps(None, 8.0)
    ((9, 10), (8, 9), (9,))
    """
    if analogue_name is None:
        shares = image_band_steps(digital_conversion(channel_width_mhz))
        return tuple(step for step, share in sorted(shares.items()) if share >= _LEAST_SHARE)
    images = image_channels(analogue_conversion(analogue_system(analogue_name)))
    return tuple(sorted({image.channel_step for image in images}))


_LEAST_SHARE: Final = 0.1


def _first(rows: Iterable[_Row]) -> _Row | None:
    return next(iter(rows), None)
