"""Checks of stacks and of panels around a mast: the trade, limits, symmetry, phases, closed forms."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.special import j0

from combe.errors import RangeError
from combe.stations.aerial import work_out_aerial
from combe.stations.elements import described_element, half_wave_dipole, isotropic
from combe.stations.linear_array import design_array
from combe.stations.radiation import find_peak, gain_dbd, gain_dbi, with_loss
from combe.stations.stacking import (
    COUPLING_OMITTED,
    dipole_panel,
    dipole_trough,
    panel_ring,
    ripple_db,
    stacked,
    stacking_gain_db,
)

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


def test_stack_refused() -> None:
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


PANEL = dipole_panel(4)
QUARTERS = (0.0, 90.0, 180.0, 270.0)
LEVEL = np.zeros(360)
ROUND = np.arange(360.0)


def test_one_panel_is_itself_turned() -> None:
    ring = panel_ring(PANEL, (120.0,), 1.3)
    assert find_peak(ring).bearing_deg == pytest.approx(120.0, abs=0.01)
    assert gain_dbi(ring) == pytest.approx(gain_dbi(PANEL), abs=0.001)


@pytest.mark.parametrize("bearings", [(0.0, 120.0, 240.0), QUARTERS])
def test_ring_repeats_from_panel_to_panel(bearings: tuple[float, ...]) -> None:
    field = np.abs(panel_ring(PANEL, bearings, 0.7).field(ROUND, LEVEL))
    assert field == pytest.approx(np.roll(field, round(bearings[1])), abs=1e-9)
    assert field == pytest.approx(field[-np.arange(360)], abs=1e-9)


# Many equal sources on a circle of r wavelengths, in phase: the field is J0(2πr) times their number.
@pytest.mark.parametrize("radius", [0.3, 0.6, 1.0])
def test_full_circle_is_the_bessel_function(radius: float) -> None:
    ring = panel_ring(isotropic(), tuple(np.arange(16) * 22.5), radius)
    assert np.abs(ring.field(ROUND, LEVEL)) == pytest.approx(16 * abs(j0(2 * math.pi * radius)), abs=2e-3)


def test_ripple_grows_with_the_radius() -> None:
    small, large = (
        ripple_db(work_out_aerial(panel_ring(PANEL, QUARTERS, radius)).horizontal_pattern)
        for radius in (0.35, 2.0)
    )
    assert small < 4.0
    assert large > small + 3.0


def test_phases_and_amplitudes_move_the_beam() -> None:
    even = np.abs(panel_ring(PANEL, QUARTERS, 0.5).field(ROUND, LEVEL))
    turning = np.abs(panel_ring(PANEL, QUARTERS, 0.5, phases_deg=(0, 90, 180, 270)).field(ROUND, LEVEL))
    assert turning == pytest.approx(np.roll(turning, 90), abs=1e-9)
    assert not np.allclose(even, turning, atol=0.05)
    strong = panel_ring(PANEL, QUARTERS, 0.5, amplitudes=(1.0, 0.1, 0.1, 0.1))
    assert abs((find_peak(strong).bearing_deg + 180.0) % 360.0 - 180.0) < 25.0
    off = panel_ring(PANEL, QUARTERS, 0.5, amplitudes=(1.0, 0.0, 0.0, 0.0))
    assert gain_dbi(off) == pytest.approx(gain_dbi(PANEL), abs=0.01)


def test_ring_of_three_panels_loses_azimuth_gain() -> None:
    ring = gain_dbi(panel_ring(PANEL, (0.0, 120.0, 240.0), 0.4))
    assert gain_dbi(PANEL) - 6.0 < ring < gain_dbi(PANEL) - 1.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"bearings_deg": ()}, "number of panels is 0; allowed: 1 to 16"),
        ({"bearings_deg": (0.0, 400.0)}, "bearing of a panel is 400.0; allowed: 0 to 360"),
        ({"bearings_deg": (0.0, 360.0)}, "bearing of a panel is 0.0 more than once; allowed: each once only"),
        ({"radius_wavelengths": -1.0}, "radius_wavelengths is -1.0; allowed: 0 to 20"),
        ({"amplitudes": (1.0,)}, "number of values of amplitude is 1; allowed: one per panel, 4"),
        ({"amplitudes": (0.0,) * 4}, "amplitudes of the panels is all 0; allowed: at least one panel that"),
        ({"amplitudes": (1.0, 1.0, 1.0, -1.0)}, "amplitude of a panel is -1.0; allowed: 0 to 1e+06"),
        ({"phases_deg": (0.0,) * 5}, "number of values of phase in degrees is 5; allowed: one per panel, 4"),
        ({"phases_deg": (0.0, math.nan, 0.0, 0.0)}, "phase in degrees of a panel is nan; allowed: "),
    ],
)
def test_ring_refused(change: dict[str, Any], message: str) -> None:
    good: dict[str, Any] = {"bearings_deg": QUARTERS, "radius_wavelengths": 0.5}
    with pytest.raises(RangeError) as caught:
        panel_ring(half_wave_dipole("vertical"), **(good | change))
    assert str(caught.value).startswith(message)
    assert len(str(caught.value).splitlines()) == 1


def test_unlike_panels_stand_on_their_own_sides() -> None:
    """Three panels that no mirror turns into one another: each makes the field at its own bearing."""
    ring = panel_ring(PANEL, (0.0, 70.0, 200.0), 0.0, amplitudes=(1.0, 0.6, 0.2))
    level = np.zeros(1)
    whole = ring.field(np.array([70.0]), level)
    alone = 0.6 * PANEL.field(np.array([0.0]), level)
    others = PANEL.field(np.array([70.0]), level) + 0.2 * PANEL.field(np.array([-130.0]), level)
    assert whole == pytest.approx(alone + others, abs=1e-9)


def test_a_panel_stands_before_the_mast_and_not_behind_it() -> None:
    """A source ahead of the middle arrives early: its phase leads by 2πr in its own direction."""
    ring = panel_ring(isotropic(), (90.0,), 0.1)
    level = np.zeros(1)
    alone = isotropic().field(level, level)
    lead = np.angle(ring.field(np.array([90.0]), level) / alone)
    assert lead == pytest.approx([0.2 * math.pi], abs=1e-9)
    behind = np.angle(
        ring.field(np.array([270.0]), np.zeros(1)) / isotropic().field(np.zeros(1), np.zeros(1))
    )
    assert behind == pytest.approx([-0.2 * math.pi], abs=1e-9)


def test_a_ring_is_as_large_as_its_panels_across() -> None:
    """Its size sets how finely its lobes are looked at: that of a panel, and the mast's whole width."""
    ring = panel_ring(PANEL, (0.0, 70.0, 200.0), 1.5)
    assert ring.size_wavelengths == PANEL.size_wavelengths + 3.0
