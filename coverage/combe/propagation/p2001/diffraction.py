"""Diffraction not exceeded for p % of time: Recommendation ITU-R P.2001-4, Attachment A.

Symbols: Ldba Ldbs Bullington loss of the real and of the smooth profile, Ldsph spherical-Earth loss, Ld their
combination, ap effective radius for p, dlos marginal distance of line of sight. Bullington, first term and
interpolation are those of P.526-16, which are the same equations; wavelength and radius are P.2001's own.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p526.delta import actual_kernel, smooth_kernel
from combe.propagation.p526.spherical import first_term_kernel, spherical_kernel
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.summary import PathSummary


class Diffraction(NamedTuple):
    """The parts of Ld [dB] and their sum."""

    actual_db: float  # Ldba
    smooth_db: float  # Ldbs
    spherical_db: float  # Ldsph
    total_db: float  # Ld


@also_in_kernels
def diffraction(summary: PathSummary, sea_fraction: float, conditions: Conditions) -> Diffraction:
    """Return the diffraction loss of a path (A.1.1)."""
    actual = actual_kernel(summary, conditions.wavelength_m)
    smooth = smooth_kernel(summary, conditions.wavelength_m)
    spherical = _spherical_db(summary, sea_fraction, conditions)
    return Diffraction(actual, smooth, spherical, actual + max(spherical - smooth, 0.0))


@also_in_kernels
def _spherical_db(summary: PathSummary, sea_fraction: float, conditions: Conditions) -> float:
    """Return Ldsph [dB]; beyond dlos it may be below 0, where P.526 and P.1812 stop at 0 (A.2).

    Ldbs is never below 0, so Ld would be the same with either.
    """
    distance_km, radius_km = summary.distance_km, conditions.time_radius_km
    tx_m, rx_m = summary.tx_effective_m, summary.rx_effective_m
    frequency_mhz, vertical = 1000.0 * conditions.frequency_ghz, conditions.vertical
    marginal_km = math.sqrt(0.002 * radius_km) * (math.sqrt(tx_m) + math.sqrt(rx_m))  # (A.2.1)
    if distance_km >= marginal_km:
        return first_term_kernel(distance_km, tx_m, rx_m, radius_km, frequency_mhz, vertical, sea_fraction)
    return spherical_kernel(
        distance_km, tx_m, rx_m, radius_km, frequency_mhz, conditions.wavelength_m, vertical, sea_fraction
    )
