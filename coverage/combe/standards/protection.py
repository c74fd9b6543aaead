"""Protection ratios: by how much a wanted signal must exceed an unwanted one at the receiver's input."""

from __future__ import annotations

from typing import Final, Literal, NamedTuple, get_args

from combe.errors import RangeError
from combe.standards.cited import Confidence

SignalKind = Literal["analogue 625", "analogue 525", "DVB", "ATSC", "ISDB-T"]
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
