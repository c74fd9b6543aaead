"""Analogue planning fields: figures of ITU-R BT.417-5, and of 47 CFR 73.683 and 74.707."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Standing
from combe.standards import FIELD_GRADES, Lines, band_field

NAME: Final = "Analogue planning fields"

MEDIANS: Final[tuple[tuple[Lines, float, str, float, str, Standing], ...]] = (
    # lines, MHz; band, median to be protected dB(µV/m), source
    ("analogue 625", 55.25, "Band I", 48.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("analogue 625", 200.0, "Band III", 55.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("analogue 625", 471.25, "Band IV", 65.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("analogue 625", 581.9, "Band IV", 65.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("analogue 625", 582.0, "Band V", 70.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("analogue 625", 858.0, "Band V", 70.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("analogue 525", 57.0, "channels 2-6", 47.0, "47 CFR 73.683, Grade B", "read"),
    ("analogue 525", 177.0, "channels 7-13", 56.0, "47 CFR 73.683, Grade B", "read"),
    ("analogue 525", 473.0, "channels 14-69", 64.0, "47 CFR 73.683, Grade B", "read"),
)

GRADES: Final[tuple[tuple[str, str, float, str, Standing], ...]] = (
    # band, name of the field, dB(µV/m), source
    ("Band IV", "satisfactory without interference", 62.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("Band V", "satisfactory without interference", 67.0, "ITU-R BT.417-5", TYPED_TWICE),
    ("channels 2-6", "Grade A", 68.0, "47 CFR 73.683", "read"),
    ("channels 7-13", "Grade A", 71.0, "47 CFR 73.683", "read"),
    ("channels 14-69", "Grade A", 74.0, "47 CFR 73.683", "read"),
    ("channels 2-6", "Grade B", 47.0, "47 CFR 73.683", "read"),
    ("channels 7-13", "Grade B", 56.0, "47 CFR 73.683", "read"),
    ("channels 14-69", "Grade B", 64.0, "47 CFR 73.683", "read"),
    ("channels 2-6", "relay's protected contour", 62.0, "47 CFR 74.707(a)(1)", "read"),
    ("channels 7-13", "relay's protected contour", 68.0, "47 CFR 74.707(a)(1)", "read"),
    ("channels 14-69", "relay's protected contour", 74.0, "47 CFR 74.707(a)(1)", "read"),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for lines, mhz, band, field, source, standing in MEDIANS:
        compute = partial(_median_dbuv_m, lines, mhz)
        case = f"{lines} lines, {band}, {mhz:g} MHz"
        yield EvidenceCase(NAME, source, case, "median field", field, "dB(µV/m)", 0.0, standing, compute)
    for band, name, field, source, standing in GRADES:
        compute = partial(_grade_dbuv_m, band, name)
        yield EvidenceCase(NAME, source, band, name, field, "dB(µV/m)", 0.0, standing, compute)


def _median_dbuv_m(lines: Lines, mhz: float) -> float:
    return band_field(lines, mhz).median_dbuv_m


def _grade_dbuv_m(band: str, name: str) -> float:
    return next(row.field_dbuv_m for row in FIELD_GRADES if (row.band, row.name) == (band, name))
