"""A check by chance of the sums of fields: many random places, drawn from a stated seed."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.errors import require_range
from combe.reception.pair_sum import LOGS_PER_DB

FloatArray = npt.NDArray[np.float64]


def draw_sums(
    medians_dbuv_m: FloatArray,
    sigma_db: FloatArray,
    *,
    correlation: float = 0.0,
    draws: int = 200_000,
    seed: int = 1,
) -> FloatArray:
    """Return the power sum of fields [dB(µV/m)] at random places.

    Parameters
    ----------
    medians_dbuv_m, sigma_db : arrays (n,)
        Of each field [dB(µV/m)], [dB].
    correlation : float
        ρ of any two fields, 0 to 1: a scatter of weight √ρ is common to all.
    draws, seed : int
        Number of places, 1 to 10 million, and the start of the random numbers.

    Returns
    -------
    array (draws,)
    """
    fields = draw_fields(medians_dbuv_m, sigma_db, correlation=correlation, draws=draws, seed=seed)
    summed: FloatArray = np.logaddexp.reduce(fields * LOGS_PER_DB, axis=0) / LOGS_PER_DB
    return summed


def draw_fields(
    medians_dbuv_m: FloatArray,
    sigma_db: FloatArray,
    *,
    correlation: float = 0.0,
    draws: int = 200_000,
    seed: int = 1,
) -> FloatArray:
    """Return the fields [dB(µV/m)] themselves, shape (n, draws); parameters as :func:`draw_sums`."""
    require_range("correlation", correlation, 0.0, 1.0)
    require_range("draws", draws, 1, 10_000_000)
    chance = np.random.default_rng(seed)
    shared = chance.standard_normal(draws)
    own = chance.standard_normal((len(medians_dbuv_m), draws))
    scatter = math.sqrt(correlation) * shared + math.sqrt(1.0 - correlation) * own
    fields: FloatArray = np.asarray(medians_dbuv_m)[:, None] + np.asarray(sigma_db)[:, None] * scatter
    return fields
