"""How much more a path attenuates in melting snow: Recommendation ITU-R P.2001-4, Attachment C.4 and C.5.

Symbols: hT height of the rain's top, δ height over it, Γ multiplier at one height, G mean multiplier of a
path between two heights, slo shi the 100 m slices of the layer that the ends lie in, counted down from hT.
"""

from __future__ import annotations

import math
from typing import Final

from combe.compiling import also_in_kernels

_SLICE_M: Final = 100.0
_SLICES: Final = 12
DEPTH_M: Final = _SLICE_M * _SLICES
"""Depth [m] of the melting layer; below it there is plain rain."""


@also_in_kernels
def multiplier(above_top_m: float) -> float:
    """Return Γ(δ): 0 in dry snow, more than 3 at most in melting snow, 1 in rain (C.4).

    Examples
    --------
    >>> multiplier(1.0), round(multiplier(-300.0), 3), multiplier(-1201.0)
    (0.0, 3.409, 1.0)
    """
    if above_top_m > 0.0:
        return 0.0
    if above_top_m < -DEPTH_M:
        return 1.0
    rise = 4.0 * (1.0 - math.exp(above_top_m / 70.0)) ** 2
    settle = (1.0 - math.exp(-((above_top_m / 600.0) ** 2))) ** 2
    return rise / (1.0 + settle * (rise - 1.0))


@also_in_kernels
def mean_multiplier(low_m: float, high_m: float, top_m: float) -> float:
    """Return G of a path between two heights above sea level, for a rain top at ``top_m`` (C.5)."""
    low_slice, high_slice = _slice_of(low_m, top_m), _slice_of(high_m, top_m)
    if low_slice < 1:
        return 0.0
    if high_slice > _SLICES:
        return 1.0
    if low_slice == high_slice:
        return multiplier(0.5 * (low_m + high_m) - top_m)  # (C.5.2)
    total = 0.0
    for index in range(max(high_slice, 1), min(low_slice, _SLICES) + 1):  # (C.5.3, C.5.4)
        if high_slice < index < low_slice:
            middle_m, within_m = _SLICE_M * (0.5 - index), _SLICE_M  # (C.5.5)
        elif index == low_slice:
            from_m = low_m - top_m
            middle_m = 0.5 * (from_m - _SLICE_M * (index - 1))  # (C.5.6)
            within_m = -_SLICE_M * (index - 1) - from_m
        else:
            to_m = high_m - top_m
            middle_m, within_m = 0.5 * (to_m - _SLICE_M * index), to_m + _SLICE_M * index  # (C.5.7)
        total += within_m / (high_m - low_m) * multiplier(middle_m)
    if low_slice > _SLICES:
        total += (top_m - DEPTH_M - low_m) / (high_m - low_m)  # (C.5.10)
    return total


@also_in_kernels
def _slice_of(height_m: float, top_m: float) -> int:
    return 1 + math.floor((top_m - height_m) / _SLICE_M)  # (C.5.1)
