"""How often ducts arise: the point incidence β0 of Recommendation ITU-R P.1812-8 §3.6.

Symbols: φ latitude of the path centre, dtm longest stretch of land (inland or coastal), dlm longest stretch
inland, τ inland factor, μ1 μ4 continuity factors, β0 percentage of time with refractivity lapse above
100 N-units/km.
"""

from __future__ import annotations

import math

from combe.compiling import kernel


@kernel
def inland_factor(inland_km: float) -> float:
    """Return τ (P.1812-8 §3.6, eq. 3a)."""
    return 1.0 - math.exp(-4.12e-4 * math.pow(inland_km, 2.41))


@kernel
def ducting_incidence_percent(latitude_deg: float, land_km: float, inland_km: float) -> float:
    """Return β0 [%] (P.1812-8 §3.6, eq. 2 to 5).

    Examples
    --------
    >>> round(ducting_incidence_percent(53.20515067, 10.0, 10.0), 6)
    5.523158
    """
    tau = inland_factor(inland_km)
    by_land = math.pow(10.0, -land_km / (16.0 - 6.6 * tau))
    log_mu1 = min(0.0, 0.2 * math.log10(by_land + math.pow(10.0, -5.0 * (0.496 + 0.354 * tau))))
    latitude = abs(latitude_deg)
    if latitude <= 70.0:
        return math.pow(10.0, 1.67 - 0.015 * latitude + log_mu1 * (1.0 - 0.935 + 0.0176 * latitude))
    return 4.17 * math.pow(10.0, 1.3 * log_mu1)
