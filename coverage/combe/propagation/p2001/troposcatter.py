"""Loss by scatter from the troposphere: Recommendation ITU-R P.2001-4, Attachment E.

Symbols: θ scatter angle, M γ constants of the climatic zone, htrop height of the scatter, LN its loss, ds
distance beyond the horizon, Y90 change of the loss for 90 % of time, C its multiple for p, Lcoup coupling
loss of the aerials, the one place of the Recommendation where gains enter a loss.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.horizons import angular_distance_rad
from combe.propagation.p2001.path import Path

_ZONES: Final = (
    # M dB, γ 1/km of zones 0 (sea) to 6 (table E.1)
    (116.0, 0.27),
    (129.6, 0.33),
    (119.73, 0.27),
    (109.3, 0.32),
    (128.5, 0.27),
    (119.73, 0.27),
    (123.2, 0.27),
)
_LEAST_ANGLE_MRAD: Final = 1e-6


class Troposcatter(NamedTuple):
    """Lbs [dB] before gases and rain, and the angle it is by."""

    angle_mrad: float  # θ
    loss_db: float  # Lbs


@also_in_kernels
def troposcatter(path: Path, conditions: Conditions, zone: int, gains_dbi: float) -> Troposcatter:
    """Return the scatter loss of a path; ``gains_dbi`` of both aerials together (E.1 to E.16)."""
    distance_km, radius_km = path.distance_km, conditions.median_radius_km
    earth_mrad = 1000.0 * angular_distance_rad(distance_km, conditions)
    angle = earth_mrad + path.horizon.tx_mrad + path.horizon.rx_mrad  # (E.1)
    constant_db, decline = _ZONES[int(zone)]
    height_km = 0.125e-6 * angle * angle * radius_km  # (E.4)
    layer_db = 20.0 * math.log10(5.0 + decline * 0.25e-3 * angle * distance_km)
    layer_db += 4.34 * decline * height_km  # (E.2, E.3)
    beyond_km = 0.001 * angle * radius_km  # (E.5)
    by_time = _time_multiple(conditions.time_percent) * y90_db(
        zone, conditions.frequency_ghz, height_km, beyond_km
    )  # (E.12)
    angle = max(angle, _LEAST_ANGLE_MRAD)  # nought to rounding where the ends see each other
    by_distance = max(
        10.0 * math.log10(distance_km) + 30.0 * math.log10(angle) + layer_db,
        20.0 * math.log10(distance_km) + 0.573 * angle + 20.0,
    )  # (E.13)
    half = math.log10(0.5 * conditions.frequency_ghz)
    by_frequency = 25.0 * math.log10(conditions.frequency_ghz) - 2.5 * half * half  # (E.14)
    coupling = 0.07 * math.exp(0.055 * gains_dbi)  # (E.15)
    return Troposcatter(angle, constant_db + by_frequency + by_distance + coupling - by_time)  # (E.16)


@also_in_kernels
def _time_multiple(time_percent: float) -> float:
    """Return C, above 0 for more than half of the time, below for less (E.11)."""
    if time_percent >= 50.0:
        return 1.26 * math.pow(max(0.0, -math.log10((100.0 - time_percent) / 50.0)), 0.63)
    return -1.26 * math.pow(max(0.0, -math.log10(time_percent / 50.0)), 0.63)


@also_in_kernels
def y90_db(zone: int, frequency_ghz: float, height_km: float, beyond_km: float) -> float:
    """Return Y90 [dB], below 0, of a climatic zone (E.6 to E.10)."""
    s = beyond_km
    if zone == 0:
        return -9.5 - 3.0 * math.exp(-0.137 * height_km)  # (E.7)
    if zone == 1:
        return _pieces(s, (100.0, -8.2), (1000.0, -3.4), (1.006e-8, -2.569e-5, 0.02242, -10.2))  # (E.8)
    if zone == 3:
        return _pieces(s, (100.0, -10.845), (465.0, -8.4), (-4.5e-7, 4.45e-4, -0.122, -2.645))  # (E.9)
    if zone == 4:
        return _pieces(s, (100.0, -11.5), (550.0, -4.0), (-8.519e-8, 7.444e-5, -4.18e-4, -12.1))  # (E.10)
    return -2.2 - (8.1 - 0.23 * min(frequency_ghz, 4.0)) * math.exp(-0.137 * height_km)  # (E.6)


@also_in_kernels
def _pieces(
    distance_km: float,
    near: tuple[float, float],
    far: tuple[float, float],
    cubic: tuple[float, float, float, float],
) -> float:
    """Return a constant near, a constant far, and a polynomial between; near and far are (km, dB)."""
    if distance_km < near[0]:
        return near[1]
    if distance_km >= far[0]:
        return far[1]
    c3, c2, c1, c0 = cubic
    return c3 * distance_km**3 + c2 * distance_km**2 + c1 * distance_km + c0
