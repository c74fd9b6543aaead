"""Ducting and layer reflection, the anomalous propagation of Recommendation ITU-R P.2001-4: Attachment D.

Symbols: β0 incidence of ducts at the place, τ inland factor, Aac coupling losses, Alf loss by low frequency,
Ast Asr site shielding, Act Acr coupling over the sea, Aad loss by angle, γd specific attenuation, θa angle
with horizons capped at gtr grr, Aat loss by time, μ2 path geometry, μ3 roughness, β incidence on the path.

Incidence at the place and dependence on time are those of P.1812-8, to which P.2001 adds 50/q dB: thousands
of decibels near 100 % of time, when no duct can be counted on.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p1812.ducting_incidence import ducting_incidence_percent, inland_factor
from combe.propagation.p1812.ducting_time import time_term_db
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.path import Path


class DuctTime(NamedTuple):
    """How often ducts arise [%], whatever the service and the share of time asked."""

    incidence_percent: float  # β0
    duct_time_percent: float  # β


class Ducting(NamedTuple):
    """The three parts of Lba [dB], and their sum."""

    coupling_db: float  # Aac
    angle_db: float  # Aad
    time_db: float  # Aat
    loss_db: float  # Lba, gases apart


@also_in_kernels
def duct_time(path: Path, median_radius_km: float, middle_latitude_deg: float) -> DuctTime:
    """Return how often ducts arise at the place, and on the path (D.2.1 to D.2.4, D.7.1 to D.7.5)."""
    tau = inland_factor(path.longest_inland_km)
    incidence = ducting_incidence_percent(middle_latitude_deg, path.longest_land_km, tau)  # (D.2.1 to D.2.4)
    beta = incidence * _geometry_factor(path, median_radius_km, tau) * _roughness_factor(path)
    return DuctTime(incidence, beta)


@also_in_kernels
def ducting(path: Path, conditions: Conditions, duct_time_percent: float) -> Ducting:
    """Return the ducting loss of a path (D.3 to D.7)."""
    by_time = time_term_db(path.distance_km, conditions.time_percent, duct_time_percent)
    by_time += 50.0 / conditions.exceeded_percent  # (D.7.7)
    coupling, by_angle = _coupling_db(path, conditions.frequency_ghz), _angle_db(path, conditions)
    return Ducting(
        coupling_db=coupling,
        angle_db=by_angle,
        time_db=by_time,
        loss_db=coupling + by_angle + by_time,  # (D.8.1)
    )


@also_in_kernels
def _coupling_db(path: Path, frequency_ghz: float) -> float:
    """Return Aac [dB] (D.5.1)."""
    f, horizon, sea = frequency_ghz, path.horizon, path.sea_fraction
    low = (45.375 - 137.0 * f + 92.5 * f * f) * sea if f < 0.5 else 0.0  # (D.5.2)
    return (
        102.45
        + 20.0 * math.log10(f * (horizon.tx_km + horizon.rx_km))
        + low
        + _shielding_db(horizon.tx_mrad, horizon.tx_km, f)
        + _shielding_db(horizon.rx_mrad, horizon.rx_km, f)
        + _sea_coupling_db(path.tx_coast_km, horizon.tx_km, path.tx_amsl_m, sea)
        + _sea_coupling_db(path.rx_coast_km, horizon.rx_km, path.rx_amsl_m, sea)
    )


@also_in_kernels
def _shielding_db(horizon_mrad: float, horizon_km: float, frequency_ghz: float) -> float:
    """Return Ast or Asr [dB] (D.3.1 to D.3.4)."""
    angle = horizon_mrad - 0.1 * horizon_km
    if angle <= 0.0:
        return 0.0
    spread = 1.0 + 0.361 * angle * math.sqrt(frequency_ghz * horizon_km)
    return 20.0 * math.log10(spread) + 0.264 * angle * math.pow(frequency_ghz, 1.0 / 3.0)


@also_in_kernels
def _sea_coupling_db(coast_km: float, horizon_km: float, aerial_amsl_m: float, sea: float) -> float:
    """Return Act or Acr [dB], below 0 beside the sea (D.4.2, D.4.3)."""
    if sea < 0.75 or coast_km > horizon_km or coast_km > 5.0:
        return 0.0
    return -3.0 * math.exp(-0.25 * coast_km * coast_km) * (1.0 + math.tanh(0.07 * (50.0 - aerial_amsl_m)))


@also_in_kernels
def _angle_db(path: Path, conditions: Conditions) -> float:
    """Return Aad [dB], 0 where the horizons lie lower than the Earth bends (D.6)."""
    horizon = path.horizon
    angle = (
        1000.0 * path.distance_km / conditions.median_radius_km
        + min(horizon.tx_mrad, 0.1 * horizon.tx_km)
        + min(horizon.rx_mrad, 0.1 * horizon.rx_km)
    )
    specific = 5e-5 * conditions.median_radius_km * math.pow(conditions.frequency_ghz, 1.0 / 3.0)
    return specific * max(angle, 0.0)


@also_in_kernels
def _geometry_factor(path: Path, median_radius_km: float, tau: float) -> float:
    """Return μ2, not above 1 (D.7.3, D.7.4)."""
    roots = math.sqrt(path.tx_effective_duct_m) + math.sqrt(path.rx_effective_duct_m)
    reach = path.distance_km / roots
    alpha = max(-3.4, -0.6 - 3.5e-9 * path.distance_km**3.1 * tau)
    return min(1.0, math.pow(500.0 / median_radius_km * reach * reach, alpha))


@also_in_kernels
def _roughness_factor(path: Path) -> float:
    """Return μ3, 1 up to a roughness of 10 m (D.7.1, D.7.2)."""
    if path.roughness_m <= 10.0:
        return 1.0
    between_km = min(path.distance_km - path.horizon.tx_km - path.horizon.rx_km, 40.0)
    return math.exp(-4.6e-5 * (path.roughness_m - 10.0) * (43.0 + 6.0 * between_km))
