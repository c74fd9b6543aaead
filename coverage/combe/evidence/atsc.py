"""ATSC planning: figures of FCC OET Bulletin 69 and of 47 CFR 74.792."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Once
from combe.standards import (
    DIGITAL_RELAY_CONTOURS,
    atsc_threshold,
    co_channel_ratio_db,
    digital_parts,
    planning_field,
    television_system,
)

NAME: Final = "ATSC planning"
_FACTORS: Final = "FCC OET Bulletin 69 and ISED BPR-10 Appendix 8, UHF planning factors"

FACTORS: Final = (
    # field of the threshold at 615 MHz; words, figure, unit
    ("dipole_factor_db", "dipole factor Kd", -130.8, "dB"),
    ("thermal_noise_dbm", "thermal noise Nt in 6 MHz", -106.2, "dBm"),
    ("aerial_gain_dbd", "aerial gain G", 10.0, "dBd"),
    ("downlead_loss_db", "downlead loss L", 4.0, "dB"),
    ("noise_figure_db", "noise figure Ns", 7.0, "dB"),
    ("required_cn_db", "required C/N", 15.0, "dB"),
    ("dipole_adjustment_db", "dipole adjustment Ka", 0.0, "dB"),
    ("computed_dbuv_m", "C/N − Kd − Ka − G + L + Nt + Ns", 40.6, "dB(µV/m)"),
    ("printed_dbuv_m", "threshold as printed, F(50,90)", 41.0, "dB(µV/m)"),
)

THRESHOLDS: Final = ((473.0, 38.72), (500.0, 39.20), (615.0, 41.00), (695.0, 42.06))
"""MHz, 41 − 20 log(615/f) dB(µV/m)."""

VHF_THRESHOLDS: Final = ((69.0, 27.6, 28.0), (194.0, 35.6, 36.0))
"""MHz; the factors worked, and the threshold as printed [dB(µV/m)]."""

CONTOURS: Final = (("channels 2-6", 43.0), ("channels 7-13", 48.0), ("channels 14-69", 51.0))
"""Protected contour of digital relays [dB(µV/m)]."""

CO_CHANNEL: Final = ((28.0, 15.0, 0.0), (16.0, 23.0, 0.5))
"""S/N of the wanted signal [dB], ratio of two ATSC signals [dB], tolerance (the edge is rounded)."""


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    found = Once(partial(atsc_threshold, 615.0))
    for field, quantity, figure, unit in FACTORS:
        compute = partial(found.field, field)
        yield EvidenceCase(NAME, _FACTORS, "615 MHz", quantity, figure, unit, 1e-9, "read", compute)
    for mhz, threshold in THRESHOLDS:
        compute = partial(_threshold, mhz)
        source = "41 − 20 log(615/f) of FCC OET Bulletin 69, worked"
        yield EvidenceCase(
            NAME, source, f"{mhz:g} MHz", "threshold", threshold, "dB(µV/m)", 0.005, "computed", compute
        )
    for mhz, computed, printed in VHF_THRESHOLDS:
        source, case = "FCC OET Bulletin 69, VHF planning factors", f"{mhz:g} MHz"
        for field, quantity, figure in (
            ("computed_dbuv_m", "C/N − Kd − G + L + Nt + Ns", computed),
            ("threshold_dbuv_m", "threshold as printed, F(50,90)", printed),
        ):
            compute = partial(Once(partial(atsc_threshold, mhz)).field, field)
            yield EvidenceCase(NAME, source, case, quantity, figure, "dB(µV/m)", 1e-9, "from memory", compute)
    for band, contour in CONTOURS:
        compute = partial(_contour, band)
        source, quantity = "47 CFR 74.792, F(50,90)", "protected contour of a digital relay"
        yield EvidenceCase(NAME, source, band, quantity, contour, "dB(µV/m)", 0.0, "read", compute)
    for level, ratio, tolerance in CO_CHANNEL:
        compute = partial(co_channel_ratio_db, level)
        source, case = "FCC OET Bulletin 69 (2004)", f"ATSC by ATSC, S/N {level:g} dB"
        yield EvidenceCase(NAME, source, case, "co-channel ratio", ratio, "dB", tolerance, "read", compute)
    for quantity, figure, unit, pilot in (
        ("pilot under the data", 11.3, "dB", _pilot_under_data_db),
        ("pilot over the edge of the channel", 0.309, "MHz", _pilot_over_edge_mhz),
    ):
        source = "ATSC A/53 Part 2"
        yield EvidenceCase(NAME, source, "6 MHz", quantity, figure, unit, 0.005, TYPED_TWICE, pilot)


def _pilot_under_data_db() -> float:
    data, pilot = digital_parts("ATSC", 6.0, 6.0)
    return data.level_db - pilot.level_db


def _pilot_over_edge_mhz() -> float:
    return digital_parts("ATSC", 6.0, 6.0)[1].offset_mhz + 3.0


def _threshold(mhz: float) -> float:
    return planning_field(television_system("ATSC"), mhz).median_field_dbuv_m


def _contour(band: str) -> float:
    return next(row.field_dbuv_m for row in DIGITAL_RELAY_CONTOURS if row.band == band)
