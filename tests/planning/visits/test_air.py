"""What the air alone does to a reading: tolerances no narrower than that, the table's own as floors."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.planning.visits import difference_words
from combe.planning.visits.air import AirSpread, with_air
from combe.planning.visits.judge import Comparison, judge_log, judge_series
from combe.planning.visits.readings import SeriesKey
from combe.planning.visits.sheet import SheetSite, sheet_rows, tolerated
from combe.standards import ROUTINE_READINGS
from support_visits import half_yearly

LEVEL = ROUTINE_READINGS[0]
WIDE = AirSpread(fall_db=12.0, rise_db=4.0)
"""A long path."""

NARROW = AirSpread(fall_db=1.0, rise_db=0.5)


def found(judged, against: str) -> Comparison:
    return next(each for each in judged.comparisons if each.against == against)


def test_two_readings_may_differ_by_fall_and_rise() -> None:
    """±3 dB by the table; 12 dB of fall and 4 of rise make 16 between two readings."""
    without = judge_series(half_yearly([-50.0, -64.0]))
    within = judge_series(half_yearly([-50.0, -64.0]), air=WIDE)
    beyond = judge_series(half_yearly([-50.0, -66.1]), air=WIDE)
    assert (without.status, within.status, beyond.status) == ("out", "within tolerance", "out")
    words = found(within, "commissioning").words
    assert words == "-14.0 dB from the record, allowed ±16 dB; within what the air does"
    assert found(within, "last visit").words.endswith("usual 16 dB; within what the air does")
    assert "within what the air does" not in found(beyond, "commissioning").words
    assert found(beyond, "commissioning").words == "-16.1 dB from the record, allowed ±16 dB; alarm at 16 dB"


def test_the_prediction_is_of_the_median_so_each_side_has_its_own() -> None:
    """±10 dB by the table; 12 dB under it is what the air does, 11 dB over it is not."""
    under, over = (judge_series(half_yearly([-50.0 + by]), -50.0, WIDE) for by in (-11.9, 10.5))
    assert (under.status, over.status) == ("within tolerance", "out")
    words = found(under, "prediction").words
    assert words == "-11.9 dB from the -50.0 dBm predicted, allowed 12 dB; within what the air does"
    assert found(over, "prediction").words == "+10.5 dB from the -50.0 dBm predicted, allowed 10 dB"
    assert judge_series(half_yearly([-62.1]), -50.0, WIDE).status == "out"


def test_the_table_holds_where_it_is_wider() -> None:
    plain, calm = (judge_series(half_yearly([-50.0, -52.5]), -50.0, air) for air in (None, NARROW))
    assert [each.words for each in calm.comparisons] == [each.words for each in plain.comparisons]
    assert calm.status == plain.status
    assert with_air(LEVEL, NARROW) == LEVEL
    assert with_air(LEVEL, None) is LEVEL


def test_tolerances_alarm_and_repeat_move_out_together() -> None:
    wide = with_air(LEVEL, WIDE)
    assert (wide.tolerance, wide.alarm, wide.repeat) == (16.0, 16.0, 16.0)
    assert wide.prediction_tolerance == LEVEL.prediction_tolerance


def test_the_digits_tell_which_side_of_what_is_allowed() -> None:
    judged = judge_series(half_yearly([-50.0, -66.04]), air=WIDE)
    assert difference_words(judged.row, found(judged, "commissioning"), judged.air) == "-16.04 dB"
    assert judged.row is LEVEL
    assert judged.allowed.tolerance == 16.0


def test_the_sheet_has_the_wider_spans() -> None:
    assert tolerated(LEVEL, None, -50.0, WIDE) == (-62.0, -40.0, "prediction")
    assert tolerated(LEVEL, -50.0, -50.0, WIDE) == (-66.0, -34.0, "record")
    assert tolerated(LEVEL, None, -50.0) == (-60.0, -40.0, "prediction")
    key = SeriesKey("Combe Relay", "Mux 1", "feeder", "level")
    judged = judge_log(half_yearly([-50.0]), {key: -50.0}, air={key: WIDE})
    rows = sheet_rows(SheetSite("Combe Relay", ("Mux 1",)), {key: -50.0}, judged, {key: WIDE})
    assert (rows[0].air, rows[0].lowest, rows[0].highest) == (WIDE, -66.0, -34.0)
    assert judged[0].air == WIDE


@pytest.mark.parametrize("spread", [(-0.1, 1.0), (1.0, 101.0), (float("nan"), 1.0)])
def test_what_is_refused(spread: tuple[float, float]) -> None:
    with pytest.raises(RangeError, match=r"(fall|rise)_db of the air is .*; allowed: 0 to 100"):
        AirSpread(*spread)
