"""Sums of interfering fields that scatter over places, by three methods; and sums drawn by chance.

Each field is normal in decibels about its median (ITU-R P.1546, P.1812). Their sum is taken as normal again;
the methods differ in how they find its mean and deviation:

- ``schwartz-yeh``: S. C. Schwartz and Y. S. Yeh, Bell System Technical Journal 61 (1982): exact moments of
  two, repeated signal by signal. Signals may be correlated: all share one scatter of weight √ρ.
- ``k-lnm``: the first two moments of the summed powers, the second multiplied by k; k = 1 is the sum of
  Fenton and Wilkinson. Compared with others in EBU Technical Review 312 (Beeke). k of 0.5 to 0.7 is meant for
  deviations of 6 to 10 dB (from memory, unverified).
- ``power sum``: medians added as powers, without regard to places.

What is summed may be held against many random places, drawn from a stated seed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, get_args

import numpy as np

from combe.compiling import kernel
from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.reception.service import Field
from combe.reception.summing import (
    K_LNM,
    LARGEST_SIGMA_DB,
    LOGS_PER_DB,
    POWER_SUM,
    SCHWARTZ_YEH,
    SumSettings,
    pair_table,
    sum_levels,
)
from combe.stations import require_choice

SumMethod = Literal["schwartz-yeh", "k-lnm", "power sum"]

_NUMBERS: Final = {"schwartz-yeh": SCHWARTZ_YEH, "k-lnm": K_LNM, "power sum": POWER_SUM}


class FieldSum(NamedTuple):
    """Mean (which is the median of places) and deviation of summed fields [dB], arrays of one shape."""

    mean_dbuv_m: FloatArray
    sigma_db: FloatArray


@dataclass(frozen=True)
class Summation:
    """How interfering fields are summed.

    Parameters
    ----------
    method : {"schwartz-yeh", "k-lnm", "power sum"}
    correlation : float
        ρ of any two fields over places, 0 to 1; 0 for k-LNM, which has no other.
    k : float
        Of k-LNM, over 0 to 1.
    neglect_db : float
        By how much the mean of a Schwartz-Yeh sum may fall short for leaving weak signals out [dB], 0 to 1.

    Raises
    ------
    RangeError
        Naming the field.
    """

    method: SumMethod = "schwartz-yeh"
    correlation: float = 0.0
    k: float = 1.0
    neglect_db: float = 0.0

    def __post_init__(self) -> None:
        require_choice("method of summation", self.method, get_args(SumMethod))
        require_range("correlation", self.correlation, 0.0, 1.0)
        require_range("k of k-LNM", self.k, 1e-3, 1.0)
        require_range("neglect_db", self.neglect_db, 0.0, 1.0)
        if self.method == "k-lnm" and self.correlation != 0.0:
            raise RangeError("correlation with k-lnm", self.correlation, "0", "take schwartz-yeh")

    def settings(self) -> SumSettings:
        """Return what the kernels want to know."""
        return SumSettings(_NUMBERS[self.method], self.k, self.neglect_db * LOGS_PER_DB)


def sum_fields(fields_dbuv_m: Field, sigma_db: Field | float, summation: Summation | None = None) -> FieldSum:
    """Return mean and deviation of the sum of fields.

    Parameters
    ----------
    fields_dbuv_m : array (n, ...)
        Medians of the n fields of every place [dB(µV/m)], with protection ratio and aerial counted in. −inf
        is a field that does not arrive.
    sigma_db : float or array (n,)
        Deviation of each over places [dB], 0 to 18.
    summation : Summation
        Schwartz-Yeh without correlation unless given.

    Returns
    -------
    FieldSum
        Arrays of shape (...); NaN where any field is, −inf and 0 where nothing arrives.

    Raises
    ------
    RangeError
        For no field, a deviation out of range, or another number of deviations than of fields.

    Examples
    --------
    >>> total = sum_fields(np.array([0.0, 0.0]), 6.0)
    >>> round(float(total.mean_dbuv_m), 2), round(float(total.sigma_db), 2)
    (4.58, 4.62)
    """
    chosen = summation or Summation()
    fields = np.asarray(fields_dbuv_m, dtype=np.float64)
    if fields.ndim == 0 or fields.shape[0] == 0:
        raise RangeError("number of fields to sum", 0, "at least one")
    sigmas = checked_sigmas(sigma_db, fields.shape[0]) * LOGS_PER_DB
    flat = np.ascontiguousarray(fields.reshape(fields.shape[0], -1))
    mean, sigma = np.empty(flat.shape[1]), np.empty(flat.shape[1])
    # A common scatter of weight √ρ makes any two correlate by ρ.
    loads = math.sqrt(chosen.correlation) * sigmas
    _sum_places(flat, sigmas, loads, chosen.settings(), pair_table(), mean, sigma)
    return FieldSum(mean.reshape(fields.shape[1:]), sigma.reshape(fields.shape[1:]))


def checked_sigmas(sigma_db: Field | float, count: int) -> FloatArray:
    """Return one deviation [dB] for each of ``count`` fields; RangeError unless 0 to 18 dB each."""
    given = np.asarray(sigma_db, dtype=np.float64)
    if given.ndim > 1 or (given.ndim == 1 and given.size != count):
        raise RangeError("number of deviations", given.shape, f"one, or {count}, one per field")
    for value in given.ravel():
        require_range("sigma_db", float(value), 0.0, LARGEST_SIGMA_DB)
    return np.broadcast_to(given, (count,)).copy()


@kernel
def _sum_places(
    fields: FloatArray,
    sigmas: FloatArray,
    loads: FloatArray,
    settings: SumSettings,
    table: FloatArray,
    mean: FloatArray,
    sigma: FloatArray,
) -> None:
    """Sum the fields (n, places) [dB] of every place."""
    signals = fields.shape[0]
    levels, spreads, shared = np.empty(signals), np.empty(signals), np.empty(signals)
    for place in range(fields.shape[1]):
        count, unknown = 0, False
        for i in range(signals):
            field = fields[i, place]
            unknown = unknown or math.isnan(field)
            if field > -math.inf:
                levels[count], spreads[count], shared[count] = field * LOGS_PER_DB, sigmas[i], loads[i]
                count += 1
        if unknown:
            mean[place], sigma[place] = math.nan, math.nan
            continue
        total = sum_levels(levels, spreads, shared, count, settings, table)
        mean[place], sigma[place] = total.mean / LOGS_PER_DB, math.sqrt(total.variance) / LOGS_PER_DB


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
    # Of variance 1 whatever the correlation is, and any two have that much of it in common.
    scatter = math.sqrt(correlation) * shared + math.sqrt(1.0 - correlation) * own
    fields: FloatArray = np.asarray(medians_dbuv_m)[:, None] + np.asarray(sigma_db)[:, None] * scatter
    return fields
