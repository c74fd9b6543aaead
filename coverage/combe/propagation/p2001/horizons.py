"""Horizons of a path for the median Earth: Recommendation ITU-R P.2001-4 §3.7.

Symbols: hts hrs aerials above sea level, ae median effective radius, θi elevation of a profile point, θtim
θrim their largest, θtr elevation of the other end, ν diffraction parameter, dlt dlr θt θr horizons.

Three things are as the Recommendation's own code has them, because they decide which point is *the* horizon
on even ground and over the sea, where many are equal: slopes in mrad without an arctangent; the last point
wins where several are equal, from both ends; and ν is worked out with its factor of wavelength and in the
written order, since rounding tells two mirror points apart. P.1812 chooses otherwise in all three.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.propagation.p2001.conditions import Conditions

FloatArray = npt.NDArray[np.float64]


class Horizons(NamedTuple):
    """Where each end sees its horizon; on a line-of-sight path both see the point of largest ν."""

    line_of_sight: bool
    tx_index: int
    rx_index: int
    tx_km: float
    rx_km: float
    tx_mrad: float
    rx_mrad: float


def _last_largest(values: FloatArray) -> int:
    """Return the index in the profile of the largest value of the intermediate points, the last of equals."""
    return int(values.size - np.argmax(values[::-1]))


def horizons(
    distance: FloatArray, ground: FloatArray, tx_m: float, rx_m: float, conditions: Conditions
) -> Horizons:
    """Return the horizons of a profile; ``tx_m`` and ``rx_m`` above sea level (3.7.1 to 3.7.10)."""
    total, radius_km = float(distance[-1]), conditions.median_radius_km
    from_tx, height = distance[1:-1], ground[1:-1]
    from_rx = total - from_tx
    tx_slopes = (height - tx_m) / from_tx - 500.0 * from_tx / radius_km  # (3.7.1)
    to_rx = (rx_m - tx_m) / total - 500.0 * total / radius_km  # (3.7.2)
    if tx_slopes.max() < to_rx:
        over_m = height + 500.0 * from_tx * from_rx / radius_km - (tx_m * from_rx + rx_m * from_tx) / total
        nu = over_m * np.sqrt(0.002 * total / (conditions.wavelength_m * from_tx * from_rx))  # (3.7.3)
        at = _last_largest(nu)
        near = float(distance[at])
        return Horizons(True, at, at, near, total - near, to_rx, -to_rx - 1000.0 * total / radius_km)
    rx_slopes = (height - rx_m) / from_rx - 500.0 * from_rx / radius_km  # (3.7.8)
    tx_at, rx_at = _last_largest(tx_slopes), _last_largest(rx_slopes)
    return Horizons(
        line_of_sight=False,
        tx_index=tx_at,
        rx_index=rx_at,
        tx_km=float(distance[tx_at]),
        rx_km=total - float(distance[rx_at]),
        tx_mrad=float(tx_slopes[tx_at - 1]),
        rx_mrad=float(rx_slopes[rx_at - 1]),
    )


def least_angle_rad(horizon_mrad: float) -> float:
    """Return θtpos or θrpos [rad], the horizon's elevation if it is above the level (3.7.11)."""
    return 1e-3 * max(horizon_mrad, 0.0)


def angular_distance_rad(distance_km: float, conditions: Conditions) -> float:
    """Return θe [rad], the path as an angle at the centre of the median Earth (3.5.4)."""
    return distance_km / conditions.median_radius_km
