"""Protection ratios: figures of ITU-R BT.655-7 and BT.1368-13 and of FCC OET Bulletin 69."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase, Standing
from combe.standards.protection import (
    ChannelStep,
    SignalKind,
    TimeKind,
    offset_ratio,
    protection_ratio,
    ratio_db,
)

NAME: Final = "Protection ratios"

OFFSETS: Final[tuple[tuple[bool, TimeKind, tuple[float, ...]], ...]] = (
    # precision offset, kind of time, dB at 0 to 12 twelfths of the line frequency
    (False, "tropospheric", (45, 44, 40, 34, 30, 28, 27, 28, 30, 34, 40, 44, 45)),
    (False, "continuous", (52, 51, 48, 44, 40, 36, 33, 36, 40, 44, 48, 51, 52)),
    (True, "tropospheric", (32, 34, 30, 26, 22, 22, 24, 22, 22, 26, 30, 34, 38)),
    (True, "continuous", (36, 38, 34, 30, 27, 27, 30, 27, 27, 30, 34, 38, 42)),
)

RATIOS: Final[tuple[tuple[SignalKind, SignalKind, ChannelStep, float, float, str, Standing], ...]] = (
    # wanted, unwanted, step; tropospheric and continuous dB (required C/N 20 dB); source
    ("analogue 625", "analogue 625", "lower adjacent", -6, 4, "BT.655-7", "from memory"),
    ("analogue 625", "analogue 625", "upper adjacent", -12, -2, "BT.655-7", "from memory"),
    ("analogue 625", "DVB", "co-channel", 34, 40, "BT.1368-13 Annex 2", "from memory"),
    ("analogue 625", "DVB", "lower adjacent", -9, -5, "BT.1368-13 Annex 2", "from memory"),
    ("analogue 625", "DVB", "upper adjacent", -8, -5, "BT.1368-13 Annex 2", "from memory"),
    ("DVB", "DVB", "co-channel", 20, 20, "BT.1368-13 Annex 2", "from memory"),
    ("DVB", "DVB", "lower adjacent", -30, -30, "BT.1368-13 Annex 2", "from memory"),
    ("DVB", "DVB", "upper adjacent", -30, -30, "BT.1368-13 Annex 2", "from memory"),
    ("DVB", "analogue 625", "co-channel", 4, 4, "BT.1368-13 Annex 2", "from memory"),
    ("DVB", "analogue 625", "lower adjacent", -35, -35, "BT.1368-13 Annex 2", "from memory"),
    ("DVB", "analogue 625", "upper adjacent", -35, -35, "BT.1368-13 Annex 2", "from memory"),
    ("ATSC", "ATSC", "co-channel", 23, 23, "FCC OET Bulletin 69, at the edge of service", "read"),
    ("ATSC", "ATSC", "lower adjacent", -28, -28, "FCC OET Bulletin 69", "from memory"),
    ("ATSC", "ATSC", "upper adjacent", -26, -26, "FCC OET Bulletin 69", "from memory"),
)
TIMES: Final[tuple[TimeKind, TimeKind]] = ("tropospheric", "continuous")


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for precision, time, ratios in OFFSETS:
        offset = "precision" if precision else "non-precision"
        series = f"BT.655-7, {offset} offset, {time}"
        for twelfths, ratio in enumerate(ratios):
            compute = partial(_offset_db, twelfths, precision, time)
            case = f"{offset} offset of {twelfths}/12 line"
            yield EvidenceCase(
                NAME, "ITU-R BT.655-7 Table 1, 625 lines", case, f"co-channel ratio, {time}", float(ratio),
                "dB", 0.0, "from memory", compute, series,
            )  # fmt: skip
    for wanted, unwanted, step, tropospheric, continuous, source, standing in RATIOS:
        for time, ratio in zip(TIMES, (tropospheric, continuous), strict=True):
            compute = partial(_ratio_db, wanted, unwanted, step, time)
            case, quantity = f"{wanted} by {unwanted}, {step}", f"ratio, {time}"
            yield EvidenceCase(NAME, source, case, quantity, float(ratio), "dB", 0.0, standing, compute)


def _offset_db(twelfths: int, precision: bool, time: TimeKind) -> float:
    return ratio_db(offset_ratio(twelfths, precision=precision), time, 0.0)


def _ratio_db(wanted: SignalKind, unwanted: SignalKind, step: ChannelStep, time: TimeKind) -> float:
    return ratio_db(protection_ratio(wanted, unwanted, step), time, 20.0)
