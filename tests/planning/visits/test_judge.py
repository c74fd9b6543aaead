"""Judging readings: each comparison by itself, and the log of ten visits with drift and step."""

import datetime

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.visits.judge import judge_log, judge_series, worst
from combe.planning.visits.readings import Reading, SeriesKey, key_of, series_of
from support_visits import half_yearly, level

MUX_1 = SeriesKey("Combe Relay", "Mux 1", "feeder", "level")


def found(judgement, against):
    return next(each for each in judgement.comparisons if each.against == against)


def at(place, quantity, unit, *values, **changes):
    return half_yearly(list(values), test_point=place, quantity=quantity, unit=unit, **changes)


def test_the_log_of_ten_visits_with_a_drift_and_a_step():
    # Scatter of ±0.2 dB; from 2020-01-01 on, every half year.
    scatter = np.array([0.1, -0.2, 0.0, 0.2, -0.1, 0.1, -0.1, 0.2, 0.0, -0.2])
    years = np.arange(10) / 2.0
    log = (
        *half_yearly(list(-50.0 + scatter)),
        *half_yearly(list(-50.0 - years + scatter), service="Mux 2"),
        *half_yearly(list(-50.0 - 6.0 * (np.arange(10) >= 6) + scatter), test_point="receiver"),
        *half_yearly(
            list(-50.0 - years - 6.0 * (np.arange(10) >= 6) + scatter), test_point="receiver", service="Mux 2"
        ),
    )
    steady, drift, step, both = judge_log(log, {})
    assert (steady.status, steady.reason, steady.steps) == ("within tolerance", "", ())
    assert not steady.trend.significant

    assert (drift.status, drift.steps) == ("out", ())
    assert drift.trend.slope == pytest.approx(-1.0, abs=0.1)
    assert "-4.8 dB from the record, allowed ±3 dB" in drift.reason
    assert "drift -1.0 dB a year" in drift.reason
    assert "step" not in drift.reason

    assert step.status == "out"
    assert [(each.index, each.size) for each in step.steps] == [(6, pytest.approx(-6.0, abs=0.2))]
    assert "step of -6.1 dB between 2022-07-02 and 2023-01-01" in step.reason
    assert "drift" not in step.reason
    assert "alarm at 6 dB" in step.reason

    assert both.status == "out"
    assert [each.index for each in both.steps] == [6]
    assert both.steps[0].size == pytest.approx(-6.0, abs=0.3)
    assert both.trend.slope == pytest.approx(-1.0, abs=0.15)
    assert "step of" in both.reason
    assert "drift -1" in both.reason


def test_each_visit_of_that_log_in_turn():
    """The drift is told before its tolerance is used up, and the step on the day it is read."""
    years = np.arange(10) / 2.0
    drift = half_yearly(list(-50.0 - years))
    statuses = [judge_series(drift[:count]).status for count in range(1, 11)]
    assert statuses == ["not judged", *["within tolerance"] * 4, *["drifting"] * 2, *["out"] * 3]
    step = half_yearly(list(-50.0 - 6.0 * (np.arange(10) >= 6)))
    statuses = [judge_series(step[:count]).status for count in range(1, 11)]
    assert statuses == ["not judged", *["within tolerance"] * 5, *["out"] * 4]
    assert judge_series(step[:7]).steps[0].index == 6


@pytest.mark.parametrize(
    ("value", "status"), [(-53.0, "within tolerance"), (-53.1, "out"), (-47.0, "drifting")]
)
def test_the_record_is_the_commissioning(value, status):
    log = (level(0, -40.0), level(10, -50.0, visit="commissioning"), level(200, value))
    judged = judge_series(log)
    assert judged.commissioned
    assert found(judged, "commissioning").difference == pytest.approx(value + 50.0)
    if status != "drifting":
        assert found(judged, "commissioning").status == status


def test_without_a_commissioning_the_first_visit_is_the_record():
    judged = judge_series(half_yearly([-50.0, -51.0]))
    assert not judged.commissioned
    assert judged.record == 0


def test_a_new_commissioning_begins_anew():
    log = (*half_yearly([-50.0, -56.0]), level(400, -56.0, visit="commissioning"), level(500, -56.5))
    judged = judge_series(log)
    assert (judged.status, judged.steps, judged.record) == ("within tolerance", (), 2)


def test_a_change_since_the_last_visit_inside_the_tolerance():
    judged = judge_series(half_yearly([-50.0, -48.0, -50.5]))
    assert judged.status == "drifting"
    assert judged.reason == "-2.5 dB since the last visit, usual 2 dB"


def test_the_prediction_decides_until_there_is_a_record():
    first = judge_series(half_yearly([-62.0]), -50.0)
    assert first.status == "out"
    assert first.reason == "-12.0 dB from the -50.0 dBm predicted, allowed 10 dB"
    later = judge_series(half_yearly([-62.0, -62.1]), -50.0)
    assert found(later, "prediction").status == "out"
    assert later.status == "within tolerance"
    assert judge_series(half_yearly([-59.9]), -50.0).status == "within tolerance"


