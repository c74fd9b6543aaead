"""Protection ratios: by how much a wanted signal must exceed an unwanted one at the receiver's input.

First on one channel and beside it; then two analogue carriers on one channel, by their offset; then channels
farther away than the next: image, oscillator, intermediate frequency.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, TypeVar, get_args

from combe.errors import RangeError
from combe.standards.analogue import analogue_system
from combe.standards.channels import (
    analogue_conversion,
    digital_conversion,
    image_band_steps,
    image_channels,
)
from combe.standards.cited import Cited, Confidence
from combe.words import tell

SignalKind = Literal["analogue 625", "analogue 525", "DVB", "ATSC", "ISDB-T", "DTMB"]
"""``analogue 625``: any 625-line system; ``analogue 525``: system M; ``DVB``: DVB-T and DVB-T2."""

ChannelStep = Literal["co-channel", "lower adjacent", "upper adjacent"]
"""Where the unwanted channel lies, seen from the wanted one."""

TimeKind = Literal["tropospheric", "continuous"]
"""``tropospheric``: interference for 1 to 10 % of time; ``continuous``: for half of it and more."""

TWELFTHS: Final = 12
"""The line frequency is divided by this for offsets."""


class OffsetRatio(NamedTuple):
    """Co-channel ratio [dB] of two analogue vision carriers apart by ``twelfths`` of the line frequency."""

    twelfths: int
    precision: bool
    tropospheric_db: float
    continuous_db: float
    reference: str = "ITU-R BT.655-7 Table 1, 625 lines"
    confidence: Confidence = "from memory"


ANALOGUE_OFFSET_RATIOS: Final = (
    OffsetRatio(0, False, 45.0, 52.0),
    OffsetRatio(1, False, 44.0, 51.0),
    OffsetRatio(2, False, 40.0, 48.0),
    OffsetRatio(3, False, 34.0, 44.0),
    OffsetRatio(4, False, 30.0, 40.0),
    OffsetRatio(5, False, 28.0, 36.0),
    OffsetRatio(6, False, 27.0, 33.0),
    OffsetRatio(7, False, 28.0, 36.0),
    OffsetRatio(8, False, 30.0, 40.0),
    OffsetRatio(9, False, 34.0, 44.0),
    OffsetRatio(10, False, 40.0, 48.0),
    OffsetRatio(11, False, 44.0, 51.0),
    OffsetRatio(12, False, 45.0, 52.0),
    OffsetRatio(0, True, 32.0, 36.0),
    OffsetRatio(1, True, 34.0, 38.0),
    OffsetRatio(2, True, 30.0, 34.0),
    OffsetRatio(3, True, 26.0, 30.0),
    OffsetRatio(4, True, 22.0, 27.0),
    OffsetRatio(5, True, 22.0, 27.0),
    OffsetRatio(6, True, 24.0, 30.0),
    OffsetRatio(7, True, 22.0, 27.0),
    OffsetRatio(8, True, 22.0, 27.0),
    OffsetRatio(9, True, 26.0, 30.0),
    OffsetRatio(10, True, 30.0, 34.0),
    OffsetRatio(11, True, 34.0, 38.0),
    OffsetRatio(12, True, 38.0, 42.0),
)
"""Not precision: each carrier within ±500 Hz; precision: within ±1 Hz."""


class ProtectionRatio(NamedTuple):
    """Ratio of a wanted to an unwanted signal [dB]; None for the wanted one's own required C/N."""

    wanted: SignalKind
    unwanted: SignalKind
    step: ChannelStep
    tropospheric_db: float | None
    continuous_db: float | None
    reference: str
    confidence: Confidence


_BT655: Final = "ITU-R BT.655-7"
_BT1368: Final = "ITU-R BT.1368-13 Annex 2"
_OET69: Final = "FCC OET Bulletin 69 (2004)"
_BESIDE_NOISE: Final = f"{_OET69}, where S/N is 28 dB or more; what noise takes below that is counted with it"
_74705: Final = "47 CFR 74.705(d), low power stations"
_74710: Final = "47 CFR 74.710(b), analogue relays on the channels next to a digital one"
_ISDBT: Final = "ITU-R BT.1368-13 Annex 3"
_AS_DVB: Final = "as DVB signals of ITU-R BT.1368-13 Annex 2, DVB by pictures as its mode 64-QAM 2/3"
_AS_ISDBT: Final = "as ISDB-T of Brazilian Norma Técnica 01/2010"
_NORMA: Final = "Brazilian Norma Técnica 01/2010, mode 64-QAM 3/4; little confidence"

