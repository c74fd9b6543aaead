"""Checks of panels around a mast: symmetry, ripple, phases, and the closed form of a full circle."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.special import j0

from combe.errors import RangeError
from combe.stations.aerial import work_out_aerial
from combe.stations.elements import half_wave_dipole, isotropic
from combe.stations.mast_ring import panel_ring, ripple_db
from combe.stations.radiation import find_peak, gain_dbi
from combe.stations.stacking import dipole_panel

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
def test_refused(change: dict[str, Any], message: str) -> None:
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
