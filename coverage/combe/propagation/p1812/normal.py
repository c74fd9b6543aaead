"""The rational inverse normal of Recommendation ITU-R P.1812-8: deviations exceeded with a given chance.

Symbols: x chance of being exceeded, T = √(−2 ln x), ξ rational part, I(x) = T − ξ for x ≤ 0.5, odd about 0.5.
Constants of Attachment 2; the same approximation is in P.1546 and in Abramowitz and Stegun, 26.2.23 (error
below 4.5e-4). I(0.5) is 1.3e-9, not 0.
"""

from __future__ import annotations

import math
from typing import Final

from combe.compiling import kernel, kernel_part

_C0: Final = 2.515516698
_C1: Final = 0.802853
_C2: Final = 0.010328
_D1: Final = 1.432788
_D2: Final = 0.189269
_D3: Final = 0.001308


@kernel_part
def _upper_half(chance: float) -> float:
    """Return I(x) of 0 < x ≤ 0.5."""
    t = math.sqrt(-2.0 * math.log(chance))
    return t - ((_C2 * t + _C1) * t + _C0) / (((_D3 * t + _D2) * t + _D1) * t + 1.0)


@kernel
def inverse_normal(chance: float) -> float:
    """Return I(x), the standard normal deviation exceeded with chance x, 1e-6 ≤ x ≤ 1 − 1e-6.

    Examples
    --------
    >>> round(inverse_normal(0.01), 6), round(inverse_normal(0.95), 6)
    (2.326785, -1.645211)
    """
    if chance <= 0.5:
        return _upper_half(chance)
    return -_upper_half(1.0 - chance)
