"""Time beyond the median: a construction."""

import dataclasses

import numpy as np
import pytest

from combe.errors import RangeError
from combe.prediction.conditions import Conditions
from combe.prediction.path import predict_path
from combe.prediction.time import MEDIAN, beyond_median, mirrored_percent
from combe.terrain.sampling import TerrainProfile


def pair(height_m, *, tx_height_m=400.0, time_percent=99.0, model="p1812", length_km=40.0):
    distance = np.linspace(0.0, length_km, height_m.size)
    profile = TerrainProfile(distance, height_m, np.zeros_like(distance), np.full_like(distance, 50.0))
    median = Conditions(model=model)
    percent = mirrored_percent(time_percent) if model == "p1812" else 50.0
    made = [
        predict_path(
            profile,
            tx_height_m=tx_height_m,
            rx_height_m=200.0,
            frequency_mhz=600.0,
            conditions=dataclasses.replace(median, time_percent=each),
        )
        for each in (50.0, percent)
    ]
    return made[0], made[1]


def test_line_of_sight_fades_by_what_focusing_adds():
    median, mirrored = pair(np.zeros(81))
    found = beyond_median(median, mirrored, 99.0)
    # P.1812-8 eq. (9): 2.6 (1 − exp(−0.1 · 40)) log(1/50) = −4.34 dB over 40 km in line of sight.
    assert found.fade_db == pytest.approx(4.34, abs=0.01)
    assert found.basic_loss_db == pytest.approx(median.free_space_loss_db + 4.34, abs=0.01)
    assert found.time_percent == 99.0
    assert "not in ITU-R P.1812-8" in found.method


def test_nine_tenths_of_time_fade_less():
    median, mirrored = pair(np.zeros(81), time_percent=90.0)
    # P.1812-8 eq. (9) at 10 %: −1.78 dB over 40 km.
    assert beyond_median(median, mirrored, 90.0).fade_db == pytest.approx(1.78, abs=0.01)


def test_ducting_is_not_mirrored():
    # Behind a ridge, 1 % of time is governed by ducting and troposcatter; the mirror leaves both out.
    ridge = np.where(np.arange(201) == 100, 100.0, 0.0)
    median, mirrored = pair(ridge, tx_height_m=20.0, length_km=100.0)
    found = beyond_median(median, mirrored, 99.0)
    steps, other = median.p1812_steps, mirrored.p1812_steps
    expected = 2.0 * steps.basic_diffraction_db - other.basic_diffraction_db
    assert found.basic_loss_db == pytest.approx(expected, abs=1e-9)
    gain_db = median.basic_loss_db - mirrored.basic_loss_db
    assert gain_db - found.fade_db > 5.0


def test_the_median_and_models_without_time():
    median, mirrored = pair(np.zeros(81), time_percent=50.0)
    assert beyond_median(median, mirrored, 50.0).fade_db == 0.0
    plain = beyond_median(*pair(np.zeros(81), model="p526"), 99.0)
    assert (plain.time_percent, plain.fade_db) == (50.0, 0.0)
    assert plain.method == (
        "the model has no statistics of time, so its median stands for the 99 % of time asked"
    )
    assert beyond_median(*pair(np.zeros(81), model="p526"), 50.0).method == MEDIAN


def test_refusals():
    with pytest.raises(RangeError, match=r"time_percent of the feed is 99\.9; allowed: 50 to 99"):
        mirrored_percent(99.9)
    median, mirrored = pair(np.zeros(81))
    with pytest.raises(RangeError, match=r"predictions is \(50\.0, 1\.0\); allowed: \(50\.0, 10\.0\)"):
        beyond_median(median, mirrored, 90.0)
