"""Where a service is received, and in what share of the places of a cell; NaN for no prediction.

Within a small area the field in decibels is taken as normally distributed about its median (ITU-R P.1812-8
§4.7, P.1546). So the share of places that reach a required field is Φ((E − Ereq)/σ), and the median that
serves a stated share is Ereq + μσ.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import reduce
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.standards import location_factor

Field = npt.NDArray[np.floating[Any]]
Mask = npt.NDArray[np.bool_]


def served_mask(field_dbuv_m: Field, minimum_dbuv_m: float | Field) -> Mask:
    """Return where a field reaches a minimum.

    Parameters
    ----------
    field_dbuv_m : array of any shape
        Field strength [dB(µV/m)], NaN where there is no prediction.
    minimum_dbuv_m : float or array
        The least field that serves [dB(µV/m)]; broadcasts.

    Returns
    -------
    bool array
        True where served; False where not, and where there is no prediction.
    """
    served: Mask = np.greater_equal(field_dbuv_m, minimum_dbuv_m)
    return served


def predicted_mask(field_dbuv_m: Field) -> Mask:
    """Return where there is a prediction: True where the field is not NaN."""
    return ~np.isnan(field_dbuv_m)


def weakest_field(fields_dbuv_m: Sequence[Field]) -> Field:
    """Return the least field of several services, for a place that wants them all.

    Parameters
    ----------
    fields_dbuv_m : sequence of arrays of one shape
        Field strength of each service [dB(µV/m)].

    Returns
    -------
    array
        NaN where any service has no prediction.

    Raises
    ------
    RangeError
        For no field at all, or fields of different shapes.
    """
    _require_alike("fields", fields_dbuv_m)
    # minimum keeps NaN: who wants all services does not know what one unknown leaves.
    return reduce(np.minimum, fields_dbuv_m)


def strongest_field(fields_dbuv_m: Sequence[Field]) -> Field:
    """Return the greatest field of several stations, for a place that may turn to any.

    NaN only where no station has a prediction; shapes and errors as :func:`weakest_field`.
    """
    _require_alike("fields", fields_dbuv_m)
    # fmax passes over NaN: a station without prediction does not hide one that has one.
    return reduce(np.fmax, fields_dbuv_m)


def _require_alike(name: str, arrays: Sequence[Field]) -> None:
    if not arrays:
        raise RangeError(f"number of {name}", 0, "at least one")
    shapes = list(dict.fromkeys(np.shape(array) for array in arrays))
    if len(shapes) > 1:
        raise RangeError(f"shapes of the {name}", " and ".join(map(str, shapes)), "one shape for all")


PLANNING_PERCENTAGES: Final = (50.0, 70.0, 95.0, 99.0)
"""Shares of places [%] that planning speaks of: median, acceptable, good, and mobile reception (GE06)."""


def location_probability(
    median_dbuv_m: Field | float, required_dbuv_m: Field | float, sigma_db: Field | float
) -> FloatArray:
    """Return the share of places that reach a required field, 0 to 1.

    Parameters
    ----------
    median_dbuv_m : array of any shape
        Median field of each cell [dB(µV/m)]; NaN where there is no prediction.
    required_dbuv_m : float or array
        Field that the receiver needs at its place [dB(µV/m)], without any allowance for places.
    sigma_db : float or array
        Standard deviation over places [dB], 0 or more; 0 makes a step.

    Returns
    -------
    array
        Of the broadcast shape; NaN where the median is.

    Raises
    ------
    RangeError
        For a deviation below 0 or not a number.
    """
    sigma = _deviation("sigma_db", sigma_db)
    return _share_over(np.asarray(median_dbuv_m, dtype=np.float64) - required_dbuv_m, sigma)


def required_median_dbuv_m(required_dbuv_m: float, location_percent: float, sigma_db: float) -> float:
    """Return the median field [dB(µV/m)] that gives a required field in a share of places.

    The factor μ is as printed for 70, 95 and 99 % (0.52, 1.64, 2.33; GE06, BT.2033), else the exact quantile.

    Raises
    ------
    RangeError
        For a percentage outside 1 to 99.9 % or a deviation below 0.

    Examples
    --------
    >>> round(required_median_dbuv_m(45.17, 95.0, 5.5), 2)
    54.19
    """
    _deviation("sigma_db", sigma_db)
    return required_dbuv_m + location_factor(location_percent).value * sigma_db


def required_medians_dbuv_m(required_dbuv_m: float, sigma_db: float) -> Mapping[float, float]:
    """Return the median fields [dB(µV/m)] for 50, 70, 95 and 99 % of places, by percentage."""
    return {
        percent: required_median_dbuv_m(required_dbuv_m, percent, sigma_db)
        for percent in PLANNING_PERCENTAGES
    }


def coverage_chance(
    wanted_dbuv_m: Field | float,
    interferer_dbuv_m: Field | float,
    protection_ratio_db: Field | float,
    *,
    wanted_sigma_db: float,
    interferer_sigma_db: float,
    correlation: float = 0.0,
) -> FloatArray:
    """Return the share of places in which a service keeps its protection ratio against one interferer.

    Both fields are normal in decibels over the same places, so their ratio is, with the deviation
    √(σw² + σi² − 2ρσwσi).

    Parameters
    ----------
    wanted_dbuv_m, interferer_dbuv_m : arrays of shapes that broadcast
        Median fields [dB(µV/m)], the interferer's with the receiving aerial's discrimination taken off.
    protection_ratio_db : float or array
        Required ratio of wanted to interfering field [dB].
    wanted_sigma_db, interferer_sigma_db : float
        Standard deviations over places [dB].
    correlation : float
        ρ of the two fields over places, 0 (independent) to 1.

    Returns
    -------
    array
        0 to 1; NaN where a field is.

    Raises
    ------
    RangeError
        For a deviation below 0 or a correlation outside 0 to 1.
    """
    require_range("correlation", correlation, 0.0, 1.0)
    wanted, interferer = (
        float(_deviation(name, sigma))
        for name, sigma in (
            ("wanted_sigma_db", wanted_sigma_db),
            ("interferer_sigma_db", interferer_sigma_db),
        )
    )
    variance = wanted**2 + interferer**2 - 2.0 * correlation * wanted * interferer
    # Wanted less unwanted is normal too; what both scatter together falls out of it. Of equal deviations that
    # rise and fall as one, rounding may leave a variance a hair below 0.
    spare = np.asarray(wanted_dbuv_m, dtype=np.float64) - interferer_dbuv_m - protection_ratio_db
    return _share_over(spare, np.asarray(math.sqrt(max(variance, 0.0))))


def _share_over(spare_db: Any, sigma_db: FloatArray) -> FloatArray:
    """Return Φ(spare/σ); for σ = 0 a step that is 1 from 0 upwards."""
    from scipy.special import ndtr

    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(sigma_db > 0.0, ndtr(spare_db / sigma_db), np.where(spare_db >= 0.0, 1.0, 0.0))
    return np.where(np.isnan(spare_db), np.nan, share)


def _deviation(name: str, sigma_db: Field | float) -> FloatArray:
    """Return a deviation as an array; RangeError unless 0 or more everywhere."""
    sigma = np.asarray(sigma_db, dtype=np.float64)
    wrong = sigma[~((sigma >= 0.0) & (sigma < 100.0))]
    if wrong.size:
        raise RangeError(name, float(wrong.flat[0]), "0 to below 100 dB")
    return sigma
