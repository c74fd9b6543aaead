"""Offsets of analogue vision carriers on one channel, and the protection ratio that two of them ask."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.errors import RangeError
from combe.standards.cited import Cited, Confidence
from combe.standards.protection import TWELFTHS, offset_ratio

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
    reference = f"{row.reference}, {offset_words(apart)}"
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
        return f"without offset{held}"
    return f"offset of {abs(apart.twelfths)}/12 line{held}"
