"""A verdict's own figures bear it out, and what is not judged says what is missing."""

from __future__ import annotations

import pytest

from combe.errors import TableError
from combe.planning.visits import difference_words, drift_words
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


# Tolerances of a level: 10 dB from the prediction, 3 dB from the record, 2 dB from the last visit.
@pytest.mark.parametrize(
    ("values", "expected", "against", "words"),
    [
        ([-50.0], -39.98, "prediction", "-10.02 dB"),
        ([-50.0, -53.04], None, "commissioning", "-3.04 dB"),
        ([-50.0, -49.0, -51.02], None, "last visit", "-2.02 dB"),
        ([-50.0, -52.6], None, "commissioning", "-2.6 dB"),
    ],
)
def test_a_difference_in_a_table_shows_its_excess(values, expected, against, words):
    found = judge_series(half_yearly(values), expected)
    comparison = next(each for each in found.comparisons if each.against == against)
    assert difference_words(found.row, comparison) == words
    assert comparison.words.startswith(words)


def test_a_slow_drift_that_is_real_is_not_told_as_none_at_all():
    found = judge_series(half_yearly([-50.0 - 0.02 * step for step in range(12)]))
    assert drift_words(found) == "-0.04 dB a year"


@pytest.mark.parametrize(
    ("count", "words"), [(1, "not judged: 1 of 6 readings"), (5, "not judged: 5 of 6 readings"), (6, "none")]
)
def test_what_is_missing_to_tell_a_drift_stands_in_tables_too(count, words):
    assert drift_words(judge_series(half_yearly([-50.0, -50.1] * 3)[:count])) == words


def test_steps_that_leave_too_few_readings_side_by_side_are_named():
    found = judge_series(half_yearly([-50.0, -50.0, -90.0, -90.0, -50.0, -50.0]))
    assert drift_words(found) == "not judged: steps too near"
    assert "its steps leave too few of the 6 readings side by side" in words_of(found, "drift")


def test_a_reading_that_has_no_tolerance_has_no_drift_to_tell():
    voltage = {"test_point": "receiver", "quantity": "AGC voltage", "unit": "V"}
    assert drift_words(judge_series(half_yearly([3.0, 3.1], **voltage))) == "–"
