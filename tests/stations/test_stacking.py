"""Checks of stacks, troughs and panels against facts of the trade and limits."""

from __future__ import annotations

import math

import pytest

from combe.errors import RangeError
from combe.stations.elements import described_element, half_wave_dipole
from combe.stations.linear_array import design_array
from combe.stations.radiation import find_peak, gain_dbd, gain_dbi, with_loss
from combe.stations.stacking import COUPLING_OMITTED, dipole_panel, dipole_trough, stacked, stacking_gain_db

YAGI = described_element(14.15, 35.0, 40.0)


# Common practice, no source: a trough of four half-wave dipoles has about 14 to 15 dB gain over a dipole.
@pytest.mark.parametrize("spacing", [0.65, 0.7, 0.75, 0.8])
@pytest.mark.parametrize("polarization", ["horizontal", "vertical"])
def test_trough_of_four_dipoles(spacing: float, polarization: str) -> None:
    assert 14.0 <= gain_dbd(dipole_trough(4, spacing, polarization=polarization)) <= 15.1


# Common practice, no source: stacking two gains 2.5 to 2.9 dB and four 5 to 5.7 dB, harness included. The
# model is without the harness and so may pass these by a few tenths.
@pytest.mark.parametrize(("count", "low", "high"), [(2, 2.5, 3.1), (4, 5.0, 6.1)])
@pytest.mark.parametrize("spacing", [1.2, 1.3, 1.4])
def test_stacked_yagis(count: int, low: float, high: float, spacing: float) -> None:
    assert low <= stacking_gain_db(YAGI, count, spacing) <= high
    assert low <= stacking_gain_db(YAGI, count, spacing * 40.0 / 35.0, "sideways") <= high


def test_wide_stacks_gain_their_number_and_close_ones_nothing() -> None:
    assert stacking_gain_db(YAGI, 2, 5.0) == pytest.approx(3.01, abs=0.1)
    assert stacking_gain_db(YAGI, 2, 0.1) == pytest.approx(0.0, abs=0.1)
    assert stacking_gain_db(YAGI, 1, 1.0) == pytest.approx(0.0, abs=1e-6)


def test_stack_of_a_stack() -> None:
    pair = stacked(YAGI, design_array(2, 1.5))
    four = stacked(pair, design_array(2, 3.0))
    assert gain_dbi(four) == pytest.approx(gain_dbi(stacked(YAGI, design_array(4, 1.5))), abs=1e-3)
    lossy = stacked(with_loss(YAGI, 1.0), design_array(2, 1.5))
    assert gain_dbi(lossy) == pytest.approx(gain_dbi(pair) - 1.0)
    assert four.omits.count(COUPLING_OMITTED) == 1
    assert "2 x 2 x described yagi upwards, 1.5 wavelengths apart" in four.name
    assert stacked(YAGI, design_array(1, 1.5)).name == YAGI.name
    assert stacked(YAGI, design_array(2, 1.0)).name.endswith(", 1 wavelength apart")


# The element's own beam pulls that of the stack back a little.
def test_tilt_of_a_stack_is_downwards_and_sideways_to_the_left() -> None:
    array = design_array(8, 0.7, tilt_deg=4.0)
    assert find_peak(stacked(YAGI, array)).elevation_deg == pytest.approx(-4.0, abs=0.3)
    assert find_peak(stacked(YAGI, array, "sideways")).bearing_deg % 360.0 == pytest.approx(356.0, abs=0.3)


# Common practice, no source: a panel of four dipoles has 10 to 11 dB over a dipole, harness included.
def test_panel_of_four_dipoles() -> None:
    assert 10.0 <= gain_dbd(dipole_panel(4, 0.75, polarization="vertical")) <= 11.0
    assert 10.0 <= gain_dbd(dipole_panel(4, 0.5)) <= 11.0


# Common practice, no source: a 200 W relay uses an aperture of about 16 wavelengths.
def test_sixteen_wavelengths_of_upright_dipoles() -> None:
    gain = gain_dbd(stacked(half_wave_dipole("vertical"), design_array(16, 1.0)))
    assert gain == pytest.approx(12.7, abs=0.2)


def test_refused() -> None:
    with pytest.raises(RangeError, match="direction of a stack is 'down'; allowed: upwards or sideways"):
        stacked(YAGI, design_array(2, 1.0), "down")  # type: ignore[arg-type]
    with pytest.raises(RangeError, match=r"size in wavelengths of 64 x .* allowed: 0 to 60"):
        stacked(YAGI, design_array(64, 5.0))
    with pytest.raises(RangeError, match="opening_deg is 100; allowed: 180, 90, 60 or 45"):
        dipole_trough(4, opening_deg=100)


def test_names_say_what_it_is() -> None:
    assert dipole_trough(4).name == "trough of 4 half-wave dipoles, vertical"
    assert dipole_panel(4).name == "panel of 4 half-wave dipoles, horizontal"
    assert math.isfinite(gain_dbi(dipole_panel(1)))
