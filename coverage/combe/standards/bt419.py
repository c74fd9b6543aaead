"""Directivity of the public's receiving aerials: ITU-R BT.419-3, Bands IV and V."""

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


DIRECTIVITY_BANDS_IV_V: Final = (
    Corner(0.0, 0.0, "ITU-R BT.419-3, Bands IV and V, read in a public implementation", "read"),
    Corner(20.0, 0.0, "ITU-R BT.419-3, Bands IV and V, read in a public implementation", "read"),
    Corner(60.0, -16.0, "ITU-R BT.419-3, Bands IV and V, read in a public implementation", "read"),
    Corner(180.0, -16.0, "ITU-R BT.419-3, Bands IV and V, read in a public implementation", "read"),
)

ORTHOGONAL_DB: Final = Cited(-16.0, "ITU-R BT.419-3, orthogonal polarization, any azimuth", "from memory")
"""One combined value against a signal of the other polarization; it replaces the curve."""


def directivity_db(off_axis_deg: Angle) -> Angle:
    """Return the gain relative to the axis [dB] for a signal of the same polarization.

    Parameters
    ----------
    off_axis_deg : float or array of any shape
        Angle between the aerial's axis and the arriving signal [degrees], either side, any turn.

    Returns
    -------
    float or array
        0 to −16 dB, like ``off_axis_deg``; NaN for NaN.

    Examples
    --------
    >>> directivity_db(30.0)
    -4.0
    """
    corners = [(corner.off_axis_deg, corner.relative_db) for corner in DIRECTIVITY_BANDS_IV_V]
    angles, gains = zip(*corners, strict=True)
    gain: FloatArray = np.interp(off_axis_0_180_deg(off_axis_deg), angles, gains)
    return float(gain) if isinstance(off_axis_deg, int | float) else gain


def orthogonal_directivity_db(off_axis_deg: Angle) -> Angle:
    """Return the gain relative to the axis [dB] for a signal of the other polarization (from memory).

    The same −16 dB from everywhere, shaped like ``off_axis_deg``; NaN for NaN.
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
