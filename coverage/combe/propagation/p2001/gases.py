"""Absorption by oxygen and water vapour: Recommendation ITU-R P.2001-4, Attachment F.

Symbols: γo γw γwr specific attenuations of oxygen, vapour, and vapour while it rains, ρsur vapour at the
surface, hsur ground above sea level, hρ mean height of a path, do dw equivalent lengths.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import also_in_kernels

_OXYGEN_SCALE_M: Final = 5000.0
_VAPOUR_SCALE_M: Final = 2000.0


class GasLoss(NamedTuple):
    """Absorption [dB] along one path or leg."""

    oxygen_db: float  # Ao
    vapour_db: float  # Aw
    vapour_in_rain_db: float  # Awr


@also_in_kernels
def total_db(gases: GasLoss) -> float:
    """Return the absorption without rain (3.10.1, 4.3.7)."""
    return gases.oxygen_db + gases.vapour_db


@also_in_kernels
def both_legs(one: GasLoss, other: GasLoss) -> GasLoss:
    """Return the absorption of both legs (F.3.3)."""
    return GasLoss(
        one.oxygen_db + other.oxygen_db,
        one.vapour_db + other.vapour_db,
        one.vapour_in_rain_db + other.vapour_in_rain_db,
    )


@also_in_kernels
def oxygen_db_km(frequency_ghz: float) -> float:
    """Return γo [dB/km] at sea level (F.6.1).

    Examples
    --------
    >>> round(oxygen_db_km(0.6), 4)
    0.0037
    """
    f = frequency_ghz
    return (7.2 / (f * f + 0.34) + 0.62 / (math.pow(54.0 - f, 1.16) + 0.83)) * f * f * 1e-3


@also_in_kernels
def vapour_db_km(frequency_ghz: float, density_g_m3: float, ground_m: float) -> float:
    """Return γw [dB/km] at sea level, for a density at the surface (F.6.2)."""
    f = frequency_ghz
    at_sea = density_g_m3 * math.exp(ground_m / _VAPOUR_SCALE_M)
    eta = 0.955 + 0.006 * at_sea
    line = 3.98 * eta / ((f - 22.235) ** 2 + 9.42 * eta * eta)
    shape = 1.0 + ((f - 22.0) / (f + 22.0)) ** 2
    return (0.046 + 0.0019 * at_sea + line * shape) * f * f * at_sea * 1e-4


@also_in_kernels
def density_in_rain_g_m3(density_g_m3: float, ground_m: float) -> float:
    """Return ρrain [g/m³], the vapour at the surface while it rains (F.5.1)."""
    if ground_m <= 2600.0:
        return density_g_m3 + 0.4 + 0.0003 * ground_m
    return density_g_m3 + 5.0 * math.exp(-ground_m / 1800.0)


@also_in_kernels
def surface_path_gases(
    frequency_ghz: float, distance_km: float, density_g_m3: float, ground_m: float, mean_height_m: float
) -> GasLoss:
    """Return the absorption along a path near the surface; ``ground_m`` in its middle (F.2.2)."""
    air, vapour, wet = _specific_db_km(frequency_ghz, density_g_m3, ground_m)
    by_oxygen = distance_km * math.exp(-mean_height_m / _OXYGEN_SCALE_M)
    by_vapour = distance_km * math.exp(-mean_height_m / _VAPOUR_SCALE_M)
    return GasLoss(air * by_oxygen, vapour * by_vapour, wet * by_vapour)


@also_in_kernels
def scatter_leg_gases(
    frequency_ghz: float, length_km: float, density_g_m3: float, ground_m: float, elevation_rad: float
) -> GasLoss:
    """Return the absorption from an aerial to the common volume of scatter (F.4)."""
    air, vapour, wet = _specific_db_km(frequency_ghz, density_g_m3, ground_m)
    by_oxygen = _equivalent_km(5.0, 0.00304, elevation_rad, length_km) * math.exp(-ground_m / _OXYGEN_SCALE_M)
    by_vapour = _equivalent_km(2.0, 0.00122, elevation_rad, length_km) * math.exp(-ground_m / _VAPOUR_SCALE_M)
    return GasLoss(air * by_oxygen, vapour * by_vapour, wet * by_vapour)


@also_in_kernels
def _specific_db_km(frequency_ghz: float, density_g_m3: float, ground_m: float) -> tuple[float, float, float]:
    """Return γo, γw and γwr [dB/km]."""
    wet = density_in_rain_g_m3(density_g_m3, ground_m)
    return (
        oxygen_db_km(frequency_ghz),
        vapour_db_km(frequency_ghz, density_g_m3, ground_m),
        vapour_db_km(frequency_ghz, wet, ground_m),
    )


@also_in_kernels
def _equivalent_km(scale_km: float, curve: float, elevation_rad: float, length_km: float) -> float:
    """Return the length [km] at surface density that absorbs as the slanting leg does (F.4.1, F.4.2)."""
    sine = math.sin(elevation_rad)
    whole_km = scale_km / (0.65 * sine + 0.35 * math.sqrt(sine * sine + curve))
    return whole_km * (1.0 - math.exp(-length_km / whole_km))
