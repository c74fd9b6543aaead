"""Location variability of P.1812-8 §4.7: the correction of the loss and the deviation."""

from __future__ import annotations

import re

import numpy as np
import pytest

from combe.errors import RangeError
from combe.propagation.p1812 import location_sigma_db, predict_path
from combe.propagation.p1812.location import location_correction_db


@pytest.mark.parametrize(("area_side_m", "expected"), [(50.0, 1.598), (100.0, 1.940), (500.0, 3.045)])
def test_sigma_at_600_mhz(area_side_m: float, expected: float) -> None:
    # Worked out from the formula of P.1812-8 §4.7.
    assert location_sigma_db(600.0, area_side_m) == pytest.approx(expected, abs=1e-3)


def test_sigma_falls_to_nothing_ten_metres_over_the_cover() -> None:
    whole = location_sigma_db(600.0, 100.0, rx_height_m=10.0, cover_height_m=10.0)
    assert location_sigma_db(600.0, 100.0, rx_height_m=5.0, cover_height_m=10.0) == whole
    assert location_sigma_db(600.0, 100.0, rx_height_m=15.0, cover_height_m=10.0) == pytest.approx(
        whole / 2.0
    )
    assert location_sigma_db(600.0, 100.0, rx_height_m=20.0, cover_height_m=10.0) == 0.0


@pytest.mark.parametrize(
    ("percent", "expected"), [(50.0, 0.0), (70.0, 2.88), (90.0, 7.05), (95.0, 9.05), (99.0, 12.79)]
)
def test_correction_for_digital_planning(percent: float, expected: float) -> None:
    # 5.5 dB times the normal deviation.
    assert location_correction_db(percent, 5.5) == pytest.approx(expected, abs=0.01)
    assert location_correction_db(100.0 - percent, 5.5) == pytest.approx(-expected, abs=0.01)


def test_the_correction_is_added_but_not_below_line_of_sight() -> None:
    distance, height = np.linspace(0.0, 20.0, 81), np.zeros(81)
    height[40] = 120.0
    air = {"latitude_deg": 50, "delta_n": 45, "n0": 325}
    asked = {"frequency_mhz": 600, "time_percent": 50, "tx_height_m": 60, "rx_height_m": 10} | air
    middle = predict_path(distance, height, 0, 4, **asked)
    most = predict_path(distance, height, 0, 4, location_percent=95, location_sigma_db=5.5, **asked)
    few = predict_path(distance, height, 0, 4, location_percent=1, location_sigma_db=20, **asked)
    assert most.basic_transmission_loss_db - middle.basic_transmission_loss_db == pytest.approx(
        9.0487, abs=1e-4
    )
    assert most.field_strength_dbuv_m < middle.field_strength_dbuv_m
    assert few.basic_transmission_loss_db == few.line_of_sight_loss_db


@pytest.mark.parametrize(
    ("percent", "sigma", "message"),
    [
        (99.5, 5.5, "location_percent is 99.5; allowed: 1 to 99 % (P.1812-8 §4.7)"),
        (95.0, -1.0, "location_sigma_db is -1.0; allowed: 0 to below 100 dB"),
    ],
)
def test_refusals(percent: float, sigma: float, message: str) -> None:
    with pytest.raises(RangeError, match=re.escape(message)):
        location_correction_db(percent, sigma)


def test_refusals_of_sigma() -> None:
    with pytest.raises(RangeError, match="frequency_mhz is 20"):
        location_sigma_db(20.0, 100.0)
    with pytest.raises(RangeError, match="area_side_m is 0"):
        location_sigma_db(600.0, 0.0)
