"""What holds for a whole path at one share of time: percentages, refraction, wavelength (P.2001-4 §3).

Symbols: p q percentages not exceeded and exceeded, Nd1km50 Nd1kmp gradient of the lowest kilometre (median,
and for p), ae ap effective Earth radii of these, Cp effective curvature, λ wavelength.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import also_in_kernels
from combe.constants import EARTH_RADIUS_KM
from combe.propagation.effective_earth import CRITICAL_DELTA_N
from combe.propagation.p2001.climate import Air, Climate

WAVELENGTH_M_GHZ: Final = 0.2998
"""Wavelength times frequency [m·GHz] with the Recommendation's c = 2.998e8 m/s (§3.6)."""

_LEAST_CURVATURE_PER_KM: Final = 1e-6
_GREATEST_RADIUS_KM: Final = 1e6


class Conditions(NamedTuple):
    """Frequency, polarization, share of time and the air for it; made by :func:`conditions_of`."""

    frequency_ghz: float
    wavelength_m: float
    vertical: bool
    time_percent: float  # p
    exceeded_percent: float  # q
    gradient_n_km: float  # Nd1kmp
    median_radius_km: float  # ae
    curvature_per_km: float  # Cp, which may be negative
    time_radius_km: float  # ap


def make_conditions(
    climate: Climate, *, frequency_mhz: float, time_percent: float, vertical: bool = False
) -> Conditions:
    """Return the conditions for ``time_percent`` (P.2001-4 §3.1, §3.4 to §3.6).

    Examples
    --------
    >>> air = Climate(42, 45, 24, -230, 7.5, 5.5, 3.6, 2.2, 2.2, 8, 5)
    >>> round(make_conditions(air, frequency_mhz=600, time_percent=99).time_radius_km, 3)
    6421.094
    """
    return conditions_of(climate.air, frequency_mhz, time_percent, vertical)


@also_in_kernels
def conditions_of(air: Air, frequency_mhz: float, time_percent: float, vertical: bool) -> Conditions:
    """As :func:`make_conditions`, of a climate in plain numbers."""
    p = time_percent + 1e-5 * (50.0 - time_percent) / 50.0  # (3.1.1)
    q = 100.0 - p  # (3.1.2)
    gradient = gradient_n_km(air, p, q)
    curvature = (CRITICAL_DELTA_N + gradient) / (CRITICAL_DELTA_N * EARTH_RADIUS_KM)  # (3.5.2)
    frequency_ghz = frequency_mhz / 1000.0
    return Conditions(
        frequency_ghz=frequency_ghz,
        wavelength_m=WAVELENGTH_M_GHZ / frequency_ghz,
        vertical=vertical,
        time_percent=p,
        exceeded_percent=q,
        gradient_n_km=gradient,
        median_radius_km=CRITICAL_DELTA_N * EARTH_RADIUS_KM / (CRITICAL_DELTA_N - air.median_dn),
        curvature_per_km=curvature,
        time_radius_km=1.0 / curvature if curvature > _LEAST_CURVATURE_PER_KM else _GREATEST_RADIUS_KM,
    )  # radii: (3.5.1), (3.5.3)


@also_in_kernels
def gradient_n_km(air: Air, p: float, q: float) -> float:
    """Return Nd1kmp [N-units/km]: strong falls for small p, weak ones or a rise for large (3.4.1.2)."""
    if p < 50.0:
        return -air.median_dn + air.super_slope * math.log10(0.02 * p)
    return -air.median_dn - air.sub_slope * math.log10(0.02 * q)
