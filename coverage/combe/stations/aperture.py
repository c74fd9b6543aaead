"""A uniform linear aperture: gain, beamwidth and nulls in closed form, the yardstick of every array."""

from __future__ import annotations

import math
from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt

from combe.errors import require_range

FloatArray = npt.NDArray[np.float64]
Angle = TypeVar("Angle", float, FloatArray)

APERTURE_RANGE_WAVELENGTHS: Final = (0.25, 100.0)

HALF_POWER_SINC: Final = 1.3915573782515103
"""x at which sin(x)/x is the root of one half."""


def aperture_gain_dbi(aperture_wavelengths: float) -> float:
    """Return the directivity [dBi] of a uniform line of isotropic sources, in phase and without gaps.

    D = 2 / ∫ (sin(πAu)/(πAu))² du over u = −1 to 1, with u the sine of the elevation; the integral is
    2 (Si(2πA) − sin²(πA)/(πA)) / (πA). For a long aperture D is about 2A. Omnidirectional in azimuth; the
    pattern of the elements and all losses are left out.

    Parameters
    ----------
    aperture_wavelengths : float
        Length A of the line [wavelengths], 0.25 to 100.

    Raises
    ------
    RangeError
        Outside that range.

    Examples
    --------
    >>> round(aperture_gain_dbi(4.0), 2)
    9.14
    """
    from scipy.special import sici

    _require_aperture(aperture_wavelengths)
    x = math.pi * aperture_wavelengths
    sine_integral = float(sici(2.0 * x)[0])
    return 10.0 * math.log10(x / (sine_integral - math.sin(x) ** 2 / x))


def aperture_beamwidth_deg(aperture_wavelengths: float) -> float:
    """Return the half-power beamwidth [degrees]: 2 asin(0.4429/A), about 50.8/A for a long aperture.

    Raises
    ------
    RangeError
        For an aperture under 0.5 wavelengths, whose beam does not fall by 3 dB, or over 100.
    """
    require_range("aperture_wavelengths", aperture_wavelengths, 0.5, APERTURE_RANGE_WAVELENGTHS[1])
    return 2.0 * math.degrees(math.asin(HALF_POWER_SINC / (math.pi * aperture_wavelengths)))


def aperture_null_deg(aperture_wavelengths: float, order: int = 1) -> float:
    """Return the angle of a null off the beam [degrees]: asin(order/A).

    Raises
    ------
    RangeError
        For an aperture out of range, or an order that is no null in front of the line (1 to A).
    """
    _require_aperture(aperture_wavelengths)
    require_range("order of a null", order, 1, aperture_wavelengths, "a short aperture has few nulls")
    return math.degrees(math.asin(order / aperture_wavelengths))


def _require_aperture(aperture_wavelengths: float) -> None:
    require_range("aperture_wavelengths", aperture_wavelengths, *APERTURE_RANGE_WAVELENGTHS)