_Steps = tuple[tuple[float | None, float | None], ...]
_DIGITAL: Final[_Steps] = ((None, None), (-30.0, -30.0), (-30.0, -30.0))
_TAKEN_OVER: Final[tuple[tuple[SignalKind, SignalKind, str, _Steps], ...]] = (
    ("DTMB", "DTMB", _AS_DVB, _DIGITAL),
    ("DTMB", "DVB", _AS_DVB, _DIGITAL),
    ("DVB", "DTMB", _AS_DVB, _DIGITAL),
    ("DTMB", "analogue 625", _AS_DVB, ((4.0, 4.0), (-35.0, -35.0), (-35.0, -35.0))),
    ("analogue 625", "DTMB", _AS_DVB, ((34.0, 40.0), (-9.0, -5.0), (-8.0, -5.0))),
    ("DVB", "analogue 525", _AS_ISDBT, ((7.0, 7.0), (-26.0, -26.0), (-26.0, -26.0))),
    ("analogue 525", "DVB", _AS_ISDBT, ((34.0, 34.0), (-11.0, -11.0), (-11.0, -11.0))),
)
"""Pairs for which no table is known, with the ratios of like signals: on the channel, under and over it."""

PROTECTION_RATIOS: Final = (
    ProtectionRatio("analogue 625", "analogue 625", "lower adjacent", -6.0, 4.0, _BT655, "from memory"),
    ProtectionRatio("analogue 625", "analogue 625", "upper adjacent", -12.0, -2.0, _BT655, "from memory"),
    ProtectionRatio("analogue 625", "DVB", "co-channel", 34.0, 40.0, _BT1368, "from memory"),
    ProtectionRatio("analogue 625", "DVB", "lower adjacent", -9.0, -5.0, _BT1368, "from memory"),
    ProtectionRatio("analogue 625", "DVB", "upper adjacent", -8.0, -5.0, _BT1368, "from memory"),
    ProtectionRatio("DVB", "DVB", "co-channel", None, None, _BT1368, "from memory"),
    ProtectionRatio("DVB", "DVB", "lower adjacent", -30.0, -30.0, _BT1368, "from memory"),
    ProtectionRatio("DVB", "DVB", "upper adjacent", -30.0, -30.0, _BT1368, "from memory"),
    ProtectionRatio("DVB", "analogue 625", "co-channel", 4.0, 4.0, _BT1368, "from memory"),
    ProtectionRatio("DVB", "analogue 625", "lower adjacent", -35.0, -35.0, _BT1368, "from memory"),
    ProtectionRatio("DVB", "analogue 625", "upper adjacent", -35.0, -35.0, _BT1368, "from memory"),
    ProtectionRatio("ATSC", "ATSC", "co-channel", 15.0, 15.0, _BESIDE_NOISE, "read"),
    ProtectionRatio("ATSC", "ATSC", "lower adjacent", -28.0, -28.0, _OET69, "from memory"),
    ProtectionRatio("ATSC", "ATSC", "upper adjacent", -26.0, -26.0, _OET69, "from memory"),
    ProtectionRatio("ATSC", "analogue 525", "co-channel", 21.0, 21.0, f"{_OET69}, at the edge", "read"),
    ProtectionRatio("ATSC", "analogue 525", "lower adjacent", -48.0, -48.0, _74710, "read"),
    ProtectionRatio("ATSC", "analogue 525", "upper adjacent", -49.0, -49.0, _74710, "read"),
    ProtectionRatio("analogue 525", "ATSC", "co-channel", 34.0, 34.0, _OET69, "from memory"),
    ProtectionRatio("analogue 525", "ATSC", "lower adjacent", -14.0, -14.0, _OET69, "read"),
    ProtectionRatio("analogue 525", "ATSC", "upper adjacent", -17.0, -17.0, _OET69, "read"),
    ProtectionRatio("analogue 525", "analogue 525", "lower adjacent", -15.0, -15.0, _74705, "from memory"),
    ProtectionRatio("analogue 525", "analogue 525", "upper adjacent", -15.0, -15.0, _74705, "from memory"),
    ProtectionRatio("ISDB-T", "ISDB-T", "co-channel", None, None, _ISDBT, "from memory"),
    ProtectionRatio("ISDB-T", "ISDB-T", "lower adjacent", -26.0, -26.0, _ISDBT, "from memory"),
    ProtectionRatio("ISDB-T", "ISDB-T", "upper adjacent", -29.0, -29.0, _ISDBT, "from memory"),
    ProtectionRatio("ISDB-T", "analogue 525", "co-channel", 7.0, 7.0, _NORMA, "from memory"),
    ProtectionRatio("ISDB-T", "analogue 525", "lower adjacent", -26.0, -26.0, _NORMA, "from memory"),
    ProtectionRatio("ISDB-T", "analogue 525", "upper adjacent", -26.0, -26.0, _NORMA, "from memory"),
    ProtectionRatio("analogue 525", "ISDB-T", "co-channel", 34.0, 34.0, _NORMA, "from memory"),
    ProtectionRatio("analogue 525", "ISDB-T", "lower adjacent", -11.0, -11.0, _NORMA, "from memory"),
    ProtectionRatio("analogue 525", "ISDB-T", "upper adjacent", -11.0, -11.0, _NORMA, "from memory"),
    *(
        ProtectionRatio(wanted, unwanted, step, *ratios, reference, "own choice")
        for wanted, unwanted, reference, rows in _TAKEN_OVER
        for step, ratios in zip(get_args(ChannelStep), rows, strict=True)
    ),
)
"""The continuous adjacent values of two analogue signals are the tropospheric ones and 10 dB.

The ratio of two ATSC signals on one channel goes by the S/N of the wanted one, from 15 dB to 23 dB at the
edge: see :func:`combe.standards.atsc.co_channel_ratio_db`, and ``sharing_noise_dbuv_m`` there for how 15 dB
and noise make the same of it.
"""


