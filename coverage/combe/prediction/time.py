"""Field that stands for more than half of the time, as services of ATSC are planned with: F(50,90).

The rule book has the construction itself, with the whole field: F(50,90) = F(50,50) − [F(50,10) − F(50,50)],
47 CFR 73.625(b)(1), now 73.619(b)(1) (from memory). Feeds are not judged by it: see
:mod:`combe.prediction.over_time`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray


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
