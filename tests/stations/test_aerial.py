"""Checks of a worked-out aerial: its patterns fit a station and agree with its gain and widths."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import trapezoid

from combe.stations.aerial import (
    DEEPEST_DB,
    SEPARABLE_OMITTED,
    first_minimum,
    half_power_beamwidth_deg,
    work_out_aerial,
)
from combe.stations.elements import half_wave_dipole, isotropic
from combe.stations.linear_array import array_factor_db, design_array
from combe.stations.pattern import pattern_gain_db, read_pattern, write_pattern
from combe.stations.radiation import gain_dbd, gain_dbi
from combe.stations.stacking import dipole_panel, stacked
from combe.stations.transmitter import Service, Station, erp_towards_dbw
from support_arrays import array_beamwidth_deg


def test_aerial_of_a_tilted_panel() -> None:
    array = design_array(8, 0.8, tilt_deg=3.0, null_fill_percent=15.0)
    panel = stacked(dipole_panel(1), array)
    aerial = work_out_aerial(panel, 200.0)
    assert aerial.gain_dbi == gain_dbi(panel)
    assert aerial.gain_dbd == gain_dbd(panel)
    assert aerial.beam_bearing_deg == pytest.approx(200.0, abs=0.01)
    assert aerial.beam_elevation_deg == pytest.approx(-3.0, abs=0.1)
    assert pattern_gain_db(aerial.horizontal_pattern, 200.0) == pytest.approx(0.0, abs=1e-6)
    assert pattern_gain_db(aerial.horizontal_pattern, 20.0) == pytest.approx(-20.0, abs=0.5)
    assert pattern_gain_db(aerial.vertical_pattern, -3.0) == pytest.approx(0.0, abs=0.05)
    assert aerial.vertical_beamwidth_deg == pytest.approx(array_beamwidth_deg(array), abs=0.1)
    assert aerial.horizontal_beamwidth_deg is not None
    assert aerial.omits[-1] == SEPARABLE_OMITTED
    assert aerial.vertical_pattern.source == f"computed: {panel.name}"


def test_vertical_pattern_is_the_array_factor_of_isotropic_sources() -> None:
    array = design_array(4, 1.0)
    pattern = work_out_aerial(stacked(isotropic(), array)).vertical_pattern
    for angle in (2.0, 3.0, 5.0, 10.0):
        assert pattern_gain_db(pattern, angle) == pytest.approx(array_factor_db(array, angle), abs=0.06)
    assert min(pattern.relative_db) == pytest.approx(max(DEEPEST_DB, min(pattern.relative_db)))


# At elevation e the null of four sources a wavelength apart on a level line lies where cos e sin b = 1/4.
def test_horizontal_cut_is_at_the_elevation_of_the_beam() -> None:
    row = stacked(isotropic(), design_array(4, 1.0), "sideways")
    aerial = work_out_aerial(stacked(row, design_array(16, 0.5, tilt_deg=20.0)))
    null = first_minimum(lambda angle: pattern_gain_db(aerial.horizontal_pattern, angle), 0.0, 40.0)
    assert null.angle_deg == pytest.approx(
        math.degrees(math.asin(0.25 / math.cos(math.radians(20.0)))), abs=0.3
    )


def test_omnidirectional_aerial_has_no_horizontal_width() -> None:
    aerial = work_out_aerial(half_wave_dipole("vertical"))
    assert aerial.horizontal_beamwidth_deg is None
    assert set(np.round(aerial.horizontal_pattern.relative_db, 9)) == {0.0}
    assert aerial.vertical_beamwidth_deg == pytest.approx(
        78.0, abs=0.3
    )  # half-wave dipole, textbook 78 degrees
    assert aerial.vertical_pattern.relative_db[0] == DEEPEST_DB


def test_patterns_serve_a_station(tmp_path: Path) -> None:
    aerial = work_out_aerial(dipole_panel(4), 90.0)
    write_pattern(tmp_path / "h.csv", aerial.horizontal_pattern)
    write_pattern(tmp_path / "v.csv", aerial.vertical_pattern)
    service = Service("Mux 1", 34, 578.0, 100.0)
    station = Station(
        "Nether Combe",  # invented
        "relay",
        7.1,
        46.2,
        30.0,
        "horizontal",
        (service,),
        read_pattern(tmp_path / "h.csv", "horizontal"),
        read_pattern(tmp_path / "v.csv", "vertical"),
    )
    assert erp_towards_dbw(station, service, 90.0, 0.0) == pytest.approx(20.0, abs=1e-6)
    assert erp_towards_dbw(station, service, 270.0, 0.0) == pytest.approx(0.0, abs=0.5)


# Mean over the sphere of the two cuts' product should give the gain again where the pattern separates.
def test_cuts_hold_the_gain() -> None:
    aerial = work_out_aerial(stacked(half_wave_dipole("vertical"), design_array(8, 0.9)))
    elevation = np.radians(np.asarray(aerial.vertical_pattern.angle_deg))
    power = 10 ** (np.asarray(aerial.vertical_pattern.relative_db) / 10)
    mean = trapezoid(power * np.cos(elevation), elevation) / 2.0
    assert -10 * math.log10(mean) == pytest.approx(aerial.gain_dbi, abs=0.01)


def test_widths_and_minima_count_from_the_peak() -> None:
    def level(angle_deg: np.ndarray) -> np.ndarray:
        return -5.0 - np.abs(angle_deg - 10.0) + np.where(angle_deg < 2.0, 2.0 * (2.0 - angle_deg), 0.0)

    assert half_power_beamwidth_deg(level, 10.0) == pytest.approx(2 * 3.0103, abs=1e-4)
    assert first_minimum(level, 10.0, -30.0) == pytest.approx((2.0, -8.0), abs=1e-4)
