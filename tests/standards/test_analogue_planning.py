"""Checks of the analogue planning fields and contours, row by row."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.standards.analogue_planning import FIELD_GRADES, PLANNING_FIELDS, band_field
from combe.standards.systems import planning_field, television_system


# ITU-R BT.417-5, from memory: 48, 55, 65 and 70 dB(µV/m) in Bands I, III, IV and V; 47 CFR 73.683, Grade B.
@pytest.mark.parametrize(
    ("lines", "frequency_mhz", "band", "median", "confidence"),
    [
        ("analogue 625", 55.25, "Band I", 48.0, "from memory"),
        ("analogue 625", 200.0, "Band III", 55.0, "from memory"),
        ("analogue 625", 471.25, "Band IV", 65.0, "from memory"),
        ("analogue 625", 581.9, "Band IV", 65.0, "from memory"),
        ("analogue 625", 582.0, "Band V", 70.0, "from memory"),
        ("analogue 625", 858.0, "Band V", 70.0, "from memory"),
        ("analogue 525", 57.0, "channels 2-6", 47.0, "read"),
        ("analogue 525", 177.0, "channels 7-13", 56.0, "read"),
        ("analogue 525", 473.0, "channels 14-69", 64.0, "read"),
    ],
)
def test_planning_fields(lines: str, frequency_mhz: float, band: str, median: float, confidence: str) -> None:
    row = band_field(lines, frequency_mhz)  # type: ignore[arg-type]
    assert (row.band, row.median_dbuv_m, row.confidence) == (band, median, confidence)


def test_every_row_is_tested() -> None:
    assert len(PLANNING_FIELDS) == 7


# 47 CFR 73.683 Grades A and B, 74.707(a)(1) protected contours; BT.417-5, 62 and 67, from memory.
def test_grades() -> None:
    grades = {(row.band, row.name): row.field_dbuv_m for row in FIELD_GRADES}
    relay = "relay's protected contour"
    assert [grades[band, "Grade A"] for band in BANDS] == [68.0, 71.0, 74.0]
    assert [grades[band, "Grade B"] for band in BANDS] == [47.0, 56.0, 64.0]
    assert [grades[band, relay] for band in BANDS] == [62.0, 68.0, 74.0]
    clean = "satisfactory without interference"
    assert [grades[band, clean] for band in ("Band IV", "Band V")] == [62.0, 67.0]
    assert len(grades) == 11
    assert {row.confidence for row in FIELD_GRADES if row.lines == "analogue 525"} == {"read"}


BANDS = ("channels 2-6", "channels 7-13", "channels 14-69")


def test_the_published_field_stands_for_half_the_places() -> None:
    """ITU-R BT.417-5 is a median: other shares of places take μσ, with σ 9.5 at UHF and 8.3 dB at VHF."""
    system = television_system("PAL I")
    field = planning_field(system, 650.0)
    assert (field.location_percent, field.median_field_dbuv_m) == (50.0, pytest.approx(70.0))
    wide = planning_field(system, 650.0, 95.0)
    assert wide.median_field_dbuv_m == pytest.approx(70.0 + 1.64 * 9.5)
    assert wide.minimum_field_dbuv_m == 70.0
    assert planning_field(system, 200.0).location_deviation_db == 8.3
    assert field.location_deviation_db == system.sigma_db == 9.5


def test_the_525_line_field_is_grade_b() -> None:
    """47 CFR 73.683: 64 dB(µV/m), F(50,50), in the UHF channels."""
    field = planning_field(television_system("NTSC M"), 605.0)
    assert (field.median_field_dbuv_m, field.time_percent) == (pytest.approx(64.0), 50.0)


def test_refused() -> None:
    with pytest.raises(RangeError, match=r"frequency_mhz of analogue 625 lines is 300.0; allowed: 41 to 68"):
        band_field("analogue 625", 300.0)
    with pytest.raises(RangeError, match=r"frequency_mhz of analogue 525 lines is 806.0; allowed: 54 to 88"):
        planning_field(television_system("PAL M"), 806.0)