def offset_ratio(twelfths: int, *, precision: bool) -> OffsetRatio:
    """Return the row for two analogue carriers on one channel.

    Parameters
    ----------
    twelfths : int
        How far the carriers are apart, in twelfths of the line frequency, either way, −12 to 12.
    precision : bool
        Whether both carriers are held within ±1 Hz.

    Raises
    ------
    RangeError
        For another offset.
    """
    for row in ANALOGUE_OFFSET_RATIOS:
        if (row.twelfths, row.precision) == (abs(twelfths), precision):
            return row
    raise RangeError(
        "offset in twelfths of the line frequency", twelfths, f"whole, -{TWELFTHS} to {TWELFTHS}"
    )


def protection_ratio(wanted: SignalKind, unwanted: SignalKind, step: ChannelStep) -> ProtectionRatio:
    """Return the row of a pair of signals.

    Raises
    ------
    RangeError
        When the table has no such pair; for two analogue signals on one channel see :func:`offset_ratio`.
    """
    for row in PROTECTION_RATIOS:
        if (row.wanted, row.unwanted, row.step) == (wanted, unwanted, step):
            return row
    pairs = dict.fromkeys(f"{row.wanted} by {row.unwanted}" for row in PROTECTION_RATIOS)
    raise RangeError("protection ratio", f"{wanted} by {unwanted}, {step}", ", ".join(pairs))


def ratio_db(row: ProtectionRatio | OffsetRatio, time: TimeKind, required_cn_db: float) -> float:
    """Return the ratio of a row [dB]; where the row has none, the wanted signal's required C/N [dB]."""
    if time not in get_args(TimeKind):
        raise RangeError("kind of time", repr(time), " or ".join(get_args(TimeKind)))
    value = row.tropospheric_db if time == "tropospheric" else row.continuous_db
    return required_cn_db if value is None else value


OFFSET_KHZ: Final[dict[float, Cited]] = {
    0.0: Cited(45.0, "47 CFR 74.705(d), without carrier offset", "from memory"),
    10.0: Cited(28.0, "47 CFR 74.705(d), with 10 kHz carrier offset", "from memory"),
    20.0: Cited(28.0, "47 CFR 74.705(d), with 20 kHz carrier offset", "from memory"),
}
"""Co-channel ratio [dB] of two 525-line signals by the offset of their carriers [kHz], held within 1 kHz."""

CARRIER_KHZ: Final = (-10.0, 0.0, 10.0)
"""Where a 525-line vision carrier may lie about its nominal frequency [kHz]."""


@dataclass(frozen=True)
class CarrierOffset:
    """How far a vision carrier is off its nominal frequency, or two of them are apart.

    Parameters
    ----------
    twelfths : int
        625 lines: in twelfths of the line frequency.
    precision : bool
        625 lines: whether the carrier, or both, are held within ±1 Hz; ±500 Hz unless so.
    khz : float
        525 lines: in kHz.
    """

    twelfths: int = 0
    precision: bool = False
    khz: float = 0.0


NO_OFFSET: Final = CarrierOffset()


class CoChannelRatio(NamedTuple):
    """Ratio [dB] of two analogue signals on one channel."""

    tropospheric_db: float
    continuous_db: float
    reference: str
    confidence: Confidence


