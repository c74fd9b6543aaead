"""Directivity of the public's receiving aerials: ITU-R BT.419-3, a curve for each band."""

from __future__ import annotations

from typing import Final, NamedTuple, TypeVar

import numpy as np

from combe.decibels import FloatArray
from combe.standards.cited import Cited, Confidence

Angle = TypeVar("Angle", float, FloatArray)


class Corner(NamedTuple):
    """A corner of the directivity curve, straight lines between corners."""

    off_axis_deg: float
    relative_db: float
    reference: str
    confidence: Confidence


Curve = tuple[Corner, ...]

_BANDS_IV_V: Final = "ITU-R BT.419-3, Bands IV and V, read in a public implementation"


def _curve(reference: str, confidence: Confidence, *corners: tuple[float, float]) -> Curve:
    return tuple(Corner(*corner, reference, confidence) for corner in corners)


DIRECTIVITY_BAND_I: Final = _curve(
    "ITU-R BT.419-3, Band I", "from memory", (0.0, 0.0), (50.0, 0.0), (70.0, -6.0), (180.0, -6.0)
)
DIRECTIVITY_BAND_III: Final = _curve(
    "ITU-R BT.419-3, Band III", "from memory", (0.0, 0.0), (27.0, 0.0), (60.0, -12.0), (180.0, -12.0)
)
DIRECTIVITY_BANDS_IV_V: Final = _curve(
    _BANDS_IV_V, "read", (0.0, 0.0), (20.0, 0.0), (60.0, -16.0), (180.0, -16.0)
)

ALL_AROUND: Final = _curve(
    "portable aerial, GE06 Final Acts", "from memory", (0.0, 0.0), (60.0, 0.0), (120.0, 0.0), (180.0, 0.0)
)
"""Of an aerial that hears alike from all around and in any polarization; none of BT.419."""

DIRECTIVITY_CURVES: Final = (DIRECTIVITY_BAND_I, DIRECTIVITY_BAND_III, DIRECTIVITY_BANDS_IV_V, ALL_AROUND)
"""By the number that :func:`curve_number` gives; all with as many corners, for kernels take them as one
array."""

CURVES_END_MHZ: Final = (120.0, 300.0)
"""Up to where the curves of Bands I and III count. Between the bands there is none: whatever television lies
under 120 MHz is received with aerials like those of Band I (own choice, no source)."""

ORTHOGONAL_DB: Final = Cited(-16.0, "ITU-R BT.419-3, orthogonal polarization, any azimuth", "from memory")
"""One combined value against a signal of the other polarization; it replaces the curve."""


def curve_number(frequency_mhz: float, *, directional: bool = True) -> int:
    """Return which of :data:`DIRECTIVITY_CURVES` holds for an aerial that is made for a frequency [MHz].

    One that is not ``directional``, as portable ones are not, has that of all around.

    Examples
    --------
    >>> curve_number(62.25), curve_number(201.5), curve_number(634.0)
    (0, 1, 2)
    """
    if not directional:
        return DIRECTIVITY_CURVES.index(ALL_AROUND)
    return sum(frequency_mhz >= end_mhz for end_mhz in CURVES_END_MHZ)


def directivity_db(off_axis_deg: Angle, curve: Curve = DIRECTIVITY_BANDS_IV_V) -> Angle:
    """Return the gain relative to the axis [dB] for a signal of the same polarization.

    Parameters
    ----------
    off_axis_deg : float or array of any shape
        Angle between the aerial's axis and the arriving signal [degrees], either side, any turn.
    curve : tuple of Corner
        That of the band for which the aerial is made.

    Returns
    -------
    float or array
        0 to −16 dB in Bands IV and V, like ``off_axis_deg``; NaN for NaN.

    Examples
    --------
    >>> directivity_db(30.0)
    -4.0
    """
    corners = [(corner.off_axis_deg, corner.relative_db) for corner in curve]
    angles, gains = zip(*corners, strict=True)
    gain: FloatArray = np.interp(off_axis_0_180_deg(off_axis_deg), angles, gains)
    return float(gain) if isinstance(off_axis_deg, int | float) else gain


def orthogonal_directivity_db(off_axis_deg: Angle) -> Angle:
    """Return the gain relative to the axis [dB] for a signal of the other polarization (from memory).

    The same −16 dB from everywhere in all bands, shaped like ``off_axis_deg``; NaN for NaN.
    """
    gain = np.where(np.isnan(off_axis_deg), np.nan, ORTHOGONAL_DB.value)
    return float(gain) if isinstance(off_axis_deg, int | float) else gain


def off_axis_0_180_deg(angle_deg: Angle) -> Angle:
    """Return an angle or a difference of bearings [degrees] folded to 0 to 180."""
    with np.errstate(invalid="ignore"):
        # Any turn, to either side: first into one turn about 0, then the sign goes.
        turned = np.remainder(np.asarray(angle_deg, dtype=np.float64) + 180.0, 360.0)
    folded: FloatArray = np.abs(turned - 180.0)
    return float(folded) if isinstance(angle_deg, int | float) else folded
