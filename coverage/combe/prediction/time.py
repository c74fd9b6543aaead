"""Time beyond the median: a documented construction for what P.1812 does not cover, above 50 % of time.

A relay must hear its parent for nearly all of the time, and P.1812 stops at 50 %. The usual construction
(common practice, no Recommendation) mirrors the loss about its median: L(T) = 2 L(50 %) − L(100 % − T). For
a feed L holds line of sight with focusing and diffraction alone, Lb0p + Ldp. A 1 % value that comes from
ducting says nothing of the fades at 99 %, and troposcatter is not relied on.

Service of ATSC is planned with F(50,90), and there the rule book has the construction itself, with the whole
field: F(50,90) = F(50,50) − [F(50,10) − F(50,50)], 47 CFR 73.625(b)(1), now 73.619(b)(1) (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.prediction.conditions import MEDIAN_PERCENT
from combe.prediction.path import PathPrediction

MIRRORED: Final = (
    "a construction, not in ITU-R P.1812-8: line of sight and diffraction mirrored about the median of time, "
    "without troposcatter and ducting"
)
MEDIAN: Final = "the median of time, as the model gives it"


@dataclass(frozen=True)
class BeyondMedian:
    """Loss [dB] not exceeded for ``time_percent`` of time [%], and how far it is over the median.

    ``method`` says in words how it was come by.
    """

    time_percent: float
    basic_loss_db: float
    fade_db: float
    method: str


def mirrored_percent(time_percent: float) -> float:
    """Return 100 − T [%], the time percentage that is mirrored for T of 50 to 99 %.

    Raises
    ------
    RangeError
        Outside 50 to 99 %, since P.1812 begins at 1 %.
    """
    require_range("time_percent of the feed", time_percent, 50.0, 99.0)
    return 100.0 - time_percent


def beyond_median(median: PathPrediction, mirrored: PathPrediction, time_percent: float) -> BeyondMedian:
    """Return the loss not exceeded for a time percentage of 50 to 99 % (a construction, see the module).

    Parameters
    ----------
    median, mirrored
        One path, predicted for 50 % of time and for :func:`mirrored_percent`.
    time_percent
        Percentage of time [%].

    Returns
    -------
    BeyondMedian
        The fade is not below 0. A model other than P.1812 gives its median, and 50 % as the percentage.

    Raises
    ------
    RangeError
        For a percentage out of range, or predictions made for others than those it asks.
    """
    asked = (MEDIAN_PERCENT, mirrored_percent(time_percent))
    if median.p1812_steps is None or mirrored.p1812_steps is None:
        return BeyondMedian(MEDIAN_PERCENT, median.basic_loss_db, 0.0, _without_statistics(time_percent))
    made = (median.conditions.time_percent, mirrored.conditions.time_percent)
    if made != asked:
        raise RangeError("time percentages of the two predictions", made, str(asked))
    if time_percent == MEDIAN_PERCENT:
        return BeyondMedian(MEDIAN_PERCENT, median.basic_loss_db, 0.0, MEDIAN)
    # Lb0p + Ldp of both times: the step of P.1812 before ducts and scatter are joined in.
    mirror_db = 2.0 * median.p1812_steps.basic_diffraction_db - mirrored.p1812_steps.basic_diffraction_db
    # The median has ducts and scatter in it, what is mirrored has not and may come out under it; a fade
    # below 0 is none.
    loss_db = max(mirror_db, median.basic_loss_db)
    return BeyondMedian(time_percent, loss_db, loss_db - median.basic_loss_db, MIRRORED)


def standing_loss_db(median_db: npt.ArrayLike, rare_db: npt.ArrayLike) -> FloatArray:
    """Return the loss [dB] behind a field that stands for more than half of the time, as F(50,90) does.

    Parameters
    ----------
    median_db, rare_db
        Losses not exceeded for 50 % of time, and for what is left to 100 %; NaN without prediction.

    Returns
    -------
    array
        2 L(50 %) − L(100 % − T), not below the median.

    Examples
    --------
    >>> float(standing_loss_db(120.0, 117.0))
    123.0
    """
    median = np.asarray(median_db, dtype=np.float64)
    return np.maximum(2.0 * median - np.asarray(rare_db, dtype=np.float64), median)


def _without_statistics(time_percent: float) -> str:
    if time_percent == MEDIAN_PERCENT:
        return MEDIAN
    return (
        f"the model has no statistics of time, so its median stands for the {time_percent:g} % of time asked"
    )
