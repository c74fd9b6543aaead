"""How the ducting loss depends on time: A(p) of Recommendation ITU-R P.1812-8 §4.5, and a floor under it.

Symbols: p time percentage, β percentage of time with ducts, d distance, Γ exponent = Γ0 (of β alone) times a
decline with distance. The floor serves area sweeps: A(p) falls as β rises (a test goes through the whole
range), and no β is above the greatest β0 of the latitude; so A(p) at that β, with the decline bounded, is
below any.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import kernel, kernel_part

_LN10: Final = math.log(10.0)
_LONGEST_ROOT: Final = 3000.0**0.13
"""d^1.13 is at most this times d on paths up to 3000 km."""


class TimeFloor(NamedTuple):
    """A(p) at the greatest β, as far as it does not depend on distance."""

    log_ratio: float  # log(p/β)
    gamma: float  # Γ0
    decline_per_km: float  # of Γ, at most


@kernel
def _gamma_without_distance(log_beta: float) -> float:
    """Return Γ0 (P.1812-8 §4.5, eq. 53a without its decline)."""
    return 1.076 / math.pow(2.0058 - log_beta, 1.012)


@kernel
def _decline(log_beta: float) -> float:
    """Return what multiplies d^1.13 in the decline of Γ."""
    return (9.51 - 4.8 * log_beta + 0.198 * log_beta * log_beta) * 1e-6


@kernel
def time_term_db(distance_km: float, time_percent: float, duct_percent: float) -> float:
    """Return A(p) [dB] (P.1812-8 §4.5, eq. 53)."""
    log_beta = math.log10(duct_percent)
    gamma = _gamma_without_distance(log_beta) * math.exp(-_decline(log_beta) * math.pow(distance_km, 1.13))
    log_ratio = math.log10(time_percent / duct_percent)
    # (p/β)^Γ as a power of ten, for log(p/β) is at hand.
    return -12.0 + (1.2 + 3.7e-3 * distance_km) * log_ratio + 12.0 * math.exp(_LN10 * gamma * log_ratio)


def time_floor(time_percent: float, greatest_percent: float) -> TimeFloor:
    """Return the constants of the floor for a time percentage and the greatest β0 [%] of the latitude."""
    log_beta = math.log10(greatest_percent)
    return TimeFloor(
        math.log10(time_percent / greatest_percent),
        _gamma_without_distance(log_beta),
        _decline(log_beta) * _LONGEST_ROOT,
    )


@kernel_part
def time_floor_db(distance_km: float, floor: TimeFloor) -> float:
    """Return a bound [dB] that A(p) is never below, whatever β, up to 3000 km."""
    exponent = floor.gamma * floor.log_ratio
    # For p above β the term falls with Γ, so Γ is taken too small, by e^-x ≥ 1 - x; for p below β it grows
    # as Γ falls, and leaving the decline out is the floor.
    if exponent > 0.0:
        exponent *= 1.0 - floor.decline_per_km * distance_km  # e^-x is at least 1 - x
    return -12.0 + (1.2 + 3.7e-3 * distance_km) * floor.log_ratio + 12.0 * math.exp(_LN10 * exponent)
