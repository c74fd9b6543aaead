"""Kernels that sum the levels of one place: Schwartz-Yeh, k-LNM and the plain power sum.

Levels are natural logarithms of power (1 dB = ln(10)/10). The step that the method of Schwartz and Yeh
(1982) repeats signal by signal is the sum of two powers that are normal in decibels, and its exact moments
are a table here. With Y1, Y2 normal and w = Y2 − Y1, the sum is Z = Y1 + g(w), g(w) = ln(1 + exp w). Three
integrals over the normal w give its moments without approximation: G = E[g], V = Var[g] and S = E[g′], for
Cov(Y1, g) = Cov(Y1, w)·S (Stein's identity). S is the mean share of the second power in the sum. The
integrals are taken by the trapezoidal rule, whose error falls exponentially with the step.

``means``, ``sigmas`` and ``loads`` hold one signal each (see :class:`LevelSum`), of which the first
``count`` are taken; they may be put in another order. A level of −inf adds nothing and must be left out by
the caller.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, Final, NamedTuple

import numpy as np

from combe.compiling import inner_kernel, kernel_part
from combe.decibels import FloatArray

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
    # ln(1 + e^w): by how much the sum of two powers lies over the stronger one.
    rise = np.logaddexp(0.0, w)
    mean: FloatArray = rise @ weight
    variance: FloatArray = (rise - mean[..., None]) ** 2 @ weight
    share: FloatArray = np.exp(w - rise) @ weight
    return mean, variance, share


@cache
def pair_table() -> FloatArray:
    """Return G, V and S at the nodes that :func:`add_pair` reads, shape (gaps, spreads, 3)."""
    gap = _LOWEST_GAP + (np.arange(_GAP_NODES) - 1.0) * _STEP
    # Nodes mirrored below 0, where the functions are even: cubic interpolation needs one on either side.
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


@kernel_part
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


@kernel_part
def add_pair(one: LevelSum, other: LevelSum, table: FloatArray) -> LevelSum:
    """Return the level of two powers added, moments exact but for the table, taken as normal again."""
    strong, weak = one, other
    if other.mean > one.mean:
        strong, weak = other, one
    # Signals share only the scatter common to all, so their covariance is the product of their loads.
    common = strong.load * weak.load
    spread = math.sqrt(max(strong.variance + weak.variance - 2.0 * common, 0.0))
    mean, variance, share = read_pair(weak.mean - strong.mean, spread, table)
    return LevelSum(
        strong.mean + mean,
        max(strong.variance + variance + 2.0 * (common - strong.variance) * share, 0.0),
        # S is the mean share of the weaker power in the sum: the sum leans so far towards the weaker one's
        # common scatter.
        strong.load + (weak.load - strong.load) * share,
    )


POWER_SUM: Final = 0
SCHWARTZ_YEH: Final = 1
K_LNM: Final = 2


class SumSettings(NamedTuple):
    """How to sum: one of the numbers above, k of k-LNM, and what the mean may lack for weak signals.

    ``neglect`` is in natural logarithms of power.
    """

    method: int
    k: float
    neglect: float


@kernel_part
def order_by_power(means: FloatArray, sigmas: FloatArray, loads: FloatArray, count: int) -> None:
    """Put the signal of the greatest mean power first, equal ones by deviation: order never matters."""
    for end in range(1, count):
        mean, sigma, load = means[end], sigmas[end], loads[end]
        power, place = mean + 0.5 * sigma * sigma, end
        while place > 0:
            before = means[place - 1] + 0.5 * sigmas[place - 1] * sigmas[place - 1]
            if before > power or (before == power and sigmas[place - 1] >= sigma):
                break
            means[place], sigmas[place], loads[place] = means[place - 1], sigmas[place - 1], loads[place - 1]
            place -= 1
        means[place], sigmas[place], loads[place] = mean, sigma, load


@kernel_part
def schwartz_yeh(
    means: FloatArray,
    sigmas: FloatArray,
    loads: FloatArray,
    count: int,
    neglect: float,
    table: FloatArray,
) -> LevelSum:
    """Add signal by signal, strongest first; stop when the rest cannot lift the mean by ``neglect``.

    The bound: E[ln(1 + rest/first)] ≤ ln(1 + Σ exp(mᵢ − m₁ + (σᵢ² + σ₁²)/2)), by Jensen's inequality.
    """
    order_by_power(means, sigmas, loads, count)
    # Mean powers are exp(m + σ²/2), and E[1/first] is exp(-m₁ + σ₁²/2): the bound divides by the one and
    # not by the other.
    floor = means[0] - 0.5 * sigmas[0] * sigmas[0]
    rest = 0.0
    for i in range(1, count):
        rest += math.exp(means[i] + 0.5 * sigmas[i] * sigmas[i] - floor)
    allowed = math.expm1(neglect)
    total = LevelSum(means[0], sigmas[0] * sigmas[0], loads[0])
    for i in range(1, count):
        if rest <= allowed:
            break
        total = add_pair(total, LevelSum(means[i], sigmas[i] * sigmas[i], loads[i]), table)
        rest -= math.exp(means[i] + 0.5 * sigmas[i] * sigmas[i] - floor)
    return total


@kernel_part
def k_lnm(means: FloatArray, sigmas: FloatArray, count: int, k: float) -> LevelSum:
    """Match mean and k times the variance of the summed powers; k = 1 is Fenton's and Wilkinson's sum.

    Signals are taken as independent of one another.
    """
    # Counted from the highest median, no exponential overflows.
    highest = means[0]
    for i in range(1, count):
        highest = max(highest, means[i])
    power, scatter = 0.0, 0.0
    for i in range(count):
        square = sigmas[i] * sigmas[i]
        mean = math.exp(means[i] - highest + 0.5 * square)
        power += mean
        scatter += mean * mean * math.expm1(square)
    # A log-normal power of mean P and variance V has σ² = ln(1 + V/P²) and the median P exp(-σ²/2).
    variance = math.log1p(k * scatter / (power * power))
    return LevelSum(highest + math.log(power) - 0.5 * variance, variance, 0.0)


@kernel_part
def power_sum(means: FloatArray, sigmas: FloatArray, loads: FloatArray, count: int) -> LevelSum:
    """Add the median powers; the deviation is the mean of the signals', each weighted by its power.

    That is the deviation of signals that rise and fall together (own choice; the method has none).
    """
    highest = means[0]
    for i in range(1, count):
        highest = max(highest, means[i])
    power, sigma, load = 0.0, 0.0, 0.0
    for i in range(count):
        share = math.exp(means[i] - highest)
        power += share
        sigma += share * sigmas[i]
        load += share * loads[i]
    sigma, load = sigma / power, load / power
    return LevelSum(highest + math.log(power), sigma * sigma, load)


@kernel_part
def sum_levels(
    means: FloatArray,
    sigmas: FloatArray,
    loads: FloatArray,
    count: int,
    settings: SumSettings,
    table: FloatArray,
) -> LevelSum:
    """Sum by the method of the settings; no signal at all is −inf."""
    if count == 0:
        return LevelSum(-math.inf, 0.0, 0.0)
    if settings.method == SCHWARTZ_YEH:
        return schwartz_yeh(means, sigmas, loads, count, settings.neglect, table)
    if settings.method == K_LNM:
        return k_lnm(means, sigmas, count, settings.k)
    return power_sum(means, sigmas, loads, count)
