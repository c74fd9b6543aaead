"""A network on one frequency at one place: which echoes add to the wanted signal, and which disturb it.

The receiver opens a window as long as the guard interval. A signal that arrives in it adds; one that comes
before or after adds in part, by the square of the part of its symbol that is still that of the others, and
disturbs with the rest; beyond what the receiver equalises it only disturbs. Where the window stands is the
receiver's choice, and receivers differ.

Echoes are columns of an array of :data:`ROWS` rows: level (natural logarithm of power, −inf for none), time
of arrival [µs], weight 0 to 1, deviation and load of the level, by how much more than its level an echo
counts where all of it disturbs (logarithm: the ratio asked, and more for a rare time), and power over that of
the strongest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final, Literal, get_args

import numpy as np

from combe.compiling import also_in_kernels, kernel, kernel_part
from combe.constants import SPEED_OF_LIGHT_M_S
from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.reception.summing import LOGS_PER_DB

Window = Literal["best C/I", "first signal", "strongest signal"]
"""Where a receiver puts its window (contents of EBU BPN 066; definitions from memory): where the ratio of
useful to interfering power is greatest; at the first signal that is strong enough to be received; at the
strongest."""

METRES_PER_US: Final = SPEED_OF_LIGHT_M_S / 1e6
ROWS: Final = 7
LEVEL, ARRIVAL_US, WEIGHT, SIGMA, LOAD, HARM, POWER = range(ROWS)

_BEST, _FIRST, _STRONGEST = range(3)
_INSIDE_US: Final = 1e-6


@dataclass(frozen=True)
class OneFrequency:
    """What an emission does as one of a network on one frequency.

    Parameters
    ----------
    network : str
        Emissions of one service in one network add.
    delay_us : float
        When it is radiated, after the earliest of the network [µs], −1e6 to 1e6.
    useful_us, guard_us, equalised_us : float
        See :class:`combe.standards.SymbolTiming`.
    window : {"best C/I", "first signal", "strongest signal"}

    Raises
    ------
    RangeError
        Naming the field.
    """

    network: str
    delay_us: float
    useful_us: float
    guard_us: float
    equalised_us: float
    window: Window = "best C/I"

    def __post_init__(self) -> None:
        require_range("delay_us", self.delay_us, -1e6, 1e6)
        require_range("useful_us", self.useful_us, 1.0, 1e5)
        require_range("guard_us", self.guard_us, 0.0, self.useful_us)
        require_range("equalised_us", self.equalised_us, self.guard_us, self.useful_us)
        if self.window not in get_args(Window):
            raise RangeError("window of the receiver", repr(self.window), ", ".join(get_args(Window)))

    @property
    def window_number(self) -> int:
        """The window as the kernels know it."""
        return get_args(Window).index(self.window)


@also_in_kernels
def arrival_us(from_x_m: float, from_y_m: float, delay_us: float) -> float:
    """Return when a signal arrives [µs], by its way [m] east and north, and by when it is radiated."""
    return math.sqrt(from_x_m * from_x_m + from_y_m * from_y_m) / METRES_PER_US + delay_us


@kernel_part
def echo_weight(after_us: float, useful_us: float, guard_us: float, equalised_us: float) -> float:
    """Return the part of an echo's power that is of use, by its arrival after the start of the window [µs].

    EBU Technical Review 295 (2003), from memory; the square follows from the part of the symbol that is the
    same as the others', and was found again by a simulation of all carriers.
    """
    if 0.0 <= after_us <= guard_us:
        return 1.0
    if after_us <= guard_us - equalised_us or after_us > equalised_us:
        return 0.0
    missed_us = -after_us if after_us < 0.0 else after_us - guard_us
    part = (useful_us - missed_us) / useful_us
    return part * part


@kernel_part
def _write_powers(echoes: FloatArray, count: int) -> None:
    """Write the powers of the echoes over that of the strongest; nought for none."""
    strongest = -math.inf
    for i in range(count):
        strongest = max(strongest, echoes[LEVEL, i])
    for i in range(count):
        arrives = echoes[LEVEL, i] > -math.inf
        echoes[POWER, i] = math.exp(echoes[LEVEL, i] - strongest) if arrives else 0.0


@kernel_part
def useful_ratio(start_us: float, echoes: FloatArray, count: int, own: Any) -> float:
    """Return useful over interfering power of the echoes with a window; infinite where nothing interferes."""
    useful, harmful = 0.0, 0.0
    for i in range(count):
        after_us = echoes[ARRIVAL_US, i] - start_us
        weight = echo_weight(after_us, own.useful_us, own.guard_us, own.equalised_us)
        useful += weight * echoes[POWER, i]
        harmful += (1.0 - weight) * echoes[POWER, i]
    return useful / harmful if harmful > 0.0 else math.inf


@kernel_part
def _best_start_us(echoes: FloatArray, count: int, own: Any) -> float:
    """Return the start of the window with the best ratio; of equals, the first that was tried.

    Between the places where a signal enters or leaves one of the parts of the weighting, the ratio is smooth,
    so these are tried.
    """
    best_us, best = 0.0, -1.0
    for i in range(count):
        if echoes[LEVEL, i] == -math.inf:
            continue
        for edge in range(4):
            start_us = echoes[ARRIVAL_US, i]
            if edge == 1:
                start_us -= own.guard_us
            elif edge == 2:
                start_us -= own.equalised_us
            elif edge == 3:
                # Just inside: at the very end nothing of the signal is of use any more.
                start_us += own.equalised_us - own.guard_us - _INSIDE_US
            ratio = useful_ratio(start_us, echoes, count, own)
            if ratio > best:
                best_us, best = start_us, ratio
    return best_us


@kernel_part
def window_start_us(echoes: FloatArray, count: int, threshold: float, own: Any) -> float:
    """Return where the window starts [µs]; no echo of any strength gives 0.

    ``threshold`` is the level from which a signal counts as the first; where none reaches it, the strongest
    does.
    """
    if own.window == _BEST:
        return _best_start_us(echoes, count, own)
    strongest, first = -1, -1
    for i in range(count):
        if echoes[LEVEL, i] == -math.inf:
            continue
        if strongest < 0 or echoes[LEVEL, i] > echoes[LEVEL, strongest]:
            strongest = i
        if echoes[LEVEL, i] >= threshold and (first < 0 or echoes[ARRIVAL_US, i] < echoes[ARRIVAL_US, first]):
            first = i
    chosen = first if own.window == _FIRST and first >= 0 else strongest
    return echoes[ARRIVAL_US, chosen] if chosen >= 0 else 0.0


@kernel
def weigh(echoes: FloatArray, count: int, threshold: float, own: Any) -> None:
    """Put the window where the receiver does, and write the weights of the echoes."""
    first_us, last_us = math.inf, -math.inf
    for i in range(count):
        if echoes[LEVEL, i] > -math.inf:
            first_us, last_us = min(first_us, echoes[ARRIVAL_US, i]), max(last_us, echoes[ARRIVAL_US, i])
    start_us = first_us
    # Mostly all fall within one guard interval, and the best window is the one that holds them all.
    if own.window != _BEST or last_us - first_us > own.guard_us:
        _write_powers(echoes, count)
        start_us = window_start_us(echoes, count, threshold, own)
    for i in range(count):
        after_us = echoes[ARRIVAL_US, i] - start_us
        echoes[WEIGHT, i] = echo_weight(after_us, own.useful_us, own.guard_us, own.equalised_us)


@kernel_part
def spread_us(echoes: FloatArray, count: int) -> float:
    """Return the delay spread [µs]: deviation of the times of arrival, weighted by median powers."""
    _write_powers(echoes, count)
    power, first, second = 0.0, 0.0, 0.0
    for i in range(count):
        part = echoes[POWER, i]
        # Counted from the first arrival, so that squares of like numbers do not cancel.
        late_us = echoes[ARRIVAL_US, i] - echoes[ARRIVAL_US, 0]
        power += part
        first += part * late_us
        second += part * late_us * late_us
    if power == 0.0:
        return math.nan
    return math.sqrt(max(second / power - (first / power) * (first / power), 0.0))


def weights_of(
    arrivals_us: FloatArray, levels_db: FloatArray, threshold_db: float, of: OneFrequency
) -> FloatArray:
    """Return the weights of echoes at one place, n of each, by the window of a receiver.

    Parameters
    ----------
    arrivals_us, levels_db
        Times of arrival [µs] and levels [dB] behind the aerial.
    threshold_db
        Level from which a signal counts as the first [dB].
    of
        Symbol and window; its delay is not used.

    Raises
    ------
    RangeError
        For arrays of different lengths.

    Examples
    --------
    >>> symbol = OneFrequency("n", 0.0, 896.0, 224.0, 261.3, "first signal")
    >>> weights_of(np.array([0.0, 250.0]), np.array([60.0, 54.0]), 40.0, symbol).round(4).tolist()
    [1.0, 0.9428]
    """
    if arrivals_us.shape != levels_db.shape or arrivals_us.ndim != 1:
        raise RangeError(
            "shapes of arrivals and levels", f"{arrivals_us.shape}, {levels_db.shape}", "n of each"
        )
    echoes = np.zeros((ROWS, arrivals_us.size))
    echoes[LEVEL], echoes[ARRIVAL_US] = levels_db * LOGS_PER_DB, arrivals_us
    row = np.zeros(1, dtype=SYMBOL)
    row["window"] = of.window_number
    row["useful_us"], row["guard_us"], row["equalised_us"] = of.useful_us, of.guard_us, of.equalised_us
    weigh(echoes, arrivals_us.size, threshold_db * LOGS_PER_DB, row[0])
    weights: FloatArray = echoes[WEIGHT]
    return weights


SYMBOL: Final = np.dtype([("window", "i8"), ("useful_us", "f8"), ("guard_us", "f8"), ("equalised_us", "f8")])
"""Symbol and window as the kernels read them; a record of an emission has these columns too."""
