"""Protection ratios: ITU-R BT.655-7 and BT.1368-13, FCC OET Bulletin 69, 47 CFR 74.705 and 74.710."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Standing
from combe.reception import Channel, protection
from combe.standards import (
    CarrierOffset,
    ChannelStep,
    SignalKind,
    TimeKind,
    co_channel_ratio,
    dvb_by_analogue,
    far_ratio,
    image_ratio,
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
    ("analogue 625", "analogue 625", "lower adjacent", -6, 4, "BT.655-7", TYPED_TWICE),
    ("analogue 625", "analogue 625", "upper adjacent", -12, -2, "BT.655-7", TYPED_TWICE),
    ("analogue 625", "DVB", "co-channel", 34, 40, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("analogue 625", "DVB", "lower adjacent", -9, -5, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("analogue 625", "DVB", "upper adjacent", -8, -5, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("DVB", "DVB", "co-channel", 20, 20, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("DVB", "DVB", "lower adjacent", -30, -30, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("DVB", "DVB", "upper adjacent", -30, -30, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("DVB", "analogue 625", "co-channel", 4, 4, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("DVB", "analogue 625", "lower adjacent", -35, -35, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("DVB", "analogue 625", "upper adjacent", -35, -35, "BT.1368-13 Annex 2", TYPED_TWICE),
    ("ATSC", "ATSC", "co-channel", 15, 15, "FCC OET Bulletin 69, S/N of 28 dB or more", "read"),
    ("ATSC", "ATSC", "lower adjacent", -28, -28, "FCC OET Bulletin 69", TYPED_TWICE),
    ("ATSC", "ATSC", "upper adjacent", -26, -26, "FCC OET Bulletin 69", TYPED_TWICE),
    ("ATSC", "analogue 525", "co-channel", 21, 21, "FCC OET Bulletin 69, at the edge of service", "read"),
    ("ATSC", "analogue 525", "lower adjacent", -48, -48, "47 CFR 74.710(b)", "read"),
    ("ATSC", "analogue 525", "upper adjacent", -49, -49, "47 CFR 74.710(b)", "read"),
    ("analogue 525", "ATSC", "co-channel", 34, 34, "FCC OET Bulletin 69", TYPED_TWICE),
    ("analogue 525", "ATSC", "lower adjacent", -14, -14, "FCC OET Bulletin 69", "read"),
    ("analogue 525", "ATSC", "upper adjacent", -17, -17, "FCC OET Bulletin 69", "read"),
    (
        "analogue 525",
        "analogue 525",
        "lower adjacent",
        -15,
        -15,
        "47 CFR 74.705(d)",
        TYPED_TWICE,
    ),
    (
        "analogue 525",
        "analogue 525",
        "upper adjacent",
        -15,
        -15,
        "47 CFR 74.705(d)",
        TYPED_TWICE,
    ),
    ("ISDB-T", "ISDB-T", "co-channel", 20, 20, "BT.1368-13 Annex 3", TYPED_TWICE),
    ("ISDB-T", "ISDB-T", "lower adjacent", -26, -26, "BT.1368-13 Annex 3", TYPED_TWICE),
    ("ISDB-T", "ISDB-T", "upper adjacent", -29, -29, "BT.1368-13 Annex 3", TYPED_TWICE),
    ("ISDB-T", "analogue 525", "co-channel", 7, 7, "Norma 01/2010", TYPED_TWICE),
    ("ISDB-T", "analogue 525", "lower adjacent", -26, -26, "Norma 01/2010", TYPED_TWICE),
    ("ISDB-T", "analogue 525", "upper adjacent", -26, -26, "Norma 01/2010", TYPED_TWICE),
    ("analogue 525", "ISDB-T", "co-channel", 34, 34, "Norma 01/2010", TYPED_TWICE),
    ("analogue 525", "ISDB-T", "lower adjacent", -11, -11, "Norma 01/2010", TYPED_TWICE),
    ("analogue 525", "ISDB-T", "upper adjacent", -11, -11, "Norma 01/2010", TYPED_TWICE),
)

BY_ANALOGUE: Final = {
    # DVB-T by PAL or SECAM on its channel: dB with code rates 1/2, 2/3, 3/4, 5/6, 7/8
    "QPSK": (-12, -8, -5, 2, 6),
    "16-QAM": (-8, -3, 0, 9, 16),
    "64-QAM": (-3, 4, 9, 15, 20),
}
CODE_RATES: Final = ("1/2", "2/3", "3/4", "5/6", "7/8")

OFFSETS_KHZ: Final = ((0.0, 45.0), (10.0, 28.0), (20.0, 28.0))
"""Of two 525-line carriers [kHz], co-channel ratio [dB]."""

IMAGES: Final[tuple[tuple[SignalKind, SignalKind, float, float, str], ...]] = (
    # wanted, unwanted; tropospheric and continuous dB; source
    ("analogue 625", "analogue 625", -1, 9, "BT.655-7, the strictest by system"),
    ("analogue 625", "DVB", -16, -11, "BT.1368-13 Annex 2, the strictest by system"),
    ("DVB", "DVB", -31, -31, "IEC 62216 receivers"),
)

FAR: Final[dict[SignalKind, tuple[str, dict[int, float]]]] = {
    # of 525 lines by the unwanted signal: source, dB by channels above the wanted one
    "ATSC": (
        "FCC OET Bulletin 69, analogue receivers",
        {
            -8: -32, -7: -35, -4: -34, -3: -30, -2: -24, 2: -28, 3: -34, 4: -25, 7: -43, 8: -43, 14: -33,
            15: -31,
        },
    ),
    "analogue 525": ("47 CFR 74.705(d)", {14: -23, 15: -6}),
}  # fmt: skip
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
                "dB", 0.0, TYPED_TWICE, compute, series,
            )  # fmt: skip
    for wanted, unwanted, step, tropospheric, continuous, source, standing in RATIOS:
        for time, ratio in zip(TIMES, (tropospheric, continuous), strict=True):
            compute = partial(_ratio_db, wanted, unwanted, step, time)
            case, quantity = f"{wanted} by {unwanted}, {step}", f"ratio, {time}"
            yield EvidenceCase(NAME, source, case, quantity, float(ratio), "dB", 0.0, standing, compute)
    yield from _far_cases()
    yield from _pair_cases()


def _pair_cases() -> Iterator[EvidenceCase]:
    """Yield what goes by the mode or by how two channels of different rasters overlap."""
    for modulation, ratios in BY_ANALOGUE.items():
        for rate, ratio in zip(CODE_RATES, ratios, strict=True):
            yield EvidenceCase(
                NAME, "BT.1368-13 Annex 2", f"DVB-T {modulation} {rate} by analogue 625, co-channel", "ratio",
                float(ratio), "dB", 0.0, TYPED_TWICE, partial(_by_analogue_db, modulation, rate),
                "DVB-T by analogue 625, by mode",
            )  # fmt: skip
    yield EvidenceCase(
        NAME, "GE06 Annex 2, worked out by hand", "8 MHz over 1 of 7.61 MHz, at 21 dB", "ratio", 12.19, "dB",
        0.005, "computed", _overlap_db,
    )  # fmt: skip


def _far_cases() -> Iterator[EvidenceCase]:
    """Yield the ratios of 525-line offsets, and those of channels farther away."""
    for khz, ratio in OFFSETS_KHZ:
        compute = partial(_khz_db, khz)
        source, case = "47 CFR 74.705(d)", f"two 525-line carriers {khz:g} kHz apart"
        yield EvidenceCase(NAME, source, case, "co-channel ratio", ratio, "dB", 0.0, TYPED_TWICE, compute)
    for wanted, unwanted, tropospheric, continuous, source in IMAGES:
        for time, ratio in zip(TIMES, (tropospheric, continuous), strict=True):
            compute, case = partial(_image_db, wanted, unwanted, time), f"{wanted} by {unwanted}, image"
            yield EvidenceCase(
                NAME,
                source,
                case,
                f"ratio, {time}",
                float(ratio),
                "dB",
                0.0,
                TYPED_TWICE,
                compute,
            )
    for unwanted, (source, ratios) in FAR.items():
        for step, ratio in ratios.items():
            compute, case = partial(_far_db, unwanted, step), f"analogue 525 by {unwanted}, n{step:+d}"
            yield EvidenceCase(
                NAME, source, case, "ratio", float(ratio), "dB", 0.0, TYPED_TWICE, compute,
                f"analogue 525 by {unwanted}, far channels",
            )  # fmt: skip


def _by_analogue_db(modulation: str, code_rate: str) -> float:
    found = dvb_by_analogue(False, modulation, code_rate)
    return math.nan if found is None else found.co_channel_db


def _overlap_db() -> float:
    wanted = Channel("DVB", 546.0, 8.0, occupied_mhz=7.61)
    found = protection(wanted, replace(wanted, centre_mhz=546.0 + 6.61), 21.0)
    return math.nan if found is None else found.tropospheric_db


def _offset_db(twelfths: int, precision: bool, time: TimeKind) -> float:
    return ratio_db(offset_ratio(twelfths, precision=precision), time, 0.0)


def _ratio_db(wanted: SignalKind, unwanted: SignalKind, step: ChannelStep, time: TimeKind) -> float:
    return ratio_db(protection_ratio(wanted, unwanted, step), time, 20.0)


def _khz_db(khz: float) -> float:
    return co_channel_ratio(True, CarrierOffset(khz=khz)).tropospheric_db


def _image_db(wanted: SignalKind, unwanted: SignalKind, time: TimeKind) -> float:
    row = image_ratio(wanted, unwanted)
    if row is None:
        return math.nan
    return row.tropospheric_db if time == "tropospheric" else row.continuous_db


def _far_db(unwanted: SignalKind, step: int) -> float:
    row = far_ratio("analogue 525", unwanted, step)
    return math.nan if row is None else row.ratio_db
