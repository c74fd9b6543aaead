"""Ducting and layer reflection: the anomalous propagation of Recommendation ITU-R P.1812-8 §4.5.

Symbols: Af fixed coupling losses, Alf loss by low frequency, Ast Asr site shielding, Act Acr over-sea
coupling, Ad loss by angle and time, γd specific attenuation, θ' angle with horizon angles capped, β β0 with
its corrections, μ2 path geometry, μ3 roughness, α Γ exponents, τ inland factor.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import kernel
from combe.propagation.p1812.conditions import P1812Conditions
from combe.propagation.p1812.ducting_incidence import inland_factor
from combe.propagation.p1812.summary import P1812Summary


class DuctingLoss(NamedTuple):
    """The two parts of the ducting loss and its time base."""

    coupling_db: float  # Af
    attenuation_db: float  # Ad
    duct_time_percent: float  # β


@kernel
def _shielding_db(horizon_mrad: float, horizon_km: float, frequency_ghz: float) -> float:
    """Return Ast or Asr [dB] (P.1812-8 §4.5, eq. 48)."""
    angle = horizon_mrad - 0.1 * horizon_km
    if angle <= 0.0:
        return 0.0
    spread = 1.0 + 0.361 * angle * math.sqrt(frequency_ghz * horizon_km)
    return 20.0 * math.log10(spread) + 0.264 * angle * math.pow(frequency_ghz, 1.0 / 3.0)


@kernel
def _sea_coupling_db(coast_km: float, horizon_km: float, aerial_amsl_m: float, sea: float) -> float:
    """Return Act or Acr [dB], below 0 beside the sea (P.1812-8 §4.5, eq. 49)."""
    if sea < 0.75 or coast_km > horizon_km or coast_km > 5.0:
        return 0.0
    return -3.0 * math.exp(-0.25 * coast_km * coast_km) * (1.0 + math.tanh(0.07 * (50.0 - aerial_amsl_m)))


@kernel
def _coupling_db(s: P1812Summary, frequency_ghz: float) -> float:
    """Return Af [dB] (P.1812-8 §4.5, eq. 47)."""
    low = 0.0
    if frequency_ghz < 0.5:
        low = 45.375 - 137.0 * frequency_ghz + 92.5 * frequency_ghz * frequency_ghz
    return (
        102.45
        + 20.0 * math.log10(frequency_ghz * (s.tx_horizon_km + s.rx_horizon_km))
        + low
        + _shielding_db(s.tx_horizon_mrad, s.tx_horizon_km, frequency_ghz)
        + _shielding_db(s.rx_horizon_mrad, s.rx_horizon_km, frequency_ghz)
        + _sea_coupling_db(s.tx_coast_km, s.tx_horizon_km, s.median.tx_height_m, s.sea_fraction)
        + _sea_coupling_db(s.rx_coast_km, s.rx_horizon_km, s.median.rx_height_m, s.sea_fraction)
    )


@kernel
def _geometry_factor(s: P1812Summary, median_radius_km: float) -> float:
    """Return μ2, not above 1 (P.1812-8 §4.5, eq. 55)."""
    tau = inland_factor(s.inland_km)
    alpha = max(-3.4, -0.6 - 3.5e-9 * math.pow(s.median.distance_km, 3.1) * tau)
    roots = math.sqrt(s.median.tx_height_m - s.duct_tx_m) + math.sqrt(s.median.rx_height_m - s.duct_rx_m)
    reach = s.median.distance_km / roots
    return min(1.0, math.pow(500.0 / median_radius_km * reach * reach, alpha))


@kernel
def _roughness_factor(s: P1812Summary) -> float:
    """Return μ3, 1 up to a roughness of 10 m (P.1812-8 §4.5, eq. 56)."""
    if s.roughness_m <= 10.0:
        return 1.0
    between_km = min(s.median.distance_km - s.tx_horizon_km - s.rx_horizon_km, 40.0)
    return math.exp(-4.6e-5 * (s.roughness_m - 10.0) * (43.0 + 6.0 * between_km))


@kernel
def _time_term_db(distance_km: float, time_percent: float, duct_percent: float) -> float:
    """Return A(p) [dB] (P.1812-8 §4.5, eq. 53)."""
    log_beta = math.log10(duct_percent)
    spread = (9.51 - 4.8 * log_beta + 0.198 * log_beta * log_beta) * 1e-6 * math.pow(distance_km, 1.13)
    gamma = 1.076 / math.pow(2.0058 - log_beta, 1.012) * math.exp(-spread)
    ratio = time_percent / duct_percent
    return -12.0 + (1.2 + 3.7e-3 * distance_km) * math.log10(ratio) + 12.0 * math.pow(ratio, gamma)


@kernel
def ducting_loss(s: P1812Summary, conditions: P1812Conditions, incidence_percent: float) -> DuctingLoss:
    """Return the parts of Lba = Af + Ad (P.1812-8 §4.5, eq. 46 to 56)."""
    radius_km, frequency_ghz = conditions.median_radius_km, conditions.frequency_ghz
    beta = incidence_percent * _geometry_factor(s, radius_km) * _roughness_factor(s)
    angle = (
        1000.0 * s.median.distance_km / radius_km
        + min(s.tx_horizon_mrad, 0.1 * s.tx_horizon_km)
        + min(s.rx_horizon_mrad, 0.1 * s.rx_horizon_km)
    )
    along = 5e-5 * radius_km * math.pow(frequency_ghz, 1.0 / 3.0) * angle
    return DuctingLoss(
        _coupling_db(s, frequency_ghz),
        along + _time_term_db(s.median.distance_km, conditions.time_percent, beta),
        beta,
    )