def between_carriers(one: CarrierOffset, other: CarrierOffset) -> CarrierOffset:
    """Return how far two carriers are apart; they are held with precision where both are.

    The published ratios end at one line frequency. Carriers further apart are taken as if by so many lines
    less (own choice: the ratios are periodic in the line frequency); 24 twelfths count as 12, not as 0, which
    is the stricter.

    Examples
    --------
    >>> between_carriers(CarrierOffset(-8), CarrierOffset(8)).twelfths
    4
    """
    twelfths = abs(one.twelfths - other.twelfths)
    while twelfths > TWELFTHS:
        twelfths -= TWELFTHS
    return CarrierOffset(twelfths, one.precision and other.precision, abs(one.khz - other.khz))


def co_channel_ratio(lines_525: bool, apart: CarrierOffset) -> CoChannelRatio:
    """Return the ratio of two analogue signals on one channel whose carriers are some offset apart.

    Raises
    ------
    RangeError
        For an offset that the tables do not have.
    """
    if lines_525:
        if abs(apart.khz) not in OFFSET_KHZ:
            raise RangeError("offset in kHz of two 525-line carriers", apart.khz, "0, 10 or 20, either way")
        cited = OFFSET_KHZ[abs(apart.khz)]
        return CoChannelRatio(cited.value, cited.value, cited.reference, cited.confidence)
    row = offset_ratio(apart.twelfths, precision=apart.precision)
    reference = tell("{reference}, {offset_words}", reference=row.reference, offset_words=offset_words(apart))
    return CoChannelRatio(row.tropospheric_db, row.continuous_db, reference, row.confidence)


def offset_words(apart: CarrierOffset) -> str:
    """Return the offset of two 625-line carriers for print.

    Examples
    --------
    >>> offset_words(CarrierOffset(8, precision=True))
    'offset of 8/12 line with precision'
    """
    held = " with precision" if apart.precision else ""
    if not apart.twelfths:
        return tell("without offset{held}", held=held)
    return tell("offset of {twelfths}/12 line{held}", twelfths=abs(apart.twelfths), held=held)


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


_IMAGE_BT655: Final = (
    "ITU-R BT.655-7, image channel: the strictest of -1 to -13 dB, by system; little confidence"
)
_IMAGE_BT1368: Final = "ITU-R BT.1368-13 Annex 2, image channel: the strictest by system; little confidence"
_IEC62216: Final = "IEC 62216 receivers, image channel; little confidence"
_IMAGE_ALIKE: Final = "image channel, as by a multiplex: more than a picture needs where the code mends it"
_FAR_OET69: Final = "FCC OET Bulletin 69, analogue receivers"

IMAGE_RATIOS: Final = (
    ImageRatio("analogue 625", "analogue 625", -1.0, 9.0, _IMAGE_BT655, "from memory"),
    ImageRatio("analogue 625", "DVB", -16.0, -11.0, _IMAGE_BT1368, "from memory"),
    ImageRatio("DVB", "DVB", -31.0, -31.0, _IEC62216, "from memory"),
    ImageRatio("DVB", "analogue 625", -31.0, -31.0, _IMAGE_ALIKE, "own choice"),
)

FAR_RATIOS: Final = (
    FarRatio("analogue 525", "analogue 525", 14, "image of sound", -23.0, _74705, "from memory"),
    FarRatio("analogue 525", "analogue 525", 15, "image of vision", -6.0, _74705, "from memory"),
    FarRatio("analogue 525", "ATSC", -8, "beat at the IF", -32.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -7, "oscillator", -35.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -4, "intermodulation", -34.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -3, "intermodulation", -30.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", -2, "intermodulation", -24.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 2, "intermodulation", -28.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 3, "intermodulation", -34.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 4, "intermodulation", -25.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 7, "oscillator", -43.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 8, "beat at the IF", -43.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 14, "image of sound", -33.0, _FAR_OET69, "from memory"),
    FarRatio("analogue 525", "ATSC", 15, "image of vision", -31.0, _FAR_OET69, "from memory"),
)
"""With 625 lines and with DVB the image channel follows from the receiver's intermediate frequency."""


def image_ratio(wanted: SignalKind, unwanted: SignalKind) -> ImageRatio | None:
    """Return the row of a pair of signals, or None where the table has none."""
    return _first(row for row in IMAGE_RATIOS if (row.wanted, row.unwanted) == (wanted, unwanted))


def far_ratio(wanted: SignalKind, unwanted: SignalKind, channel_step: int) -> FarRatio | None:
    """Return the row of a pair of signals and a step, or None where the table has none."""
    # Of multiplexes on the far channels only ATSC was measured; another of its width is taken for as strong.
    key = (wanted, "ATSC" if unwanted == "ISDB-T" else unwanted, channel_step)
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
