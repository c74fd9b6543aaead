"""Kernels that sum the levels of one place: Schwartz-Yeh, k-LNM and the plain power sum.

Levels are natural logarithms of power. ``means``, ``sigmas`` and ``loads`` hold one signal each (see
:class:`combe.reception.pair_sum.LevelSum`), of which the first ``count`` are taken; they may be put in
another order. A level of −inf adds nothing and must be left out by the caller.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.reception.pair_sum import LevelSum, add_pair

FloatArray = npt.NDArray[np.float64]

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


@kernel
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


@kernel
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


@kernel
def k_lnm(means: FloatArray, sigmas: FloatArray, count: int, k: float) -> LevelSum:
    """Match mean and k times the variance of the summed powers; k = 1 is Fenton's and Wilkinson's sum.

    Signals are taken as independent of one another.
    """
    highest = means[0]
    for i in range(1, count):
        highest = max(highest, means[i])
    power, scatter = 0.0, 0.0
    for i in range(count):
        square = sigmas[i] * sigmas[i]
        mean = math.exp(means[i] - highest + 0.5 * square)
        power += mean
        scatter += mean * mean * math.expm1(square)
    variance = math.log1p(k * scatter / (power * power))
    return LevelSum(highest + math.log(power) - 0.5 * variance, variance, 0.0)


@kernel
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


@kernel
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
