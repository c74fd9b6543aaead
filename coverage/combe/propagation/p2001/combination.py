"""How the four sub-models of Recommendation ITU-R P.2001-4 are joined into one loss: §5.

Symbols: Lbm1 normal propagation near the surface, Lbm2 ducting and layer reflection, Lbm3 troposcatter, Lbm4
sporadic E, Lbm12 the first two together, Lb basic transmission loss.

The first two are correlated, since one air makes both, and their powers are added. The others come and go by
themselves; what is added there are powers squared, a gentler blend.
"""

from __future__ import annotations

import math


def surface_db(normal_db: float, anomalous_db: float) -> float:
    """Return Lbm12 [dB] (§5.1).

    Examples
    --------
    >>> round(surface_db(120.0, 120.0), 3)
    116.99
    """
    return _blended_db((normal_db, anomalous_db), 10.0)


def joined_db(surface_loss_db: float, troposcatter_db: float, sporadic_e_db: float) -> float:
    """Return Lb [dB] (§5.2).

    Examples
    --------
    >>> round(joined_db(120.0, 120.0, 4000.0), 3)
    118.495
    """
    return _blended_db((surface_loss_db, troposcatter_db, sporadic_e_db), 5.0)


def _blended_db(losses_db: tuple[float, ...], scale_db: float) -> float:
    """Return −s log Σ 10^(−L/s); the least loss is taken out, for losses reach millions of decibels."""
    least = min(losses_db)
    return least - scale_db * math.log10(sum(10.0 ** ((least - loss) / scale_db) for loss in losses_db))
