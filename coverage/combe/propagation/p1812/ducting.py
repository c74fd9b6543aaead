"""Ducting and layer reflection: the anomalous propagation of Recommendation ITU-R P.1812-8 §4.5.

Symbols: Af fixed coupling losses, Alf loss by low frequency, Ast Asr site shielding, Act Acr over-sea
coupling, Ad loss by angle and time, γd specific attenuation, θ' angle with horizon angles capped, β β0 with
its corrections, μ2 path geometry, μ3 roughness, α Γ exponents, τ inland factor.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import kernel_part
from combe.propagation.p1812.conditions import P1812Conditions
from combe.propagation.p1812.ducting_time import time_floor_db, time_term_db
from combe.propagation.p1812.summary import P1812Summary


class DuctingLoss(NamedTuple):
    """The two parts of the ducting loss and its time base."""

    coupling_db: float  # Af
    attenuation_db: float  # Ad
    duct_time_percent: float  # β


@kernel_part
def _shielding_db(
    horizon_mrad: float, horizon_km: float, frequency_ghz: float, frequency_root: float
) -> float:
    """Return Ast or Asr [dB] (P.1812-8 §4.5, eq. 48)."""
    # Up to 0.1 mrad a kilometre a raised horizon is part of the angle θ' (eq. 52); only what is over it
    # shields.
    angle = horizon_mrad - 0.1 * horizon_km
    if angle <= 0.0:
        return 0.0
    spread = 1.0 + 0.361 * angle * math.sqrt(frequency_ghz * horizon_km)
    return 20.0 * math.log10(spread) + 0.264 * angle * frequency_root


@kernel_part
def _sea_coupling_db(coast_km: float, horizon_km: float, aerial_amsl_m: float, sea: float) -> float:
    """Return Act or Acr [dB], below 0 beside the sea (P.1812-8 §4.5, eq. 49)."""
    # The duct over the sea is entered from a shore in sight and near by; farther inland the aerial does not
    # reach it.
    if sea < 0.75 or coast_km > horizon_km or coast_km > 5.0:
        return 0.0
    # A low aerial on the shore gains nearly 6 dB, one at 50 m over the sea 3 dB, one high above the duct
    # nothing.
    return -3.0 * math.exp(-0.25 * coast_km * coast_km) * (1.0 + math.tanh(0.07 * (50.0 - aerial_amsl_m)))


@kernel_part
def coupling_db(s: P1812Summary, c: P1812Conditions) -> float:
    """Return Af [dB] (P.1812-8 §4.5, eq. 47)."""
    f, root = c.frequency_ghz, c.frequency_root
    # A duct is too thin to hold long waves. The parabola comes to 0 at 0.5 GHz, without a step.
    low = 45.375 - 137.0 * f + 92.5 * f * f if f < 0.5 else 0.0
    return (
        102.45
        + 20.0 * math.log10(f * (s.tx_horizon_km + s.rx_horizon_km))
        + low
        + _shielding_db(s.tx_horizon_mrad, s.tx_horizon_km, f, root)
        + _shielding_db(s.rx_horizon_mrad, s.rx_horizon_km, f, root)
        + _sea_coupling_db(s.tx_coast_km, s.tx_horizon_km, s.median.tx_height_m, s.sea_fraction)
        + _sea_coupling_db(s.rx_coast_km, s.rx_horizon_km, s.median.rx_height_m, s.sea_fraction)
    )


@kernel_part
def angle_term_db(s: P1812Summary, c: P1812Conditions) -> float:
    """Return γd θ' [dB] (P.1812-8 §4.5, eq. 51 and 52)."""
    # θ' (eq. 52): what a horizon angle has over 0.1 mrad a kilometre is priced as shielding (eq. 48), so each
    # part counts once.
    angle = (
        1000.0 * s.median.distance_km / c.median_radius_km
        + min(s.tx_horizon_mrad, 0.1 * s.tx_horizon_km)
        + min(s.rx_horizon_mrad, 0.1 * s.rx_horizon_km)
    )
    return 5e-5 * c.median_radius_km * c.frequency_root * angle


@kernel_part
def _geometry_factor(s: P1812Summary, median_radius_km: float, tau: float) -> float:
    """Return μ2, not above 1 (P.1812-8 §4.5, eq. 55)."""
    path = s.median
    # The surface of ducting is nowhere above the ground at an end, so no root is of a number below 0.
    roots = math.sqrt(path.tx_height_m - s.duct_tx_m) + math.sqrt(path.rx_height_m - s.duct_rx_m)
    # In other words (d / the distance at which two aerials of these heights lose sight over a smooth Earth)²:
    # within it the geometry takes nothing from the duct.
    reach = path.distance_km / roots
    spread = 500.0 / median_radius_km * reach * reach
    if spread <= 1.0:
        return 1.0  # the exponent is below 0
    alpha = max(-3.4, -0.6 - 3.5e-9 * math.pow(path.distance_km, 3.1) * tau)
    return math.pow(spread, alpha)


@kernel_part
def _roughness_factor(s: P1812Summary) -> float:
    """Return μ3, 1 up to a roughness of 10 m (P.1812-8 §4.5, eq. 56)."""
    if s.roughness_m <= 10.0:
        return 1.0
    # Only the ground between the horizons breaks up a layer, and beyond 40 km of it no more than that
    # counts.
    between_km = min(s.median.distance_km - s.tx_horizon_km - s.rx_horizon_km, 40.0)
    return math.exp(-4.6e-5 * (s.roughness_m - 10.0) * (43.0 + 6.0 * between_km))


@kernel_part
def ducting_loss(s: P1812Summary, c: P1812Conditions, incidence_percent: float, tau: float) -> DuctingLoss:
    """Return the parts of Lba = Af + Ad (P.1812-8 §4.5, eq. 46 to 56)."""
    # β: what of the ducts of the air this path has left, after its geometry (μ2) and its roughness (μ3).
    beta = incidence_percent * _geometry_factor(s, c.median_radius_km, tau) * _roughness_factor(s)
    by_time = time_term_db(s.median.distance_km, c.time_percent, beta)
    return DuctingLoss(coupling_db(s, c), angle_term_db(s, c) + by_time, beta)


@kernel_part
def ducting_floor_db(s: P1812Summary, c: P1812Conditions) -> float:
    """Return a bound that Lba [dB] is never below, whatever β: for skipping ducts that cannot count."""
    return coupling_db(s, c) + angle_term_db(s, c) + time_floor_db(s.median.distance_km, c.time_floor)
