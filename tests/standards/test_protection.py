"""Checks of the protection ratios, row by row."""

from __future__ import annotations

from collections import Counter

import pytest

from combe.errors import RangeError
from combe.evidence.protection import OFFSETS, RATIOS
from combe.standards.protection import (
    ANALOGUE_OFFSET_RATIOS,
    PROTECTION_RATIOS,
    offset_ratio,
    protection_ratio,
    ratio_db,
)
from support_evidence import confidence_in_table

# The ratios themselves are cases of evidence (combe.evidence.protection), which tests/evidence runs.


@pytest.mark.parametrize("twelfths", range(13))
@pytest.mark.parametrize("precision", [False, True])
def test_offsets_either_way_are_alike_and_marked(twelfths: int, precision: bool) -> None:
    row = offset_ratio(twelfths, precision=precision)
    assert offset_ratio(-twelfths, precision=precision) == row
    assert row.confidence == "from memory"


def test_every_offset_row_is_tested() -> None:
    """A row more would be without a case of evidence."""
    assert len(ANALOGUE_OFFSET_RATIOS) == 26
    assert {len(ratios) for _, _, ratios in OFFSETS} == {13}
    assert len(OFFSETS) == 4


def test_usual_summary() -> None:
    """Usual summary, from memory: 45 without, 30 with two thirds of the line, 22 with precision offset."""
    assert offset_ratio(0, precision=False).tropospheric_db == 45.0
    assert offset_ratio(8, precision=False).tropospheric_db == 30.0
    assert offset_ratio(8, precision=True).tropospheric_db == 22.0


def test_every_row_is_tested_and_marked() -> None:
    known = {(row.wanted, row.unwanted, row.step): row.confidence for row in PROTECTION_RATIOS}
    assert known == {row[:3]: confidence_in_table(row[-1]) for row in RATIOS}
    assert Counter(known.values()) == {"read": 6, "from memory": 19}


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
