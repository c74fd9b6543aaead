"""Checks of the uniform aperture against its integral, worked values and simple limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from combe.errors import RangeError
from combe.stations.linear_array import (
    aperture_beamwidth_deg,
    aperture_gain_dbi,
    aperture_null_deg,
)
from support_arrays import aperture_level_db

# Uniform line source, sin(x)/x with x = πA sin θ (any antenna text, e.g. IEEE Std 145 terms): values worked
# out in double precision; gain over a dipole with the power ratio 1.64.
ROWS = [
    # A, dBi, over 1.64, HPBW, first null
    (1, 3.45, 1.31, 52.6, None),
    (2, 6.24, 4.10, 25.6, 30.0),
    (4, 9.14, 6.99, 12.7, 14.48),
    (8, 12.10, 9.95, 6.35, 7.18),
    (12, 13.84, 11.69, 4.23, 4.78),
    (16, 15.08, 12.93, 3.17, 3.58),
]


@pytest.mark.parametrize(("aperture", "dbi", "dbd", "width_deg", "null_deg"), ROWS)
def test_worked_rows(
    aperture: float, dbi: float, dbd: float, width_deg: float, null_deg: float | None
) -> None:
    assert aperture_gain_dbi(aperture) == pytest.approx(dbi, abs=0.005)
    assert aperture_gain_dbi(aperture) - 10 * math.log10(1.64) == pytest.approx(dbd, abs=0.005)
    assert aperture_beamwidth_deg(aperture) == pytest.approx(width_deg, abs=0.05 if width_deg > 10 else 0.005)
    if null_deg is not None:
        assert aperture_null_deg(aperture) == pytest.approx(null_deg, abs=0.005)


@pytest.mark.parametrize("aperture", [0.25, 0.7, 1.5, 7.3, 100.0])
def test_gain_is_the_integral(aperture: float) -> None:
    mean = quad(lambda sine: np.sinc(aperture * sine) ** 2, 0.0, 1.0, limit=500)[0]
    assert aperture_gain_dbi(aperture) == pytest.approx(-10 * math.log10(mean), abs=1e-6)


def test_long_aperture_gains_twice_its_length() -> None:
    assert aperture_gain_dbi(100.0) == pytest.approx(10 * math.log10(200.0), abs=0.01)
    assert aperture_beamwidth_deg(50.0) * 50.0 == pytest.approx(50.8, abs=0.05)


def test_level_at_its_own_width_and_null() -> None:
    half = aperture_beamwidth_deg(6.0) / 2.0
    assert aperture_level_db(6.0, half) == pytest.approx(-3.0103, abs=1e-4)
    assert aperture_level_db(6.0, np.array([0.0, aperture_null_deg(6.0, 2)])) == pytest.approx(
        [0.0, -600], abs=400
    )
    assert aperture_level_db(6.0, 0.0) == 0.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: aperture_gain_dbi(0.0), "aperture_wavelengths is 0.0; allowed: 0.25 to 100"),
        (lambda: aperture_beamwidth_deg(0.4), "aperture_wavelengths is 0.4; allowed: 0.5 to 100"),
        (lambda: aperture_null_deg(0.9), "order of a null is 1; allowed: 1 to 0.9; a short aperture has few"),
        (lambda: aperture_null_deg(4.0, 5), "order of a null is 5; allowed: 1 to 4"),
        (lambda: aperture_gain_dbi(math.nan), "aperture_wavelengths is nan; allowed: 0.25 to 100"),
    ],
)
def test_refused(call, message: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert str(caught.value).startswith(message)
