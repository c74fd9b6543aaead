"""How the sub-models of Recommendation ITU-R P.1812-8 are joined into one loss: §4.6.

Symbols: Fj factor of path angle (1 well inside the horizon), Fk factor of distance (1 on short paths), Fi
time factor, ω share of sea, Lb0p Lb0β line of sight, Ldp diffraction, Lbd50 Lbd both, Lba ducting, Lbs
troposcatter, Lminb0p Lminbap Lbda Lbam Lbc steps of the combination.
"""

from __future__ import annotations

import math
from typing import Final

from combe.compiling import kernel

# Θ and ξ of eq. 57, Dsw and κ of eq. 58, η of eq. 60.
_ANGLE_MRAD: Final = 0.3
_ANGLE_WEIGHT: Final = 0.8
_DISTANCE_KM: Final = 20.0
_DISTANCE_WEIGHT: Final = 0.5
_ETA_DB: Final = 2.5


@kernel
def angle_factor(path_angle_mrad: float) -> float:
    """Return Fj (P.1812-8 §4.6, eq. 57)."""
    # On a line-of-sight path θ is 0, so this is −1 and Fj 0.992: a hundredth part of Lbda comes in even
    # there.
    beyond = (path_angle_mrad - _ANGLE_MRAD) / _ANGLE_MRAD
    return 1.0 - 0.5 * (1.0 + math.tanh(3.0 * _ANGLE_WEIGHT * beyond))


@kernel
def distance_factor(distance_km: float) -> float:
    """Return Fk (P.1812-8 §4.6, eq. 58)."""
    # On the shortest paths this is −1 and Fk 0.953; at 20 km it is a half, and from 60 km on next to nothing.
    beyond = (distance_km - _DISTANCE_KM) / _DISTANCE_KM
    return 1.0 - 0.5 * (1.0 + math.tanh(3.0 * _DISTANCE_WEIGHT * beyond))


@kernel
def notional_minimum_db(
    line_of_sight_db: float,
    line_of_sight_beta_db: float,
    diffraction_db: float,
    median_db: float,
    sea_fraction: float,
    factor: float,
) -> float:
    """Return Lminb0p [dB], line of sight with diffraction over land only (P.1812-8 §4.6, eq. 59).

    ``factor`` is Fi, which is 1 exactly where p does not exceed β0; ``median_db`` is Lbd50.
    """
    over_land = (1.0 - sea_fraction) * diffraction_db
    # Up to β0 % of time this is line of sight with diffraction; at 50 % it is the median with diffraction;
    # Fi leads from one to the other.
    if factor >= 1.0:
        return line_of_sight_db + over_land
    return median_db + (line_of_sight_beta_db + over_land - median_db) * factor


@kernel
def ducting_minimum_db(ducting_db: float, line_of_sight_db: float) -> float:
    """Return Lminbap [dB] = η ln(exp(Lba/η) + exp(Lb0p/η)), without overflow (P.1812-8 §4.6, eq. 60)."""
    # A maximum with a rounded corner: 1.7 dB over both where they are equal, the greater one far from
    # there.
    high = max(ducting_db, line_of_sight_db)
    return high + _ETA_DB * math.log1p(math.exp(-abs(ducting_db - line_of_sight_db) / _ETA_DB))


@kernel
def with_ducting_db(diffraction_db: float, ducting_minimum: float, factor: float) -> float:
    """Return Lbda [dB] of Lbd, Lminbap and Fk (P.1812-8 §4.6, eq. 61)."""
    # A duct may only help.
    if ducting_minimum > diffraction_db:
        return diffraction_db
    return ducting_minimum + (diffraction_db - ducting_minimum) * factor


@kernel
def with_troposcatter_db(troposcatter_db: float, modified_db: float) -> float:
    """Return Lbc [dB] = −5 log(10^(−0.2 Lbs) + 10^(−0.2 Lbam)), without underflow (P.1812-8 §4.6, eq. 63)."""
    # A minimum with a rounded corner: 1.5 dB under both where they are equal.
    low = min(troposcatter_db, modified_db)
    return low - 5.0 * math.log10(1.0 + math.pow(10.0, -0.2 * abs(troposcatter_db - modified_db)))
