"""Loss of a signal on its way into a building: Recommendation ITU-R P.2109-1.

The loss varies from building to building and from place to place within one; what is given is the loss that
is not exceeded in a share of all of them. It holds from 80 MHz to 100 GHz, for buildings of two kinds:
traditional ones, and thermally efficient ones, whose metallised glass and foil hold much more off. Formula
and coefficients are as two public implementations have them, which agree. Places deep within a building are
among those counted, so the loss is more than plans take that suppose a place near a window.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final, Literal, NamedTuple, get_args

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError, require_choice

FloatArray = npt.NDArray[np.float64]
Building = Literal["traditional", "thermally efficient"]

FREQUENCIES_MHZ: Final = (80.0, 100_000.0)
LEAST_LOSS_DB: Final = -3.0
"""The third term C: through an open door more may arrive than the median outside."""

_NODES: Final = 80
"""Of the quadrature over the normal distribution; from 40 on the mean and the deviation no longer change."""


class Coefficients(NamedTuple):
    """Those of one kind of building (P.2109-1 Table 1), frequencies in GHz."""

    r: float
    s: float
    t: float
    u: float
    v: float
    w: float
    x: float
    y: float
    z: float


COEFFICIENTS: Final = MappingProxyType(
    {
        "traditional": Coefficients(12.64, 3.72, 0.96, 9.6, 2.0, 9.1, -3.0, 4.5, -2.0),
        "thermally efficient": Coefficients(28.19, -3.0, 8.48, 13.5, 3.8, 27.8, -2.9, 9.4, -2.1),
    }
)
_PER_DEGREE_DB: Final = 0.212
"""What an angle above or below the horizon adds: it looks through the roof, or into the ground floor."""


def building_entry_loss_db(
    frequency_mhz: npt.ArrayLike,
    share_percent: npt.ArrayLike,
    building: Building = "traditional",
    elevation_deg: npt.ArrayLike = 0.0,
) -> FloatArray:
    """Return the building entry loss [dB] that is not exceeded in a share of the places (P.2109-1 §3).

    Parameters
    ----------
    frequency_mhz
        Frequency [MHz], 80 to 100 000; arrays broadcast together.
    share_percent
        Share of buildings and places within them [%], above 0 and below 100.
    building : {"traditional", "thermally efficient"}
    elevation_deg
        Angle of the path over the horizon at the building's front [degrees], −90 to 90.

    Returns
    -------
    array
        Of the broadcast shape; NaN where an argument is.

    Raises
    ------
    RangeError
        For a frequency, a share or an angle out of range, or another kind of building.

    Examples
    --------
    >>> building_entry_loss_db(600.0, [50.0, 90.0]).round(2).tolist()
    [14.04, 24.32]
    """
    from scipy.special import ndtri

    share = _checked("share_percent", share_percent, 0.0, 100.0, "above 0 and below 100", ends=False)
    return _loss_db(frequency_mhz, ndtri(share / 100.0), building, elevation_deg)


class EntryStatistics(NamedTuple):
    """Mean and standard deviation of the building entry loss over all places [dB]."""

    mean_db: FloatArray
    deviation_db: FloatArray


def entry_statistics(
    frequency_mhz: npt.ArrayLike,
    building: Building = "traditional",
    elevation_deg: npt.ArrayLike = 0.0,
) -> EntryStatistics:
    """Return mean and deviation of the loss, for sums with what else is normal in decibels.

    The loss is not quite normal: its distribution leans to great losses. Arguments and errors as
    :func:`building_entry_loss_db`.

    Examples
    --------
    >>> found = entry_statistics(600.0)
    >>> round(float(found.mean_db), 2), round(float(found.deviation_db), 2)
    (14.63, 7.2)
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights = weights / weights.sum()
    # One axis more at the end, over which the expectation is taken.
    frequency, angle = (
        np.asarray(each, dtype=np.float64)[..., None] for each in (frequency_mhz, elevation_deg)
    )
    loss_db = _loss_db(frequency, nodes, building, angle)
    mean_db = loss_db @ weights
    variance = (loss_db - mean_db[..., None]) ** 2 @ weights
    return EntryStatistics(mean_db, np.sqrt(variance))


def _loss_db(
    frequency_mhz: npt.ArrayLike, deviate: FloatArray, building: str, elevation_deg: npt.ArrayLike
) -> FloatArray:
    """Return the loss [dB] at so many deviations over the median, Φ⁻¹(P)."""
    require_choice("building", building, get_args(Building))
    low, high = FREQUENCIES_MHZ
    frequency = _checked("frequency_mhz", frequency_mhz, low, high, f"{low:g} to {high:.0f}")
    angle = np.abs(_checked("elevation_deg", elevation_deg, -90.0, 90.0, "-90 to 90"))
    k, log_ghz = COEFFICIENTS[building], np.log10(frequency / 1000.0)
    mean_1 = k.r + k.s * log_ghz + k.t * log_ghz**2 + _PER_DEGREE_DB * angle
    mean_2 = k.w + k.x * log_ghz
    # Table 1: the two normal losses whose powers are added; the first for walls, the second for openings.
    a = deviate * (k.u + k.v * log_ghz) + mean_1
    b = deviate * (k.y + k.z * log_ghz) + mean_2
    total: Any = 10.0 ** (a / 10.0) + 10.0 ** (b / 10.0) + 10.0 ** (LEAST_LOSS_DB / 10.0)
    loss_db: FloatArray = 10.0 * np.log10(total)
    return loss_db


def _checked(
    name: str, given: npt.ArrayLike, low: float, high: float, allowed: str, *, ends: bool = True
) -> FloatArray:
    """Return an argument as an array; RangeError names the first number out of range, NaN passes."""
    values = np.asarray(given, dtype=np.float64)
    out = (values < low) | (values > high) if ends else (values <= low) | (values >= high)
    if out.any():
        raise RangeError(name, float(values[out].flat[0]), allowed)
    return values
