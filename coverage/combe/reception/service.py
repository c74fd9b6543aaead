"""Where a service is received: masks and combinations of fields, with NaN for no prediction."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from typing import Any

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError

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
    return reduce(np.minimum, fields_dbuv_m)


def strongest_field(fields_dbuv_m: Sequence[Field]) -> Field:
    """Return the greatest field of several stations, for a place that may turn to any.

    NaN only where no station has a prediction; shapes and errors as :func:`weakest_field`.
    """
    _require_alike("fields", fields_dbuv_m)
    return reduce(np.fmax, fields_dbuv_m)


def weakest_margin(fields_dbuv_m: Sequence[Field], minima_dbuv_m: Sequence[float]) -> Field:
    """Return how far the worst-off service is over its own minimum [dB].

    The minimum field differs from channel to channel, so services are compared by margin, not by field.

    Parameters
    ----------
    fields_dbuv_m : sequence of arrays of one shape
        Field strength of each service [dB(µV/m)].
    minima_dbuv_m : sequence of float
        The least field that serves, one per service [dB(µV/m)].

    Returns
    -------
    array
        0 or more where all services are received; NaN where any has no prediction.

    Raises
    ------
    RangeError
        For no field at all, different shapes, or another number of minima than of fields.
    """
    if len(minima_dbuv_m) != len(fields_dbuv_m):
        raise RangeError("number of minima", len(minima_dbuv_m), f"{len(fields_dbuv_m)}, one per field")
    return weakest_field(
        [field - minimum for field, minimum in zip(fields_dbuv_m, minima_dbuv_m, strict=True)]
    )


def _require_alike(name: str, arrays: Sequence[Field]) -> None:
    if not arrays:
        raise RangeError(f"number of {name}", 0, "at least one")
    shapes = list(dict.fromkeys(np.shape(array) for array in arrays))
    if len(shapes) > 1:
        raise RangeError(f"shapes of the {name}", " and ".join(map(str, shapes)), "one shape for all")
