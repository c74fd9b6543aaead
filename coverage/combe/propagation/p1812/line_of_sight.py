"""Free space with slant distance and multipath focusing: Recommendation ITU-R P.1812-8 §4.2.

Symbols: d distance along the ground, hts hrs terminal heights above sea level, f frequency, dlt dlr horizon
distances, Lbfs free-space loss, Es(q) enhancement exceeded for q % of time (negative loss).
"""

from __future__ import annotations

import math

from combe.compiling import kernel


@kernel
def free_space_slant_loss_db(distance_km: float, tx_m: float, rx_m: float, frequency_ghz: float) -> float:
    """Return Lbfs [dB] (P.1812-8 §4.2, eq. 8 and 8a; the printed constant 92.4).

    Examples
    --------
    >>> round(free_space_slant_loss_db(10.0, 814.4, 257.3, 0.0953), 6)
    91.995316
    """
    # Over short paths to high masts the slant tells; 10 log of the square spares a root.
    rise_km = (tx_m - rx_m) / 1000.0
    slant2 = distance_km * distance_km + rise_km * rise_km
    return 92.4 + 20.0 * math.log10(frequency_ghz) + 10.0 * math.log10(slant2)


@kernel
def focusing_db(tx_horizon_km: float, rx_horizon_km: float, percent: float) -> float:
    """Return Es [dB], 0 at 50 % and below 0 for less time (P.1812-8 §4.2, eq. 9)."""
    return 2.6 * (1.0 - math.exp(-0.1 * (tx_horizon_km + rx_horizon_km))) * math.log10(percent / 50.0)
