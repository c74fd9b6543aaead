"""ISDB-T planning: figures of ARIB STD-B31, of the chain of minimum field, and of protected contours."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase
from combe.standards import (
    NOISE_BANDWIDTH_MHZ,
    PROTECTED_CONTOURS,
    centre_frequency_mhz,
    planning_field,
    television_system,
)

NAME: Final = "ISDB-T planning"

RATES: Final = ("1/2", "2/3", "3/4", "5/6", "7/8")
REQUIRED_CN: Final = {
    # modulation: C/N dB at RATES, Gaussian channel
    "QPSK": (4.9, 6.6, 7.5, 8.5, 9.1),
    "16-QAM": (11.5, 13.5, 14.6, 15.6, 16.2),
    "64-QAM": (16.5, 18.7, 20.1, 21.3, 22.0),
}

CENTRES: Final = (
    ("6 MHz UHF ISDB-T", 14, 473.142857),
    ("6 MHz UHF ISDB-T", 69, 803.142857),
    ("6 MHz UHF ISDB-T Japan", 13, 473.142857),
)
"""Raster, channel, centre of the signal [MHz]."""

CHAIN: Final = ((50.0, 44.95), (95.0, 53.97))
"""Share of places [%], median field at 650 MHz [dB(µV/m)]: C/N 20.1, F 7, 5.571 MHz, 11 dBd, 4 dB."""

CONTOURS: Final = (("Brazil", 51.0), ("Japan", 60.0))


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for modulation, ratios in REQUIRED_CN.items():
        for rate, ratio in zip(RATES, ratios, strict=True):
            compute = partial(_cn_db, modulation, rate)
            case, quantity, series = f"{modulation} {rate}", "required C/N, gaussian", "ARIB STD-B31, C/N"
            yield EvidenceCase(
                NAME,
                "ARIB STD-B31",
                case,
                quantity,
                ratio,
                "dB",
                0.0,
                TYPED_TWICE,
                compute,
                series,
            )
    for raster, channel, centre in CENTRES:
        compute = partial(centre_frequency_mhz, raster, channel)
        source, case = "389 + 6n, Japan 395 + 6n MHz; 1/7 MHz over it as read", f"{raster}, channel {channel}"
        yield EvidenceCase(
            NAME, source, case, "centre of the signal", centre, "MHz", 1e-6, "from memory", compute
        )
    source = "bandwidth printed by makers of the system"
    yield EvidenceCase(
        NAME, source, "13 segments of 6/14 MHz", "noise bandwidth", 5.57, "MHz", 0.005, "read", _bandwidth_mhz
    )
    for percent, field in CHAIN:
        compute = partial(_field_dbuv_m, percent)
        source = "chain of BT.2033-2 Attachment 1, worked by hand; C/N and F from memory"
        case, quantity = "64-QAM 3/4, 650 MHz", f"Emed, {percent:g} % of places"
        yield EvidenceCase(NAME, source, case, quantity, field, "dB(µV/m)", 0.02, "computed", compute)
    for administration, field in CONTOURS:
        compute = partial(_contour, administration)
        source, quantity = "technical rules of the administration", "protected contour"
        yield EvidenceCase(
            NAME, source, administration, quantity, field, "dB(µV/m)", 0.0, TYPED_TWICE, compute
        )


def _cn_db(modulation: str, rate: str) -> float:
    return television_system("ISDB-T", modulation, rate).required_cn_db or 0.0


def _bandwidth_mhz() -> float:
    return NOISE_BANDWIDTH_MHZ.value


def _field_dbuv_m(percent: float) -> float:
    return planning_field(television_system("ISDB-T"), 650.0, percent).median_field_dbuv_m


def _contour(administration: str) -> float:
    return next(row.field_dbuv_m for row in PROTECTED_CONTOURS if row.administration == administration)
