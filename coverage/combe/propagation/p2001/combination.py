"""How the four sub-models of Recommendation ITU-R P.2001-4 are joined into one loss: §5.

Symbols: Lbm1 normal propagation near the surface, Lbm2 ducting and layer reflection, Lbm3 troposcatter, Lbm4
sporadic E, Lbm12 the first two together, Lb basic transmission loss.

The first two are correlated, since one air makes both, and their powers are added. The others come and go by
themselves; what is added there are powers squared, a gentler blend.
"""

from __future__ import annotations

import math

from combe.compiling import also_in_kernels


@also_in_kernels
def surface_db(normal_db: float, anomalous_db: float) -> float:
    """Return Lbm12 [dB] (§5.1).

    Examples
    --------
    >>> round(surface_db(120.0, 120.0), 3)
    116.99
    """
    least = min(normal_db, anomalous_db)
    powers = _over(least, normal_db, 10.0) + _over(least, anomalous_db, 10.0)
    return least - 10.0 * math.log10(powers)


@also_in_kernels
def joined_db(surface_loss_db: float, troposcatter_db: float, sporadic_e_db: float) -> float:
    """Return Lb [dB] (§5.2).

    Examples
    --------
    >>> round(joined_db(120.0, 120.0, 4000.0), 3)
    118.495
    """
    least = min(surface_loss_db, troposcatter_db, sporadic_e_db)
    powers = _over(least, surface_loss_db, 5.0) + _over(least, troposcatter_db, 5.0)
    return least - 5.0 * math.log10(powers + _over(least, sporadic_e_db, 5.0))


@also_in_kernels
def _over(least_db: float, loss_db: float, scale_db: float) -> float:
    """Return 10^((Lmin − L)/s) of the sum in −s log Σ 10^(−L/s) = Lmin − s log Σ 10^((Lmin − L)/s).

    The least loss is taken out, for losses reach millions of decibels.
    """
    return math.pow(10.0, (least_db - loss_db) / scale_db)
