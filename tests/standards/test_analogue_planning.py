"""Checks of the analogue planning fields and contours, row by row."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.evidence.analogue_planning import GRADES, MEDIANS
from combe.evidence.case import Standing
from combe.standards.analogue_planning import FIELD_GRADES, PLANNING_FIELDS, Lines, band_field
from combe.standards.systems import planning_field, television_system
from support_evidence import confidence_in_table

# Medians and grades are cases of evidence (combe.evidence.analogue_planning), which tests/evidence runs.


@pytest.mark.parametrize(("lines", "frequency_mhz", "band", "median", "source", "standing"), MEDIANS)
def test_planning_fields_say_their_band_and_how_they_are_known(
    lines: Lines, frequency_mhz: float, band: str, median: float, source: str, standing: Standing
) -> None:
    row = band_field(lines, frequency_mhz)
    assert (row.band, row.median_dbuv_m, row.confidence) == (band, median, confidence_in_table(standing))
    assert source.partition(",")[0] in row.reference


def test_every_row_is_in_evidence() -> None:
    assert {(row.lines, row.band) for row in PLANNING_FIELDS} == {(row[0], row[2]) for row in MEDIANS}
    known = {(row.band, row.name, row.confidence) for row in FIELD_GRADES}
    assert known == {(band, name, confidence_in_table(standing)) for band, name, _, _, standing in GRADES}
    assert len(FIELD_GRADES) == len(GRADES)


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


@pytest.mark.parametrize(
    ("frequency_mhz", "band"),
    [(41.0, "Band I"), (67.9, "Band I"), (162.0, "Band III"), (229.9, "Band III"), (470.0, "Band IV"),
     (581.9, "Band IV"), (582.1, "Band V"), (959.9, "Band V")],
)  # fmt: skip
def test_bands_end_where_they_end(frequency_mhz: float, band: str) -> None:
    """Edges of BT.417-5 as its bands are used for planning, from memory."""
    assert band_field("analogue 625", frequency_mhz).band == band


@pytest.mark.parametrize("frequency_mhz", [40.9, 68.1, 161.9, 230.1, 469.9, 960.1])
def test_between_the_bands_there_is_no_planning_field(frequency_mhz: float) -> None:
    with pytest.raises(RangeError):
        band_field("analogue 625", frequency_mhz)


@pytest.mark.parametrize(
    ("edges_mhz", "band"),
    [((54.0, 87.9), "channels 2-6"), ((174.0, 215.9), "channels 7-13"), ((470.0, 805.9), "channels 14-69")],
)
def test_bands_of_525_lines_end_where_they_end(edges_mhz: tuple[float, float], band: str) -> None:
    """Edges of channels 2, 6, 7, 13, 14 and 69 of 47 CFR 73.603, from memory."""
    assert [band_field("analogue 525", each).band for each in edges_mhz] == [band, band]


@pytest.mark.parametrize("frequency_mhz", [53.9, 88.1, 173.9, 216.1, 469.9, 806.1])
def test_between_the_bands_of_525_lines_there_is_no_planning_field(frequency_mhz: float) -> None:
    with pytest.raises(RangeError):
        band_field("analogue 525", frequency_mhz)
