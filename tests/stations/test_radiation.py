"""Checks of single elements and of the integration over the sphere."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from combe.errors import RangeError
from combe.stations.elements import (
    POLARIZATIONS,
    described_element,
    dipole_in_corner,
    dipole_over_reflector,
    half_wave_dipole,
    isotropic,
)
from combe.stations.linear_array import aperture_gain_dbi, design_array
from combe.stations.radiation import (
    Radiator,
    directivity_dbi,
    find_peak,
    gain_dbd,
    gain_dbi,
    turned,
    with_loss,
)
from combe.stations.stacking import stacked
from support_arrays import isotropic_directivity_dbi


# A thin half-wave dipole: 2.1509 dBi (exact, from Cin(2π); printed as 2.15 in ITU-R P.525 and elsewhere).
@pytest.mark.parametrize("polarization", POLARIZATIONS)
def test_half_wave_dipole(polarization: str) -> None:
    dipole = half_wave_dipole(polarization)
    assert directivity_dbi(dipole) == pytest.approx(2.1509, abs=1e-4)
    assert gain_dbd(dipole) == pytest.approx(0.0, abs=0.001)


def test_dipole_rods_point_the_right_way() -> None:
    upright, level = half_wave_dipole("vertical"), half_wave_dipole("horizontal")
    east, up = (np.array([90.0]), np.array([0.0])), (np.array([0.0]), np.array([90.0]))
    assert abs(upright.field(*up)[0]) < 1e-9
    assert abs(upright.field(*east)[0]) == pytest.approx(1.0)
    assert abs(level.field(*east)[0]) < 1e-9
    assert abs(level.field(*up)[0]) == pytest.approx(1.0)


def test_isotropic_source() -> None:
    assert directivity_dbi(isotropic()) == pytest.approx(0.0, abs=1e-9)
    assert find_peak(isotropic())[:2] == (0.0, 0.0)


@pytest.mark.parametrize(
    ("count", "spacing", "options"),
    [
        (1, 1.0, {}),
        (4, 0.5, {}),
        (8, 1.0, {"edge_db": -8.0}),
        (16, 1.0, {}),
        (12, 0.7, {"tilt_deg": 4.0, "null_fill_percent": 20.0}),
        (50, 1.0, {}),
    ],
)
def test_integration_is_the_exact_double_sum(count: int, spacing: float, options: dict[str, float]) -> None:
    array = design_array(count, spacing, **options)
    exact = isotropic_directivity_dbi(array)
    assert directivity_dbi(stacked(isotropic(), array)) == pytest.approx(exact, abs=1e-4)
    assert directivity_dbi(stacked(isotropic(), array, "sideways")) == pytest.approx(exact, abs=2e-3)


# The uniform aperture of 4, 8 and 16 wavelengths, built of close sources.
@pytest.mark.parametrize("aperture", [4.0, 8.0, 16.0])
def test_integration_is_the_aperture(aperture: float) -> None:
    close = stacked(isotropic(), design_array(64, aperture / 64.0)) if aperture > 6.4 else None
    close = close or stacked(isotropic(), design_array(40, aperture / 40.0))
    assert directivity_dbi(close) == pytest.approx(aperture_gain_dbi(aperture), abs=0.05)


@pytest.mark.parametrize("polarization", POLARIZATIONS)
@pytest.mark.parametrize("opening_deg", [180.0, 90.0, 60.0, 45.0])
def test_reflector_sends_forwards_and_leaks_what_is_stated(polarization: str, opening_deg: float) -> None:
    corner = dipole_in_corner(polarization, opening_deg, 0.25 if opening_deg == 180.0 else 0.4, 20.0)
    peak = find_peak(corner)
    assert (peak.bearing_deg, peak.elevation_deg) == (0.0, 0.0)
    back = abs(corner.field(np.array([180.0]), np.array([0.0]))[0]) ** 2
    assert 10 * math.log10(peak.power / back) == pytest.approx(20.0, abs=1e-9)


# At a quarter wave 7.485 dBi by images, which an independent antenna solver gives too (test_against_nec.py).
def test_flat_reflector() -> None:
    assert directivity_dbi(dipole_over_reflector("horizontal", 0.25, 80.0)) == pytest.approx(7.485, abs=0.002)
    closer = directivity_dbi(dipole_over_reflector("horizontal", 0.1, 80.0))
    assert closer > directivity_dbi(dipole_over_reflector("horizontal", 0.25, 80.0))


def test_leak_costs_gain() -> None:
    assert directivity_dbi(dipole_over_reflector("vertical", 0.25, 10.0)) < directivity_dbi(
        dipole_over_reflector("vertical", 0.25, 40.0)
    )


def test_described_yagi_has_its_gain_and_widths() -> None:
    yagi = described_element(14.15, 36.0, 40.0, 25.0)
    assert gain_dbi(yagi) == pytest.approx(14.15, abs=1e-9)
    assert gain_dbd(yagi) == pytest.approx(12.0, abs=1e-9)
    for bearing, elevation in ((18.0, 0.0), (0.0, 20.0), (-18.0, 0.0), (0.0, -20.0)):
        level = abs(yagi.field(np.array([bearing]), np.array([elevation]))[0])
        assert 20 * math.log10(level) == pytest.approx(-3.01, abs=0.001)
    assert 20 * math.log10(abs(yagi.field(np.array([180.0]), np.array([0.0]))[0])) == pytest.approx(-25.0)


def test_turned_and_lossy() -> None:
    panel = dipole_over_reflector("vertical")
    assert find_peak(turned(panel, 250.0)).bearing_deg % 360.0 == pytest.approx(250.0, abs=0.1)
    assert gain_dbi(with_loss(panel, 0.5)) == pytest.approx(gain_dbi(panel) - 0.5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: half_wave_dipole("H"), "polarization of a dipole is 'H'; allowed: horizontal or vertical"),
        (lambda: dipole_in_corner("slant"), "polarization of a dipole is 'slant'; allowed: horizontal or"),
        (lambda: dipole_in_corner("vertical", 120.0), "opening_deg is 120.0; allowed: 180, 90, 60 or 45"),
        (lambda: dipole_in_corner("vertical", 90.0, 3.0), "distance_wavelengths is 3.0; allowed: 0.05 to 2"),
        (lambda: dipole_in_corner("vertical", 90.0, 0.5, 0.0), "front_to_back_db is 0.0; allowed: 6 to 80"),
        (lambda: described_element(40.0, 20.0, 20.0), "gain_dbi of an element is 40.0; allowed: -5 to 30"),
        (lambda: described_element(14.0, 2.0, 20.0), "horizontal_beamwidth_deg is 2.0; allowed: 5 to 170"),
        (lambda: described_element(20.0, 60.0, 60.0), "gain_dbi of an element is 20.0; allowed: up to "),
        (
            lambda: Radiator("x", isotropic().field, 80.0),
            "size in wavelengths of x is 80.0; allowed: 0 to 60",
        ),
        (lambda: turned(isotropic(), math.nan), "bearing_deg is nan; allowed: -360 to 360"),
        (lambda: with_loss(isotropic(), -1.0), "loss_db of an aerial is -1.0; allowed: 0 to 20"),
    ],
)
def test_refused(call: Any, message: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert str(caught.value).startswith(message)
    assert len(str(caught.value).splitlines()) == 1
