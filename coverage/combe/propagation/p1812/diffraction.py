"""Delta-Bullington diffraction for two effective radii and between them: Recommendation ITU-R P.1812-8 §4.3.

Symbols: Luc knife-edge loss of the equivalent edge, Lbulla Lbulls Bullington loss of the real and of the
smooth profile, Ldsph spherical-Earth loss, Ld their combination, Ld50 for the median radius, Ldβ for aβ, Fi
interpolation factor, Ldp loss not exceeded for p % of time. Knife edge and spherical Earth are those of
P.526-16, which are the same equations; the wavelength is P.1812's own.
"""

from __future__ import annotations

from typing import NamedTuple

from combe.compiling import kernel, kernel_part
from combe.propagation.p526.delta import actual_kernel, smooth_kernel
from combe.propagation.p526.spherical import spherical_kernel
from combe.propagation.p1812.conditions import BETA_RADIUS_KM, P1812Conditions
from combe.propagation.p1812.normal import inverse_normal
from combe.propagation.p1812.summary import P1812Summary
from combe.propagation.summary import PathSummary


class DeltaBullingtonLoss(NamedTuple):
    """Delta-Bullington of one effective radius [dB]."""

    actual_db: float  # Lbulla
    smooth_db: float  # Lbulls
    spherical_db: float  # Ldsph
    total_db: float  # Ld


@kernel
def delta_bullington(
    path: PathSummary, radius_km: float, sea_fraction: float, conditions: P1812Conditions
) -> DeltaBullingtonLoss:
    """Return the loss for one effective radius (P.1812-8 §4.3.4, eq. 37 to 39)."""
    actual = actual_kernel(path, conditions.wavelength_m)
    smooth = smooth_kernel(path, conditions.wavelength_m)
    spherical = spherical_kernel(
        path.distance_km,
        path.tx_effective_m,
        path.rx_effective_m,
        radius_km,
        1000.0 * conditions.frequency_ghz,
        conditions.wavelength_m,
        conditions.vertical,
        sea_fraction,
    )
    # Eq. 39. Both losses are of the same smooth surface, so what is added is what Bullington misses of the
    # Earth's curve; where it misses nothing, nothing is taken off.
    return DeltaBullingtonLoss(actual, smooth, spherical, actual + max(spherical - smooth, 0.0))


@kernel_part
def median_diffraction(summary: P1812Summary, conditions: P1812Conditions) -> DeltaBullingtonLoss:
    """Return the loss for the median effective radius: total is Ld50 (P.1812-8 §4.3.5)."""
    return delta_bullington(summary.median, conditions.median_radius_km, summary.sea_fraction, conditions)


@kernel_part
def beta_diffraction(summary: P1812Summary, conditions: P1812Conditions) -> DeltaBullingtonLoss:
    """Return the loss for the effective radius exceeded for β0 % of time: total is Ldβ (P.1812-8 §4.3.5)."""
    return delta_bullington(summary.beta, BETA_RADIUS_KM, summary.sea_fraction, conditions)


@kernel_part
def time_factor(time_percent: float, time_inverse: float, incidence_percent: float) -> float:
    """Return Fi: 1 up to β0 % of time, falling to 0 at 50 % (P.1812-8 §4.3.5, eq. 40)."""
    if time_percent <= incidence_percent:
        return 1.0
    # The ratio of two normal deviations: 1 where p = β0, 0 where p = 50 %, and between them as if
    # log-normal.
    return time_inverse / inverse_normal(incidence_percent / 100.0)
