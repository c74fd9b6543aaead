"""Nuisance fields: how strongly each interferer counts at a place whose aerial looks at its wanted station.

Nuisance field = interfering field + protection ratio + directivity of the receiving aerial (0 dB or less).
The greater counts of tropospheric interference (field for 1 % of time, or whichever the map was made for) and
continuous interference (median field, with its own ratio). Directivity is that of ITU-R BT.419-3 for the band
of the wanted emission; against the other polarization one combined value replaces the curve.
"""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np

from combe.compiling import inner_kernel, kernel_part
from combe.decibels import FloatArray
from combe.reception.service import Field
from combe.standards import (
    DIRECTIVITY_BANDS_IV_V,
    DIRECTIVITY_CURVES,
    ORTHOGONAL_DB,
    Curve,
    directivity_db,
    off_axis_0_180_deg,
    orthogonal_directivity_db,
)

ORTHOGONAL_GAIN_DB: Final = ORTHOGONAL_DB.value
LEAST_GAIN_DB: Final = min(
    ORTHOGONAL_GAIN_DB, *(corner.relative_db for curve in DIRECTIVITY_CURVES for corner in curve)
)
"""The least gain of any band's aerial in any direction, for any polarization."""


def curve_corners() -> FloatArray:
    """Return the corners of the directivity curves, shape (curves, corners, 3).

    Off-axis angle [degrees], gain [dB], cosine of the angle; by the number of the curve.
    """
    return np.array(
        [
            [
                (corner.off_axis_deg, corner.relative_db, math.cos(math.radians(corner.off_axis_deg)))
                for corner in curve
            ]
            for curve in DIRECTIVITY_CURVES
        ]
    )


def off_axis_deg(
    x_m: Any, y_m: Any, wanted_m: tuple[float, float], unwanted_m: tuple[float, float]
) -> FloatArray:
    """Return the angle [degrees] at places between the ways to two stations; 0 at a station's own place.

    Parameters
    ----------
    x_m, y_m : arrays that broadcast
        Places [m], in the coordinates of a projection that keeps angles (every UTM zone).
    wanted_m, unwanted_m : (x, y)
        Stations [m].
    """
    bearings = [np.degrees(np.arctan2(x - x_m, y - y_m)) for x, y in (wanted_m, unwanted_m)]
    at_station = [np.hypot(x - x_m, y - y_m) == 0.0 for x, y in (wanted_m, unwanted_m)]
    angle = off_axis_0_180_deg(bearings[1] - bearings[0])
    return np.where(at_station[0] | at_station[1], 0.0, angle)


def nuisance_field_dbuv_m(
    median_dbuv_m: Field,
    at_time_dbuv_m: Field,
    *,
    tropospheric_db: float,
    continuous_db: float,
    off_axis: Field | float,
    crossed: bool,
    curve: Curve = DIRECTIVITY_BANDS_IV_V,
) -> FloatArray:
    """Return the nuisance field of one interferer [dB(µV/m)].

    Parameters
    ----------
    median_dbuv_m, at_time_dbuv_m : arrays
        Its field for 50 % of time, and for the small percentage of tropospheric interference [dB(µV/m)].
    tropospheric_db, continuous_db : float
        Protection ratios [dB].
    off_axis : array or float
        Angle between the wanted and the unwanted station as seen from the place [degrees].
    crossed : bool
        Whether its polarization is not that of the wanted station.
    curve : tuple of Corner
        Of the aerial's directivity, by the band of the wanted station.

    Returns
    -------
    array
        NaN where either field is.
    """
    angle = np.asarray(off_axis, dtype=np.float64)
    gain = orthogonal_directivity_db(angle) if crossed else directivity_db(angle, curve)
    continuous = np.asarray(median_dbuv_m, dtype=np.float64) + continuous_db
    tropospheric = np.asarray(at_time_dbuv_m, dtype=np.float64) + tropospheric_db
    greater: FloatArray = np.maximum(continuous, tropospheric) + gain
    return greater


@inner_kernel
def curve_gain_db(cosine: float, corners: FloatArray) -> float:
    """Return the gain [dB] of the curve at the angle of a cosine; the angle is found only on a slope."""
    last = corners.shape[0] - 1
    i = 1
    while i < last and cosine < corners[i, 2]:
        i += 1
    rise: float = corners[i, 1] - corners[i - 1, 1]
    # Most stations lie on the flat parts of the curve, where the cosine is enough and no arc is taken.
    if rise == 0.0:
        return float(corners[i, 1])
    angle = math.degrees(math.acos(cosine))
    part = (angle - corners[i - 1, 0]) / (corners[i, 0] - corners[i - 1, 0])
    return float(corners[i - 1, 1] + rise * part)


@kernel_part
def aerial_gain_db(
    wanted_x: float,
    wanted_y: float,
    unwanted_x: float,
    unwanted_y: float,
    crossed: bool,
    corners: FloatArray,
) -> float:
    """Return the gain [dB] towards an unwanted station from the ways [m] to it and to the wanted one.

    ``corners`` (corners, 3) are those of one curve.
    """
    if crossed:
        return ORTHOGONAL_GAIN_DB
    squares = (wanted_x * wanted_x + wanted_y * wanted_y) * (
        unwanted_x * unwanted_x + unwanted_y * unwanted_y
    )
    # At the foot of either mast there is no direction; the aerial is taken to look straight at it.
    if squares == 0.0:
        return curve_gain_db(1.0, corners)
    cosine = (wanted_x * unwanted_x + wanted_y * unwanted_y) / math.sqrt(squares)
    # Rounding may carry the cosine of stations in one line past 1.
    return curve_gain_db(max(-1.0, min(1.0, cosine)), corners)
