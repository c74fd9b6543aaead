"""One cell explained: candidates and nuisance fields in order, and what taking one away would change."""

import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.reception.emission import Emission
from combe.reception.explain_cell import explain_cell
from combe.reception.feed_interference import Channel
from combe.reception.judge_cells import Fields, Rules, judge_cells, make_judges

CHANNEL = Channel("DVB", 602.0, 8.0)


def emission(name, x_m, service="A", channel=CHANNEL, polarization="horizontal"):
    return Emission(name, service, channel, polarization, x_m, 0.0, 45.0, 20.0, 5.5)


EMISSIONS = [
    emission("Parent", -10e3),
    emission("Near", -20e3, "B"),
    emission("Behind", 10e3, "B"),
    emission("Crossed", -15e3, "B", polarization="vertical"),
    emission("Second", 5e3, channel=Channel("DVB", 690.0, 8.0)),
    emission("Unknown", 20e3, "B"),
]
LEVELS = np.array([70.0, 30.0, 44.0, 40.0, 50.0, math.nan], dtype=np.float32).reshape(-1, 1, 1)
HERE = Fields(np.zeros(1), np.zeros(1), LEVELS, LEVELS + np.float32(2.0))
JUDGES = make_judges(EMISSIONS, Rules(70.0, neglect_db=0.0))


def test_a_cell_explained():
    first, second = explain_cell(JUDGES, HERE, 0, 0, "A")
    judged = judge_cells(JUDGES, HERE, "A")
    assert (first.station, second.station) == ("Parent", "Second")
    assert first.margin_db == float(judged.margin_db[0, 0])
    assert first.usable_dbuv_m == pytest.approx(float(judged.usable_dbuv_m[0, 0]), abs=1e-4)
    assert first.noise_margin_db == pytest.approx(70.0 - 45.0 - 0.52 * 5.5)
    assert second.nuisances == ()
    assert second.margin_db == pytest.approx(second.noise_margin_db, abs=1e-4)
    assert [(row.station, row.gain_db) for row in first.nuisances[:3]] == [
        ("Near", pytest.approx(0.0)),
        ("Behind", pytest.approx(-16.0)),
        ("Crossed", pytest.approx(-16.0)),
    ]
    assert [row.nuisance_dbuv_m for row in first.nuisances[:3]] == pytest.approx([52.0, 50.0, 46.0], abs=1e-4)
    assert [row.off_axis_deg for row in first.nuisances[:3]] == pytest.approx([0.0, 180.0, 0.0])
    assert first.nuisances[0].reference == "ITU-R BT.1368-13 Annex 2 (from memory, unverified)"


def test_what_taking_one_away_would_change():
    (parent, _) = explain_cell(JUDGES, HERE, 0, 0, "A")
    gains = [row.margin_without_db - parent.margin_db for row in parent.nuisances[:3]]
    assert gains == sorted(gains, reverse=True)
    assert gains[-1] > 0.0
    without = np.array([each.station != "Near" for each in EMISSIONS])
    (other, _) = explain_cell(JUDGES, HERE, 0, 0, "A", without)
    assert parent.nuisances[0].margin_without_db == pytest.approx(other.margin_db, abs=1e-4)


def test_an_interferer_without_prediction_stands_last_and_is_no_number():
    (parent, _) = explain_cell(JUDGES, HERE, 0, 0, "A")
    assert parent.nuisances[-1].station == "Unknown"
    assert math.isnan(parent.nuisances[-1].nuisance_dbuv_m)


def test_nobody_and_nowhere():
    assert explain_cell(JUDGES, HERE, 0, 0, "A", np.zeros(6, dtype=bool)) == ()
    with pytest.raises(RangeError, match=r"cell is \(0, 1\); allowed: 0 to 0, 0 to 0"):
        explain_cell(JUDGES, HERE, 0, 1, "A")
    with pytest.raises(RangeError, match="service to judge is 'C'"):
        explain_cell(JUDGES, HERE, 0, 0, "C")
