"""Reflection from the sporadic E layer in one and two hops: Recommendation ITU-R P.2001-4, Attachment G.

Symbols: foEs critical frequency exceeded for p % of time, hes height of the layer, Γ1 Γ2 ionospheric losses,
l1 l2 slant lengths of the hops, εr elevation of the ray, δ horizon over it, ν diffraction parameter.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p526.knife_edge import knife_edge_kernel
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.free_space import free_space_db
from combe.propagation.p2001.path import Path

_LAYER_KM: Final = 120.0
_LEAST_FOES_MHZ: Final = 1e-3
_ALONE_DB: Final = 20.0
_BOTH_WAYS_DB: Final = 3.02


class SporadicE(NamedTuple):
    """The losses [dB] of both ways, and of both together."""

    foes_mhz: float
    one_hop_db: float  # Lbes1
    two_hops_db: float  # Lbes2
    loss_db: float  # Lbe


@also_in_kernels
def sporadic_e(path: Path, conditions: Conditions, air: Air) -> SporadicE:
    """Return the loss by way of the sporadic E layer (G.2, G.3, G.4)."""
    foes = foes_mhz(air, conditions.time_percent)
    one = _hops_db(path, conditions, foes, 1)
    two = _hops_db(path, conditions, foes, 2)
    return SporadicE(foes, one, two, joined_hops_db(one, two))


@also_in_kernels
def least_sporadic_e_db(path: Path, conditions: Conditions, air: Air) -> float:
    """Return what Lbe [dB] is not below: the lesser reflection alone, less 3 dB for two equal ways."""
    ratio = 1000.0 * conditions.frequency_ghz / foes_mhz(air, conditions.time_percent)
    one, two = _reflection_db(path.distance_km, 1, ratio), _reflection_db(path.distance_km, 2, ratio)
    return min(one, two) - _BOTH_WAYS_DB


@also_in_kernels
def foes_mhz(air: Air, time_percent: float) -> float:
    """Return foEs [MHz], straight over the logarithm of time, and beyond the maps' ends too (G.1.1).

    Where the maps are steep the line comes down to nought near 100 % of time; a thousandth of a megahertz is
    the least then, whatever its sign.
    """
    if time_percent < 1.0:
        first, second, f1, f2 = 0.1, 1.0, air.foes_0_1_mhz, air.foes_1_mhz
    elif time_percent > 10.0:
        first, second, f1, f2 = 10.0, 50.0, air.foes_10_mhz, air.foes_50_mhz
    else:
        first, second, f1, f2 = 1.0, 10.0, air.foes_1_mhz, air.foes_10_mhz
    found = f1 + (f2 - f1) * math.log10(time_percent / first) / math.log10(second / first)
    return found if abs(found) >= _LEAST_FOES_MHZ else _LEAST_FOES_MHZ


@also_in_kernels
def _hops_db(path: Path, conditions: Conditions, foes: float, hops: int) -> float:
    """Return the loss [dB] of one or two hops (G.2.1 to G.2.8, G.3.1 to G.3.7)."""
    hop_km, radius_km = path.distance_km / hops, conditions.median_radius_km
    half = hop_km / (2.0 * radius_km)
    layer_km = radius_km + _LAYER_KM
    leg_km = math.sqrt(radius_km**2 + layer_km**2 - 2.0 * radius_km * layer_km * math.cos(half))
    rise_km = _LAYER_KM + radius_km * (1.0 - math.cos(half))
    elevation = 0.5 * math.pi - math.atan(radius_km * math.sin(half) / rise_km) - half
    horizon = path.horizon
    return (
        free_space_db(conditions.frequency_ghz, 2.0 * hops * leg_km)
        + _reflection_db(path.distance_km, hops, 1000.0 * conditions.frequency_ghz / foes)
        + _shielding_db(horizon.tx_mrad, horizon.tx_km, elevation, conditions.frequency_ghz)
        + _shielding_db(horizon.rx_mrad, horizon.rx_km, elevation, conditions.frequency_ghz)
    )


@also_in_kernels
def _reflection_db(distance_km: float, hops: int, ratio: float) -> float:
    """Return Γ1 or Γ2 [dB] for a ratio of frequency to foEs (G.2.1, G.3.1)."""
    hop_km = distance_km / hops
    near = 40.0 / (1.0 + hop_km / 130.0 + (hop_km / 250.0) ** 2)
    far = 0.2 * (hop_km / 2600.0) ** 2
    longest_km = 1660.0 if hops == 1 else 3220.0
    return (near + far) * ratio * ratio + math.exp((distance_km - longest_km) / (280.0 * hops))


@also_in_kernels
def _shielding_db(horizon_mrad: float, horizon_km: float, elevation: float, frequency_ghz: float) -> float:
    """Return the loss [dB] of the ray over the horizon at one end (G.2.5 to G.2.7).

    A horizon steeper than upright, which only a fault of a profile has, shields nothing.
    """
    above = 0.001 * horizon_mrad - elevation
    squared = 1000.0 * frequency_ghz * horizon_km * (1.0 - math.cos(above)) / math.cos(0.001 * horizon_mrad)
    if squared < 0.0:
        return 0.0
    return knife_edge_kernel(math.copysign(3.651 * math.sqrt(squared), above))


@also_in_kernels
def joined_hops_db(one: float, two: float) -> float:
    """Return Lbe [dB]: the lesser where it is so by 20 dB, else both powers together (G.4.1)."""
    least, apart = min(one, two), abs(one - two)
    if apart > _ALONE_DB:
        return least
    return least - 10.0 * math.log10(1.0 + 10.0 ** (-0.1 * apart))
