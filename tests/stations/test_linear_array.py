"""Checks of linear arrays: closed forms, taper, tilt, null fill, and what is refused."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.stations.linear_array import (
    LinearArray,
    aperture_beamwidth_deg,
    aperture_gain_dbi,
    array_factor_db,
    array_field,
    design_array,
)
from support_arrays import (
    array_beamwidth_deg,
    beam_elevation_deg,
    isotropic_directivity_dbi,
    minimum_below_beam,
)


# |sin(Nψ/2)/(N sin(ψ/2))| with ψ = 2πs sin θ, the textbook array factor, worked out in double precision.
@pytest.mark.parametrize(
    ("count", "angle_deg", "level_db"),
    [
        (4, 2, -0.26),
        (4, 3, -0.60),
        (4, 5, -1.70),
        (4, 10, -8.08),
        (8, 2, -1.13),
        (8, 3, -2.63),
        (8, 5, -8.49),
    ],
)
def test_uniform_array_at_one_wavelength(count: int, angle_deg: float, level_db: float) -> None:
    array = design_array(count, 1.0)
    assert array_factor_db(array, float(angle_deg)) == pytest.approx(level_db, abs=0.006)
    assert array_factor_db(array, -float(angle_deg)) == pytest.approx(level_db, abs=0.006)


@given(st.integers(1, 64), st.floats(0.1, 5.0), st.floats(-90, 90))
def test_uniform_array_is_the_closed_form(count: int, spacing: float, angle_deg: float) -> None:
    half = math.pi * spacing * math.sin(math.radians(angle_deg))
    field = float(np.abs(array_field(design_array(count, spacing), math.sin(math.radians(angle_deg)))))
    if abs(math.sin(half)) > 1e-6:
        assert field == pytest.approx(abs(math.sin(count * half) / (count * math.sin(half))), abs=1e-9)
    assert field <= 1.0 + 1e-12


def test_array_factor_keeps_the_shape_and_nan() -> None:
    array = design_array(4, 1.0)
    levels = array_factor_db(array, np.array([[0.0, 5.0, np.nan]]))
    assert levels.shape == (1, 3)
    assert levels[0, 0] == pytest.approx(0.0, abs=1e-12)
    assert np.isnan(levels[0, 2])


@pytest.mark.parametrize(("count", "spacing"), [(4, 1.0), (8, 1.0), (8, 0.5), (16, 1.0), (32, 0.5)])
def test_first_null_is_that_of_the_aperture(count: int, spacing: float) -> None:
    null = minimum_below_beam(design_array(count, spacing))
    assert null.angle_deg == pytest.approx(-math.degrees(math.asin(1.0 / (count * spacing))), abs=1e-4)
    assert null.level_db < -80.0


# Half a wavelength apart isotropic sources in phase do not see one another: the directivity is N.
@pytest.mark.parametrize("count", [1, 2, 4, 8, 16, 64])
def test_directivity_at_half_wavelength_is_the_number(count: int) -> None:
    assert isotropic_directivity_dbi(design_array(count, 0.5)) == pytest.approx(
        10 * math.log10(count), abs=1e-9
    )


def test_close_elements_make_the_uniform_aperture() -> None:
    array = design_array(64, 0.125)
    assert isotropic_directivity_dbi(array) == pytest.approx(aperture_gain_dbi(8.0), abs=0.05)
    assert array_beamwidth_deg(array) == pytest.approx(aperture_beamwidth_deg(8.0), abs=0.01)


# Common practice, no source: an array aperture of about 16 wavelengths is usual at a 200 W relay.
def test_sixteen_wavelengths_of_a_usual_relay() -> None:
    array = design_array(16, 1.0)
    assert array_beamwidth_deg(array) == pytest.approx(3.17, abs=0.01)
    assert 12.0 < isotropic_directivity_dbi(array) < 15.1


@given(st.integers(2, 24), st.floats(0.5, 0.9), st.floats(-8.0, 8.0))
@settings(max_examples=40, deadline=None)
def test_tilt_puts_the_beam_below_the_horizontal(count: int, spacing: float, tilt_deg: float) -> None:
    # Spaced wider than this, a second lobe as strong as the beam comes into sight near the zenith.
    assume(spacing * (1.0 + math.sin(math.radians(abs(tilt_deg)))) < 0.98)
    array = design_array(count, spacing, tilt_deg=tilt_deg)
    assert array_factor_db(array, -tilt_deg) == pytest.approx(0.0, abs=1e-9)
    assert beam_elevation_deg(array) == pytest.approx(-tilt_deg, abs=0.4)


def test_taper_lowers_the_side_lobes_and_widens_the_beam() -> None:
    uniform, tapered = design_array(16, 0.7), design_array(16, 0.7, edge_db=-10.0)
    assert tapered.amplitudes[0] / max(tapered.amplitudes) == pytest.approx(10 ** (-10 / 20), rel=0.02)
    assert tapered.amplitudes == pytest.approx(tapered.amplitudes[::-1])
    assert array_beamwidth_deg(tapered) > array_beamwidth_deg(uniform)
    assert isotropic_directivity_dbi(tapered) < isotropic_directivity_dbi(uniform)
    beyond = np.arange(12.0, 40.0, 0.05)
    assert np.max(array_factor_db(uniform, beyond)) == pytest.approx(-17.8, abs=1.0)
    assert np.max(array_factor_db(tapered, beyond)) < -20.0
    first = np.arange(5.2, 12.0, 0.01)
    assert np.max(array_factor_db(uniform, first)) == pytest.approx(-13.2, abs=0.2)  # sin(x)/x: -13.26 dB


@pytest.mark.parametrize("count", [4, 7, 8, 16])
@pytest.mark.parametrize("edge_db", [0.0, -6.0])
@pytest.mark.parametrize("tilt_deg", [0.0, 3.0])
def test_null_fill_leaves_the_stated_field_in_the_null(count: int, edge_db: float, tilt_deg: float) -> None:
    empty = design_array(count, 0.8, edge_db=edge_db, tilt_deg=tilt_deg)
    filled = design_array(count, 0.8, edge_db=edge_db, tilt_deg=tilt_deg, null_fill_percent=15.0)
    null = minimum_below_beam(empty)
    assert null.level_db < -80.0
    assert array_factor_db(filled, null.angle_deg) == pytest.approx(20 * math.log10(0.15), abs=1e-3)
    assert array_factor_db(filled, -tilt_deg) == pytest.approx(0.0, abs=1e-9)
    assert sum(filled.amplitudes) == pytest.approx(sum(empty.amplitudes))
    assert minimum_below_beam(filled).level_db > -23.0
    assert isotropic_directivity_dbi(filled) < isotropic_directivity_dbi(empty)


GOOD: dict[str, Any] = {"count": 8, "spacing_wavelengths": 0.8}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"count": 0}, "number of elements is 0; allowed: 1 to 64"),
        ({"count": 2.5}, "number of elements is 2.5; allowed: a whole number, 1 to 64"),
        ({"count": True}, "number of elements is True; allowed: 1 to 64"),
        ({"count": 65}, "number of elements is 65; allowed: 1 to 64"),
        ({"spacing_wavelengths": 0.0}, "spacing_wavelengths is 0.0; allowed: 0.1 to 5"),
        ({"spacing_wavelengths": math.nan}, "spacing_wavelengths is nan; allowed: 0.1 to 5"),
        ({"tilt_deg": 45.0}, "tilt_deg is 45.0; allowed: -30 to 30"),
        ({"edge_db": 3.0}, "edge_db is 3.0; allowed: -40 to 0"),
        ({"null_fill_percent": 70.0}, "null_fill_percent is 70.0; allowed: 0 to 60"),
        ({"null_fill_percent": 60.0, "edge_db": -20.0}, "null_fill_percent is 60.0; allowed: 0 to "),
        (
            {"count": 1, "null_fill_percent": 10.0},
            "null_fill_percent is asked of an array without nulls; allowed: 0, or a longer array",
        ),
    ],
)
def test_design_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        design_array(**(GOOD | change))
    assert str(caught.value).startswith(message)
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("spacing", "amplitudes", "phases", "message"),
    [
        (1.0, (), (), "number of elements is 0; allowed: 1 to 64"),
        (1.0, (1.0, 1.0), (0.0,), "number of phases is 1; allowed: one per element, 2"),
        (1.0, (0.0, 0.0), (0.0, 0.0), "amplitudes is all 0; allowed: at least one element that is fed"),
        (1.0, (-1.0,), (0.0,), "amplitude of an element is -1.0; allowed: 0 to 1e+06"),
        (1.0, (1.0,), (math.nan,), "phase of an element in degrees is nan; allowed: "),
    ],
)
def test_array_refused(spacing: float, amplitudes: Any, phases: Any, message: str) -> None:
    with pytest.raises(RangeError) as caught:
        LinearArray(spacing, amplitudes, phases)
    assert str(caught.value).startswith(message)


def test_a_beam_without_width_or_minimum() -> None:
    with pytest.raises(
        RangeError, match="beam is within 3 dB for 60 degrees; allowed: a beam that falls by 3 dB"
    ):
        array_beamwidth_deg(design_array(2, 0.1))
    with pytest.raises(
        RangeError, match="beam is without a minimum within 90 degrees; allowed: a beam with nulls"
    ):
        minimum_below_beam(design_array(2, 0.3))


@pytest.mark.parametrize(("count", "spacing", "tilt_deg"), [(4, 1.0, 1.0), (64, 5.0, 1.007), (16, 1.0, 0.5)])
def test_of_equal_lobes_the_beam_is_the_one_nearest_the_horizontal(count, spacing, tilt_deg):
    assert beam_elevation_deg(design_array(count, spacing, tilt_deg=tilt_deg)) == pytest.approx(
        -tilt_deg, abs=1e-4
    )
