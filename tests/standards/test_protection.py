"""Checks of the protection ratios, row by row."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.standards.protection import (
    ANALOGUE_OFFSET_RATIOS,
    PROTECTION_RATIOS,
    offset_ratio,
    protection_ratio,
    ratio_db,
)

# ITU-R BT.655-7, from memory; copied out a second time, line by line over the offsets 0 to 12 twelfths.
OFFSET_LINES = {
    (False, "tropospheric"): "45 44 40 34 30 28 27 28 30 34 40 44 45",
    (False, "continuous"): "52 51 48 44 40 36 33 36 40 44 48 51 52",
    (True, "tropospheric"): "32 34 30 26 22 22 24 22 22 26 30 34 38",
    (True, "continuous"): "36 38 34 30 27 27 30 27 27 30 34 38 42",
}


@pytest.mark.parametrize(("kind", "line"), OFFSET_LINES.items(), ids=str)
def test_offset_ratios(kind: tuple[bool, str], line: str) -> None:
    precision, time = kind
    for twelfths, value in enumerate(line.split()):
        row = offset_ratio(twelfths, precision=precision)
        assert ratio_db(row, time, 0.0) == float(value)  # type: ignore[arg-type]
        assert offset_ratio(-twelfths, precision=precision) == row
        assert row.confidence == "from memory"


def test_every_offset_row_is_tested() -> None:
    assert len(ANALOGUE_OFFSET_RATIOS) == 26


def test_usual_summary() -> None:
    """Usual summary, from memory: 45 without, 30 with two thirds of the line, 22 with precision offset."""
    assert offset_ratio(0, precision=False).tropospheric_db == 45.0
    assert offset_ratio(8, precision=False).tropospheric_db == 30.0
    assert offset_ratio(8, precision=True).tropospheric_db == 22.0


# ITU-R BT.655-7 and BT.1368-13 from memory; ATSC co-channel at the edge (23 by its own kind, 21 by analogue),
# and -14/-17 of analogue beside ATSC, read in OET Bulletin 69 (2004); -48/-49 of ATSC beside analogue relays
# read in 47 CFR 74.710(b)(3); the rest of ATSC and all of ISDB-T from memory.
ROWS = [
    ("analogue 625", "analogue 625", "lower adjacent", -6, 4),
    ("analogue 625", "analogue 625", "upper adjacent", -12, -2),
    ("analogue 625", "DVB", "co-channel", 34, 40),
    ("analogue 625", "DVB", "lower adjacent", -9, -5),
    ("analogue 625", "DVB", "upper adjacent", -8, -5),
    ("DVB", "DVB", "co-channel", 20, 20),
    ("DVB", "DVB", "lower adjacent", -30, -30),
    ("DVB", "DVB", "upper adjacent", -30, -30),
    ("DVB", "analogue 625", "co-channel", 4, 4),
    ("DVB", "analogue 625", "lower adjacent", -35, -35),
    ("DVB", "analogue 625", "upper adjacent", -35, -35),
    ("ATSC", "ATSC", "co-channel", 23, 23),
    ("ATSC", "ATSC", "lower adjacent", -28, -28),
    ("ATSC", "ATSC", "upper adjacent", -26, -26),
    ("ATSC", "analogue 525", "co-channel", 21, 21),
    ("ATSC", "analogue 525", "lower adjacent", -48, -48),
    ("ATSC", "analogue 525", "upper adjacent", -49, -49),
    ("analogue 525", "ATSC", "co-channel", 34, 34),
    ("analogue 525", "ATSC", "lower adjacent", -14, -14),
    ("analogue 525", "ATSC", "upper adjacent", -17, -17),
    ("analogue 525", "analogue 525", "lower adjacent", -15, -15),
    ("analogue 525", "analogue 525", "upper adjacent", -15, -15),
    ("ISDB-T", "ISDB-T", "co-channel", 20, 20),
    ("ISDB-T", "ISDB-T", "lower adjacent", -26, -26),
    ("ISDB-T", "ISDB-T", "upper adjacent", -29, -29),
]


@pytest.mark.parametrize(("wanted", "unwanted", "step", "tropospheric_db", "continuous_db"), ROWS)
def test_ratio(wanted: str, unwanted: str, step: str, tropospheric_db: float, continuous_db: float) -> None:
    row = protection_ratio(wanted, unwanted, step)  # type: ignore[arg-type]
    assert ratio_db(row, "tropospheric", 20.0) == tropospheric_db
    assert ratio_db(row, "continuous", 20.0) == continuous_db


def test_every_row_is_tested_and_marked() -> None:
    assert [(row.wanted, row.unwanted, row.step) for row in PROTECTION_RATIOS] == [row[:3] for row in ROWS]
    read = [row for row in PROTECTION_RATIOS if row.confidence == "read"]
    assert [(row.wanted, row.unwanted, row.step) for row in read] == [
        ("ATSC", "ATSC", "co-channel"),
        ("ATSC", "analogue 525", "co-channel"),
        ("ATSC", "analogue 525", "lower adjacent"),
        ("ATSC", "analogue 525", "upper adjacent"),
        ("analogue 525", "ATSC", "lower adjacent"),
        ("analogue 525", "ATSC", "upper adjacent"),
    ]


def test_continuous_interference_is_never_less_strict() -> None:
    for row in (*ANALOGUE_OFFSET_RATIOS, *PROTECTION_RATIOS):
        assert ratio_db(row, "continuous", 20.0) >= ratio_db(row, "tropospheric", 20.0)


def test_refused() -> None:
    with pytest.raises(
        RangeError, match="offset in twelfths of the line frequency is 13; allowed: whole, -12 to 12"
    ):
        offset_ratio(13, precision=False)
    with pytest.raises(RangeError, match="protection ratio is DVB by ATSC, co-channel; allowed: analogue"):
        protection_ratio("DVB", "ATSC", "co-channel")
    with pytest.raises(RangeError, match="kind of time is 'often'; allowed: tropospheric or continuous"):
        ratio_db(PROTECTION_RATIOS[0], "often", 20.0)  # type: ignore[arg-type]
