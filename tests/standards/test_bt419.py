"""Checks of the receiving aerial's directivity: ITU-R BT.419-3."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.evidence.bt419 import CURVE
from combe.standards.bt419 import (
    DIRECTIVITY_BAND_I,
    DIRECTIVITY_BAND_III,
    DIRECTIVITY_BANDS_IV_V,
    DIRECTIVITY_CURVES,
    ORTHOGONAL_DB,
    curve_number,
    directivity_db,
    off_axis_0_180_deg,
    orthogonal_directivity_db,
)


# ITU-R BT.419-3: 0 dB to 20 degrees, straight to -16 dB at 60 degrees, -16 dB beyond.
@pytest.mark.parametrize(("off_axis_deg", "expected_db"), CURVE)
def test_directivity(off_axis_deg: float, expected_db: float) -> None:
    assert directivity_db(float(off_axis_deg)) == pytest.approx(expected_db, abs=1e-12)


def test_corners_are_those_tested_and_cited() -> None:
    corners = [(corner.off_axis_deg, corner.relative_db) for corner in DIRECTIVITY_BANDS_IV_V]
    assert corners == [(0, 0), (20, 0), (60, -16), (180, -16)]
    assert all(
        "BT.419-3" in corner.reference and corner.confidence == "read" for corner in DIRECTIVITY_BANDS_IV_V
    )


# ITU-R BT.419-3, from memory: Band I to 50 degrees, -6 dB from 70; Band III to 27 degrees, -12 dB from 60.
@pytest.mark.parametrize(
    ("curve", "off_axis_deg", "expected_db"),
    [
        *((DIRECTIVITY_BAND_I, *point) for point in ((0, 0), (50, 0), (60, -3), (70, -6), (180, -6))),
        *((DIRECTIVITY_BAND_III, *point) for point in ((0, 0), (27, 0), (38, -4), (60, -12), (180, -12))),
    ],
)
def test_directivity_of_the_vhf_bands(curve, off_axis_deg: float, expected_db: float) -> None:
    assert directivity_db(float(off_axis_deg), curve) == pytest.approx(expected_db, abs=1e-12)
    assert {corner.confidence for corner in curve} == {"from memory"}


@pytest.mark.parametrize(
    ("frequency_mhz", "curve"),
    # Middles of E2, of the Japanese channel 3, of E5, of R12, and of channels 21 and 69 of Bands IV and V.
    [
        (50.5, DIRECTIVITY_BAND_I), (105.0, DIRECTIVITY_BAND_I), (177.5, DIRECTIVITY_BAND_III),
        (226.0, DIRECTIVITY_BAND_III), (474.0, DIRECTIVITY_BANDS_IV_V), (858.0, DIRECTIVITY_BANDS_IV_V),
    ],
)  # fmt: skip
def test_the_curve_is_that_of_the_band(frequency_mhz, curve) -> None:
    assert DIRECTIVITY_CURVES[curve_number(frequency_mhz)] is curve


def test_an_aerial_that_is_not_directional_has_no_band() -> None:
    """A portable one hears alike from all around (GE06)."""
    for frequency_mhz in (60.0, 200.0, 600.0):
        curve = DIRECTIVITY_CURVES[curve_number(frequency_mhz, directional=False)]
        assert [directivity_db(float(angle), curve) for angle in range(0, 181, 15)] == [0.0] * 13


def test_orthogonal_polarization_is_one_value_from_memory() -> None:
    """ITU-R BT.419-3, 16 dB at all azimuths, from memory; it is not added to the curve."""
    assert (ORTHOGONAL_DB.value, ORTHOGONAL_DB.confidence) == (-16.0, "from memory")
    np.testing.assert_array_equal(
        orthogonal_directivity_db(np.array([0.0, 90.0, np.nan])), [-16, -16, np.nan]
    )
    assert orthogonal_directivity_db(10.0) == -16.0


def test_shape_and_nan_are_kept() -> None:
    angles = np.array([[0.0, 30.0, np.nan], [np.inf, -30.0, 330.0]])
    np.testing.assert_allclose(directivity_db(angles), [[0, -4, np.nan], [np.nan, -4, -4]], atol=1e-12)
    assert math.isnan(directivity_db(math.nan))


@given(st.floats(-1000.0, 1000.0))
def test_angle_wraps_and_has_no_side(angle_deg: float) -> None:
    assert 0.0 <= off_axis_0_180_deg(angle_deg) <= 180.0
    assert directivity_db(angle_deg + 360.0) == pytest.approx(directivity_db(angle_deg), abs=1e-9)
    assert directivity_db(-angle_deg) == pytest.approx(directivity_db(angle_deg), abs=1e-9)


@given(st.floats(0.0, 180.0), st.floats(0.0, 180.0))
def test_never_stronger_further_off_the_axis(one_deg: float, other_deg: float) -> None:
    near, far = sorted((one_deg, other_deg))
    assert directivity_db(near) >= directivity_db(far)
