"""Networks on one frequency: durations of symbols, weights of echoes, windows, and when a relay is heard."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial
from typing import Final

import numpy as np

from combe.evidence.case import EvidenceCase, Standing
from combe.reception import OneFrequency, Window, weights_of
from combe.standards import SymbolTiming, symbol_timing

NAME: Final = "Networks on one frequency"

_EN302755: Final = "ETSI EN 302 755: elementary period of the width, times points and guard interval"
_REVIEW: Final = (
    "EBU Technical Review 295 (2003), weighting of echoes, 8k in 8 MHz; worked by hand from its law"
)
_WINDOWS: Final = "EBU BPN 066, receiver windows, contents read, definitions from memory; worked by hand"
_SIMULATED: Final = "useful part of an echo beyond the guard interval, simulated with 1024 carriers"

SYMBOLS: Final[tuple[tuple[str, float, str, str, str, float, float, Standing], ...]] = (
    # standard, MHz, size, guard, pattern; useful and guard µs
    ("DVB-T2", 8.0, "8k", "1/32", "PP2", 896.0, 28.0, "computed"),
    ("DVB-T2", 8.0, "16k", "19/128", "PP2", 1792.0, 266.0, "computed"),
    ("DVB-T2", 8.0, "32k", "1/8", "PP2", 3584.0, 448.0, "computed"),
    ("DVB-T2", 7.0, "32k", "1/8", "PP2", 4096.0, 512.0, "computed"),
    ("DVB-T2", 6.0, "8k", "1/4", "PP2", 1194.667, 298.667, "computed"),
    ("DVB-T", 8.0, "8k", "1/4", "", 896.0, 224.0, "from memory"),
    ("DVB-T", 7.0, "8k", "1/4", "", 1024.0, 256.0, "from memory"),
    ("ISDB-T", 6.0, "mode 3", "1/8", "", 1008.0, 126.0, "from memory"),
)

EQUALISED: Final = (
    # standard, size, guard, pattern; equalised µs in 8 MHz: 7/24 of the symbol, 57/64 of that of 1/Dx
    ("DVB-T", "8k", "1/4", "", 261.333),
    ("DVB-T2", "32k", "1/32", "PP4", 266.0),
    ("DVB-T2", "32k", "1/128", "PP7", 133.0),
    ("DVB-T2", "32k", "1/8", "PP2", 532.0),
)

WEIGHTS: Final = (
    # guard µs, arrival after the start of the window µs, weight
    (224.0, -50.0, 0.0),
    (224.0, -30.0, 0.9342),
    (224.0, 100.0, 1.0),
    (224.0, 234.0, 0.9778),
    (224.0, 261.0, 0.9191),
    (112.0, -100.0, 0.7892),
    (112.0, 192.0, 0.8294),
    (28.0, 261.0, 0.5475),
    (28.0, 298.0, 0.0),
)

SIMULATED: Final = (
    # excess over the guard interval as a part of the useful symbol, useful part of the power
    (1 / 16, 0.880),
    (1 / 8, 0.767),
    (1 / 4, 0.562),
)

WINDOWS: Final[tuple[tuple[tuple[float, ...], tuple[float, ...], Window, float], ...]] = (
    # levels dB(µV/m), arrivals µs, window, C/I dB with a guard interval of 224 µs
    ((60.0, 54.0), (0.0, 250.0), "strongest signal", 19.350),
    ((60.0, 54.0), (0.0, 280.0), "strongest signal", 6.000),
    ((50.0, 60.0), (0.0, 250.0), "first signal", 12.609),
    ((50.0, 60.0), (0.0, 250.0), "strongest signal", 10.000),
    ((50.0, 60.0), (0.0, 250.0), "best C/I", 22.818),
    ((40.0, 60.0, 58.0), (0.0, 260.0, 300.0), "first signal", 1.180),
    ((40.0, 60.0, 58.0), (0.0, 260.0, 300.0), "best C/I", 22.124),
)

_USEFUL_US: Final = 896.0
_EQUALISED_US: Final = _USEFUL_US * 7.0 / 24.0
_EXACT: Final = 1e-3
_WEIGHT: Final = 5e-5


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for standard, mhz, size, guard, pattern, useful_us, guard_us, standing in SYMBOLS:
        case = f"{standard} {size}, guard interval {guard}, {mhz:g} MHz"
        timing = partial(symbol_timing, standard, mhz, size, guard, pattern or None)
        for part, quantity, value in ((0, "useful part", useful_us), (1, "guard interval", guard_us)):
            yield EvidenceCase(
                NAME, _EN302755, case, quantity, value, "µs", _EXACT, standing,
                partial(_duration, timing, part), "symbols",
            )  # fmt: skip
    for standard, size, guard, pattern, equalised_us in EQUALISED:
        timing = partial(symbol_timing, standard, 8.0, size, guard, pattern or None)
        case = f"{standard} {size} {pattern}".strip()
        yield EvidenceCase(
            NAME, _REVIEW, case, "equalised", equalised_us, "µs", _EXACT, "from memory",
            partial(_duration, timing, 2), "symbols",
        )  # fmt: skip
    for guard_us, after_us, weight in WEIGHTS:
        yield EvidenceCase(
            NAME, _REVIEW, f"guard interval {guard_us:g} µs, {after_us:g} µs after the start", "weight",
            weight, "", _WEIGHT, "from memory", partial(weight_after, guard_us, after_us), "weights",
        )  # fmt: skip
    for excess, weight in SIMULATED:
        after_us = 28.0 + excess * _USEFUL_US
        yield EvidenceCase(
            NAME, _SIMULATED, f"{excess:g} of the symbol beyond the guard interval", "weight", weight, "",
            2e-3, "computed", partial(weight_after, 28.0, after_us), "weights",
        )  # fmt: skip
    for levels, arrivals, window, ratio_db in WINDOWS:
        told = ", ".join(f"{level:g} at {late:g} µs" for level, late in zip(levels, arrivals, strict=True))
        yield EvidenceCase(
            NAME, _WINDOWS, f"{told}; {window}", "C/I", ratio_db, "dB", _EXACT, "from memory",
            partial(window_ratio_db, levels, arrivals, window),
        )  # fmt: skip


def weight_after(guard_us: float, after_us: float) -> float:
    """Return the weight of a weak echo after a strong signal that opens the window."""
    arrivals, levels = np.array([1000.0, 1000.0 + after_us]), np.array([60.0, 10.0])
    return float(weights_of(arrivals, levels, 50.0, _symbol(guard_us, "strongest signal"))[1])


def window_ratio_db(levels: tuple[float, ...], arrivals: tuple[float, ...], window: Window) -> float:
    """Return useful over interfering power [dB] of signals of some levels, by the window of a receiver."""
    powers = 10.0 ** (np.array(levels) / 10.0)
    weights = weights_of(np.array(arrivals), np.array(levels), 35.0, _symbol(224.0, window))
    return 10.0 * math.log10(float((weights * powers).sum() / ((1.0 - weights) * powers).sum()))


def _symbol(guard_us: float, window: Window) -> OneFrequency:
    return OneFrequency("evidence", 0.0, _USEFUL_US, guard_us, _EQUALISED_US, window)


def _duration(timing: Callable[[], SymbolTiming], part: int) -> float:
    return float(timing()[part])
