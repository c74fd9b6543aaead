"""How often ducts arise: the point incidence β0 of Recommendation ITU-R P.1812-8 §3.6.

Symbols: φ latitude of the path centre, dtm longest stretch of land (inland or coastal), dlm longest stretch
inland, τ inland factor, μ1 μ4 continuity factors, β0 percentage of time with refractivity lapse above
100 N-units/km.
"""

from __future__ import annotations

import math
from typing import Final

from combe.compiling import kernel

_LN10: Final = math.log(10.0)
_LEAST_LOG_MU1: Final = -0.85
"""log μ1 over endless inland ground: −(0.496 + 0.354)."""


@kernel
def inland_factor(inland_km: float) -> float:
    """Return τ (P.1812-8 §3.6, eq. 3a)."""
    # From some 50 km of inland ground on this is 1: the first kilometres from the sea are what counts.
    return 1.0 - math.exp(-4.12e-4 * math.pow(inland_km, 2.41))


@kernel
def _incidence_percent(latitude_deg: float, log_mu1: float) -> float:
    """Return β0 [%] of the latitude and log μ1 (eq. 4 and 5)."""
    latitude = abs(latitude_deg)
    # μ4 is a power of μ1 too: μ1 μ4 = μ1^(0.065 + 0.0176 |φ|), and μ1^1.3 beyond 70°. So logarithms add up
    # and one exponential does.
    if latitude <= 70.0:
        return math.exp(_LN10 * (1.67 - 0.015 * latitude + log_mu1 * (0.065 + 0.0176 * latitude)))
    return 4.17 * math.exp(_LN10 * 1.3 * log_mu1)


@kernel
def ducting_incidence_percent(latitude_deg: float, land_km: float, tau: float) -> float:
    """Return β0 [%] of latitude, longest land stretch and inland factor (P.1812-8 §3.6, eq. 2 to 5).

    Examples
    --------
    >>> round(ducting_incidence_percent(53.20515067, 10.0, inland_factor(10.0)), 6)
    5.523158
    """
    # μ1, the fifth root of the sum, is not let above 1: its logarithm not above 0.
    by_land = math.exp(-_LN10 * land_km / (16.0 - 6.6 * tau))
    by_inland = math.exp(-_LN10 * 5.0 * (0.496 + 0.354 * tau))
    return _incidence_percent(latitude_deg, min(0.0, 0.2 * math.log10(by_land + by_inland)))


def incidence_bounds_percent(latitude_deg: float) -> tuple[float, float]:
    """Return the least and the greatest β0 [%] that any path centred at a latitude can have."""
    return _incidence_percent(latitude_deg, _LEAST_LOG_MU1), _incidence_percent(latitude_deg, 0.0)
