"""Fading in clear air, by multipath and focusing: Recommendation ITU-R P.2001-4, Attachment B.

Symbols: K factor of the place, Nd65m1 gradient of the lowest 65 m, εca εp slope or elevation of a stretch,
dca hca its length and height, Cg correction by geography, Q0ca notional percentage of time with no fade at
all, A fade (below 0 an enhancement), Qcaf percentage of the time without rain for which A is exceeded.
"""

from __future__ import annotations

import math

from combe.compiling import also_in_kernels
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.path import Path

_LN2 = math.log(2.0)
_LN10 = math.log(10.0)


@also_in_kernels
def occurrence_percent(path: Path, conditions: Conditions, air: Air, middle_latitude_deg: float) -> float:
    """Return Q0ca [%]: of the whole path, or of the worse end of a path beyond the horizon (B.2)."""
    factor = 10.0 ** -(4.6 + 0.0027 * air.dn_65m_1_percent)
    frequency_ghz = conditions.frequency_ghz
    horizon = path.horizon
    if horizon.line_of_sight:
        lower_m = min(path.tx_amsl_m, path.rx_amsl_m)
        return stretch_percent(
            path.distance_km, path.slope_mrad, lower_m, factor, frequency_ghz, middle_latitude_deg
        )
    tx_m = min(path.tx_amsl_m, path.tx_horizon_ground_m)
    rx_m = min(path.rx_amsl_m, path.rx_horizon_ground_m)
    at_tx = stretch_percent(
        horizon.tx_km, abs(horizon.tx_mrad), tx_m, factor, frequency_ghz, middle_latitude_deg
    )
    at_rx = stretch_percent(
        horizon.rx_km, abs(horizon.rx_mrad), rx_m, factor, frequency_ghz, middle_latitude_deg
    )
    return max(at_tx, at_rx)


@also_in_kernels
def stretch_percent(
    length_km: float,
    slope_mrad: float,
    height_m: float,
    factor: float,
    frequency_ghz: float,
    middle_latitude_deg: float,
) -> float:
    """Return the percentage of one stretch, which can be above 100 on long ones (B.3)."""
    worst = (
        factor
        * math.pow(length_km, 3.1)
        * math.pow(1.0 + slope_mrad, -1.29)
        * math.pow(frequency_ghz, 0.8)
        * math.pow(10.0, -0.00089 * height_m)
    )  # of the worst month (B.3.1)
    bend = math.pow(abs(math.cos(math.radians(2.0 * middle_latitude_deg))), 0.7)
    signed = bend if abs(middle_latitude_deg) <= 45.0 else -bend
    by_place_db = (
        10.5
        - 5.6 * math.log10(1.1 + signed)
        - 2.7 * math.log10(length_km)
        + 1.7 * math.log10(1.0 + slope_mrad)
    )  # (B.3.2)
    return worst * math.pow(10.0, -0.1 * min(10.8, by_place_db))  # of the average year (B.3.3)


@also_in_kernels
def surface_chance_percent(fade_db: float, occurrence: float) -> float:
    """Return Qcaf(A) [%] of a path near the surface, 50 at 0 dB (B.4).

    Examples
    --------
    >>> surface_chance_percent(0.0, 0.04)
    50.0
    >>> round(surface_chance_percent(10.0, 0.04), 4)
    0.0082
    """
    if fade_db >= 0.0:
        by_occurrence = 3.576 - 1.955 * math.log10(occurrence)
        amplitude = _ten_to(-0.05 * fade_db)
        q_a = 2.0 + (1.0 + 0.3 * amplitude) * _ten_to(-0.016 * fade_db) * (
            by_occurrence + 4.3 * (amplitude + fade_db / 800.0)
        )
        return 100.0 * (1.0 - math.exp(-_ten_to(-0.05 * q_a * fade_db) * _LN2))  # (B.4.1)
    by_occurrence = -4.05 - 2.35 * math.log10(occurrence)
    amplitude = _ten_to(0.05 * fade_db)
    q_e = 8.0 + (1.0 + 0.3 * amplitude) * _ten_to(0.035 * fade_db) * (
        by_occurrence + 12.0 * (amplitude - fade_db / 800.0)
    )
    return 100.0 * math.exp(-_ten_to(0.05 * q_e * fade_db) * _LN2)  # (B.4.2)


@also_in_kernels
def _ten_to(exponent: float) -> float:
    """Return 10^x as an exponential, half the price of a power: the search for a fade asks dozens of them."""
    return math.exp(_LN10 * exponent)


@also_in_kernels
def scatter_chance_percent(fade_db: float) -> float:
    """Return Qcaf(A) [%] of a troposcatter path, which has no fading of this kind (B.5)."""
    return 100.0 if fade_db < 0.0 else 0.0