def test_more_than_the_licensed_power_is_out_at_any_visit():
    power = at("output coupler", "ERP", "W", 22.0, 23.0)
    judged = judge_series(power, 20.0)
    assert judged.status == "out"
    assert "+0.6 dB from the 20 W of the study, allowed 0.5 dB" in judged.reason
    assert (
        found(judge_series(at("output coupler", "ERP", "W", 17.0, 17.1), 20.0), "prediction").status == "out"
    )
    assert judge_series(at("output coupler", "ERP", "W", 17.0, 17.1), 20.0).status == "within tolerance"


def test_powers_are_compared_in_db_and_nought_watts_is_far_off():
    judged = judge_series(at("output coupler", "output power", "W", 10.0, 5.0))
    assert found(judged, "commissioning").difference == pytest.approx(-3.01, abs=0.01)
    assert judge_series(at("output coupler", "output power", "W", 10.0, 0.0)).status == "out"


@pytest.mark.parametrize(
    ("place", "quantity", "unit", "values", "status"),
    [
        ("output coupler", "return loss", "dB", (24.0, 19.9), "out"),
        ("output coupler", "return loss", "dB", (30.0, 26.9), "out"),
        ("output coupler", "return loss", "dB", (24.0, 40.0), "within tolerance"),
        ("output coupler", "intermodulation", "dB", (-54.0, -50.9), "out"),
        ("output coupler", "intermodulation", "dB", (-58.0, -55.9), "out"),
        ("output coupler", "intermodulation", "dB", (-54.0, -60.0), "within tolerance"),
        ("output coupler", "shoulders", "dB", (38.0, 35.9), "out"),
        ("output coupler", "frequency error", "Hz", (0.0, 501.0), "out"),
        ("output coupler", "frequency error", "Hz", (0.0, 0.0), "within tolerance"),
        ("output coupler", "frequency error", "kHz", (0.0, -0.6), "out"),
        ("receiver", "MER", "dB", (33.0, 30.9), "out"),
        ("receiver", "BER after inner decoding", "ratio", (1e-6, 3e-4), "out"),
        ("receiver", "uncorrected errors", "count", (0.0, 1.0), "out"),
        ("receiver", "uncorrected errors", "count", (5.0, 0.0), "within tolerance"),
        ("receiver", "AGC voltage", "V", (3.0, 4.0), "not judged"),
        ("mast", "aerials and mountings", "check", (1.0, 0.0), "out"),
        ("mast", "aerials and mountings", "check", (0.0, 1.0), "within tolerance"),
        ("splitter port 2", "level", "dBuV 75 ohm", (60.0, 58.9), "out"),
    ],
)
def test_limits_and_sides(place, quantity, unit, values, status):
    assert judge_series(at(place, quantity, unit, *values)).status == status


def test_readings_in_different_units_are_one_series():
    log = (level(0, -50.0), level(100, 58.75, unit="dBuV 75 ohm"), level(200, 56.99, unit="dBuV 50 ohm"))
    judged = judge_series(log)
    assert judged.values == pytest.approx((-50.0, -50.0, -50.0), abs=0.01)


def test_a_correction_takes_the_place_of_what_it_corrects():
    log = (level(0, -50.0), level(100, -5.1), level(100, -51.0, correction=True))
    (series,) = series_of(log).values()
    assert [reading.value for reading in series] == [-50.0, -51.0]


def test_the_order_of_entry_does_not_matter_for_other_days():
    log = (level(200, -60.0), level(0, -50.0))
    (judged,) = judge_log(log, {})
    assert judged.latest.value == -60.0


def test_only_those_asked_for_are_judged():
    log = (level(0, -50.0), level(0, -50.0, service="Mux 2"))
    assert [each.key for each in judge_log(log, {MUX_1: -51.0}, only=[MUX_1])] == [MUX_1]
    assert key_of(log[0]) == MUX_1
    assert worst(judge_log(log, {})) == "not judged"
    assert worst(()) == "not judged"


def test_readings_that_are_not_possible():
    with pytest.raises(RangeError, match="reading is 'colour' at 'feeder'; allowed: a routine reading"):
        level(0, 1.0, quantity="colour")
    with pytest.raises(RangeError, match="unit of level is 'V'; allowed: dBm"):
        level(0, 1.0, unit="V")
    with pytest.raises(RangeError, match="value of level is nan; allowed: -200 to 100 dBm"):
        level(0, float("nan"))
    with pytest.raises(RangeError, match="visit of a reading is 'annual'"):
        level(0, 1.0, visit="annual")
    assert (
        Reading(datetime.date(2020, 1, 1), "A", "", "mast", "feeders and connectors", 1.0, "check").who == ""
    )
