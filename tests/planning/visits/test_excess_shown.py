"""A verdict's own figures bear it out, and what is not judged says what is missing."""

from __future__ import annotations

import pytest

from combe.errors import TableError
from combe.planning.visits.judge import judge_series
from combe.planning.visits.log import read_log
from combe.planning.visits.sheet import SheetSite, sheet_rows
from combe.standards.visit_readings import FAMILIES
from support_visits import half_yearly, level


def words_of(judgement, against):
    return next(each.words for each in judgement.comparisons if each.against == against)


def test_a_value_over_its_limit_is_shown_to_be():
    place = {"test_point": "output coupler", "quantity": "frequency error", "unit": "Hz"}
    found = judge_series(half_yearly([500.2], **place))
    assert found.status == "out"
    assert words_of(found, "limit") == "500.2 Hz is over the limit of 500 Hz"


def test_a_fall_beyond_its_tolerance_is_shown_to_be():
    found = judge_series((level(0, -50.0), level(200, -53.04)))
    assert found.status == "out"
    assert words_of(found, "commissioning").startswith("-3.04 dB from the record, allowed ±3 dB")


def test_a_drift_that_cannot_be_told_yet_says_what_is_missing():
    found = judge_series(half_yearly([-50.0, -50.1, -50.0]))
    assert words_of(found, "drift") == "a drift is not judged yet: 3 of the 6 readings that it takes"
    assert found.status == "within tolerance"


@pytest.mark.parametrize(
    ("family", "has"),
    [
        ("DVB-T", "BER after inner decoding"),
        ("DVB-T2", "BER after LDPC"),
        ("ATSC", "segment error ratio"),
        ("ISDB-T", "BER after inner decoding"),
        ("analogue", "video S/N"),
    ],
)
def test_a_sheet_asks_for_the_errors_that_its_system_has(family, has):
    errors = {"BER after inner decoding", "BER after LDPC", "segment error ratio", "video S/N"}
    asked = {row.row.quantity for row in sheet_rows(SheetSite("A", ("One",), family=family), {})}
    assert asked & errors == {has}
    assert family in FAMILIES


def test_an_empty_file_is_asked_about_and_not_taken_for_a_new_log(tmp_path):
    log = tmp_path / "visits.gpkg"
    log.touch()
    with pytest.raises(TableError, match="it is an empty file: its readings are lost"):
        read_log(log)
    assert log.stat().st_size == 0
