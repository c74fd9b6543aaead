"""The sum of two powers that are normal in decibels: its exact mean, deviation and share, as a table.

Levels are natural logarithms of power (1 dB = ln(10)/10). With Y1, Y2 normal and w = Y2 − Y1, the sum is
Z = Y1 + g(w), g(w) = ln(1 + exp w). Three integrals over the normal w give its moments without approximation:
G = E[g], V = Var[g] and S = E[g′], for Cov(Y1, g) = Cov(Y1, w)·S (Stein's identity). S is the mean share of
the second power in the sum. This is the step that the method of Schwartz and Yeh (1982) repeats signal by
signal; the integrals are taken here by the trapezoidal rule, whose error falls exponentially with the step.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel

FloatArray = npt.NDArray[np.float64]

LOGS_PER_DB: Final = math.log(10.0) / 10.0
"""A decibel in natural logarithms of power."""

LARGEST_SIGMA_DB: Final = 18.0
"""Two independent signals of this deviation are just inside the table."""

_LOWEST_GAP: Final = -16.0
_STEP: Final = 0.25
_GAP_NODES: Final = 68
_SPREAD_NODES: Final = 28
_LAST_SPREAD: Final = 6.0
_REACH: Final = 8.0
_POINTS: Final = 129


class LevelSum(NamedTuple):
    """A level that is about normal: natural logarithms of power.

    ``load`` is its covariance with the scatter that all signals share, a variable of mean 0 and deviation 1.
    """

    mean: float
    variance: float
    load: float


def pair_integrals(gap: Any, spread: Any) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return G, V and S of the module for w of mean ``gap`` and deviation ``spread``.

    Parameters
    ----------
    gap, spread : floats or arrays that broadcast
        Natural logarithms of power.

    Returns
    -------
    tuple of arrays
        Of the broadcast shape. 129 points over ±8 deviations: within 1e-9 for a spread up to 6.

    Examples
    --------
    >>> [round(float(each), 6) for each in pair_integrals(0.0, 0.0)]
    [0.693147, 0.0, 0.5]
    """
    points = np.linspace(-_REACH, _REACH, _POINTS)
    weight = np.exp(-0.5 * points**2)
    weight /= weight.sum()
    w = (
        np.asarray(gap, dtype=np.float64)[..., None]
        + np.asarray(spread, dtype=np.float64)[..., None] * points
    )
    rise = np.logaddexp(0.0, w)
    mean: FloatArray = rise @ weight
    variance: FloatArray = (rise - mean[..., None]) ** 2 @ weight
    share: FloatArray = np.exp(w - rise) @ weight
    return mean, variance, share


@cache
def pair_table() -> FloatArray:
    """Return G, V and S at the nodes that :func:`add_pair` reads, shape (gaps, spreads, 3)."""
    gap = _LOWEST_GAP + (np.arange(_GAP_NODES) - 1.0) * _STEP
    spread = np.abs(np.arange(_SPREAD_NODES) - 1.0) * _STEP
    table = np.stack(pair_integrals(gap[:, None], spread[None, :]), axis=-1)
    table.setflags(write=False)
    return table


@inner_kernel
def _cubic(part: float) -> tuple[float, float, float, float]:
    """Return the weights of four equidistant nodes for a place ``part`` of a step after the second."""
    before, after, last = part + 1.0, part - 1.0, part - 2.0
    return (
        -part * after * last / 6.0,
        before * after * last / 2.0,
        -before * part * last / 2.0,
        before * part * after / 6.0,
    )


@kernel
def read_pair(gap: float, spread: float, table: FloatArray) -> tuple[float, float, float]:
    """Return G, V and S for gap ≤ 0 from the table, by cubic interpolation (within 1e-4 of a logarithm).

    A gap below −16 counts as −16, a spread over 6 as 6.
    """
    x = (max(gap, _LOWEST_GAP) - _LOWEST_GAP) / _STEP
    y = min(spread, _LAST_SPREAD) / _STEP
    row, column = int(x), int(y)
    down, across = _cubic(x - row), _cubic(y - column)
    mean, variance, share = 0.0, 0.0, 0.0
    for i in range(4):
        for j in range(4):
            weight = down[i] * across[j]
            mean += weight * table[row + i, column + j, 0]
            variance += weight * table[row + i, column + j, 1]
            share += weight * table[row + i, column + j, 2]
    return mean, max(variance, 0.0), share


@kernel
def add_pair(one: LevelSum, other: LevelSum, table: FloatArray) -> LevelSum:
    """Return the level of two powers added, moments exact but for the table, taken as normal again."""
    strong, weak = one, other
    if other.mean > one.mean:
        strong, weak = other, one
    common = strong.load * weak.load
    spread = math.sqrt(max(strong.variance + weak.variance - 2.0 * common, 0.0))
    mean, variance, share = read_pair(weak.mean - strong.mean, spread, table)
    return LevelSum(
        strong.mean + mean,
        max(strong.variance + variance + 2.0 * (common - strong.variance) * share, 0.0),
        strong.load + (weak.load - strong.load) * share,
    )
