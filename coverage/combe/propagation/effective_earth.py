"""Effective Earth radius from the refractivity gradient of the lowest kilometre of air."""

from __future__ import annotations

from typing import Final

from combe.constants import EARTH_RADIUS_KM
from combe.errors import RangeError

CRITICAL_DELTA_N: Final = 157.0
"""N-units/km at which rays follow the Earth (P.1812-8 §3.7, eq. 6; P.452)."""


def effective_radius_km(delta_n: float) -> float:
    """Return the median effective Earth radius [km] for ΔN [N-units/km, positive] (P.1812-8 §3.7, eq. 6).

    ae = 6371 · 157 / (157 − ΔN).

    Raises
    ------
    RangeError
        Outside 0 ≤ ΔN < 157, where the formula has no meaning.

    Examples
    --------
    >>> round(effective_radius_km(45.0), 3)
    8930.777
    """
    if not 0.0 <= delta_n < CRITICAL_DELTA_N:
        raise RangeError("delta_n", delta_n, "0 to below 157 N-units/km", "give it as a positive number")
    return EARTH_RADIUS_KM * CRITICAL_DELTA_N / (CRITICAL_DELTA_N - delta_n)
