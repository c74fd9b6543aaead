"""Counts the people who are served, newly served, or live where there is no prediction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError

FloatArray = npt.NDArray[np.floating[Any]]
Mask = npt.NDArray[np.bool_]

ROUNDING: Final = 1e-6
"""How far fractions may stray from 0 to 1, or over one another, by resampling; they are then clipped."""


@dataclass(frozen=True)
class PeopleReport:
    """People by what the prediction says of them.

    ``served`` + ``unserved`` + ``without_prediction`` = ``total``. ``newly_served`` are among the served;
    None where there is nothing to compare with. Numbers of people, not rounded.
    """

    total: float
    served: float
    unserved: float
    without_prediction: float
    newly_served: float | None = None


def people_served(counts: FloatArray, fraction: FloatArray) -> float:
    """Return the people of the covered fractions.

    Parameters
    ----------
    counts : array (r, c)
        People per population cell, 0 or more.
    fraction : array (r, c)
        Covered fraction of each cell, 0 to 1.

    Returns
    -------
    float
        Sum in double precision.

    Raises
    ------
    RangeError
        For shapes that differ, counts that are negative or not finite, fractions outside 0 to 1.
    """
    people = _checked_counts(counts)
    return _sum(people, _checked_fraction("served fraction", fraction, people.shape))


def people_report(
    counts: FloatArray,
    *,
    served: FloatArray,
    predicted: FloatArray,
    newly_served: FloatArray | None = None,
) -> PeopleReport:
    """Count people from the covered fractions of their cells.

    Parameters
    ----------
    counts : array (r, c)
        People per population cell, 0 or more; a population raster's no-data cells are 0 by then.
    served : array (r, c)
        Fraction of each cell that is served, 0 to 1.
    predicted : array (r, c)
        Fraction of each cell that has a prediction; 0 for cells outside the study.
    newly_served : array (r, c), optional
        Fraction that :func:`newly_served_mask` marks.

    Returns
    -------
    PeopleReport

    Raises
    ------
    RangeError
        As :func:`people_served`; also where more is served than predicted, or newly served than served.
    """
    people = _checked_counts(counts)
    known = _checked_fraction("predicted fraction", predicted, people.shape)
    reached = _within("served fraction", served, known, "the predicted fraction")
    new = None
    if newly_served is not None:
        new = _sum(people, _within("newly served fraction", newly_served, reached, "the served fraction"))
    return PeopleReport(
        total=float(people.sum()),
        served=_sum(people, reached),
        unserved=_sum(people, known - reached),
        without_prediction=_sum(people, 1.0 - known),
        newly_served=new,
    )


def newly_served_mask(served_after: Mask, served_before: Mask, predicted_before: Mask) -> Mask:
    """Return where a place is served after a change and was not before.

    A place with no prediction of the time before is not counted: nobody knows whether it is new.

    Parameters
    ----------
    served_after, served_before, predicted_before : bool arrays of one shape

    Returns
    -------
    bool array
    """
    new: Mask = served_after & ~served_before & predicted_before
    return new


def _checked_counts(counts: FloatArray) -> npt.NDArray[np.float64]:
    people = np.asarray(counts, dtype=np.float64)
    bad = int(np.count_nonzero(~(np.isfinite(people) & (people >= 0.0))))
    if bad:
        raise RangeError(
            "people per cell", f"negative or not finite in {bad} of {people.size} cells", "0 or more"
        )
    return people


def _checked_fraction(name: str, fraction: FloatArray, shape: tuple[int, ...]) -> npt.NDArray[np.float64]:
    part = np.asarray(fraction, dtype=np.float64)
    if part.shape != shape:
        raise RangeError(f"shape of the {name}", part.shape, f"{shape}, as the people")
    bad = int(np.count_nonzero(~((part >= -ROUNDING) & (part <= 1.0 + ROUNDING))))
    if bad:
        raise RangeError(name, f"outside 0 to 1 or NaN in {bad} of {part.size} cells", "0 to 1")
    return np.clip(part, 0.0, 1.0)


def _within(
    name: str, fraction: FloatArray, whole: npt.NDArray[np.float64], whole_name: str
) -> npt.NDArray[np.float64]:
    part = _checked_fraction(name, fraction, whole.shape)
    over = int(np.count_nonzero(part > whole + ROUNDING))
    if over:
        raise RangeError(name, f"over {whole_name} in {over} of {part.size} cells", f"at most {whole_name}")
    return np.minimum(part, whole)


def _sum(people: npt.NDArray[np.float64], fraction: npt.NDArray[np.float64]) -> float:
    return float(np.sum(people * fraction))
