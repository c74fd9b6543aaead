"""Free space: Recommendation ITU-R P.2001-4 §3.11, with its printed constant 92.4 (0.048 dB under P.525)."""

from __future__ import annotations

import math
from typing import Final

from combe.compiling import also_in_kernels

_CONSTANT_DB: Final = 92.4


@also_in_kernels
def free_space_db(frequency_ghz: float, distance_km: float) -> float:
    """Return Lfs [dB] (3.11.1).

    Examples
    --------
    >>> round(free_space_db(0.6, 10.0), 3)
    107.963
    """
    return _CONSTANT_DB + 20.0 * math.log10(frequency_ghz) + 20.0 * math.log10(distance_km)


@also_in_kernels
def slant_km(distance_km: float, tx_m: float, rx_m: float) -> float:
    """Return the length [km] of the straight line between two heights above sea level."""
    return math.hypot(distance_km, (tx_m - rx_m) / 1000.0)
