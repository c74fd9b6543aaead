"""The smooth surface under a path and what stands above it: P.1812-8, Attachment 1 §5, eq. (83) to (93).

Symbols: v1 v2 sums of the fit, hst hsr heights of the fitted line at the ends, hobs highest obstruction above
the line between the terminals, αobt αobr its steepest slopes from the ends, hstd hsrd surface heights for
diffraction, hm roughness between the horizons.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel

FloatArray = npt.NDArray[np.float64]


@kernel
def fit_sums(distance: FloatArray, ground: FloatArray) -> tuple[float, float]:
    """Return v1 [m·km] and v2 [m·km²], prefix sums along the profile (eq. 83, 84)."""
    v1 = v2 = 0.0
    for i in range(1, distance.shape[0]):
        near, far = distance[i - 1], distance[i]
        v1 += (far - near) * (ground[i] + ground[i - 1])
        v2 += (far - near) * (ground[i] * (2.0 * far + near) + ground[i - 1] * (far + 2.0 * near))
    return v1, v2


@kernel
def fitted_ends_m(distance_km: float, v1: float, v2: float) -> tuple[float, float]:
    """Return hst and hsr [m], the fitted line above both terminals (eq. 85, 86)."""
    square = distance_km * distance_km
    return (2.0 * v1 * distance_km - v2) / square, (v2 - v1 * distance_km) / square


@kernel
def obstruction(
    distance: FloatArray, ground: FloatArray, tx_m: float, rx_m: float
) -> tuple[float, float, float]:
    """Return hobs [m], αobt and αobr [m/km] of the bare ground over the straight line (eq. 87)."""
    highest = from_tx = from_rx = -np.inf
    total = distance[-1]
    for i in range(1, distance.shape[0] - 1):
        x = distance[i]
        over = ground[i] - (tx_m * (total - x) + rx_m * x) / total
        highest = max(highest, over)
        from_tx = max(from_tx, over / x)
        from_rx = max(from_rx, over / (total - x))
    return highest, from_tx, from_rx


@kernel
def diffraction_ends_m(
    fit_tx_m: float,
    fit_rx_m: float,
    ground_tx_m: float,
    ground_rx_m: float,
    highest_m: float,
    from_tx: float,
    from_rx: float,
) -> tuple[float, float]:
    """Return hstd and hsrd [m]: the fit lowered under an obstruction, never above the ground (eq. 88, 89)."""
    if highest_m > 0.0:
        share = from_tx / (from_tx + from_rx)
        fit_tx_m -= highest_m * share
        fit_rx_m -= highest_m * (1.0 - share)
    return min(fit_tx_m, ground_tx_m), min(fit_rx_m, ground_rx_m)


@kernel
def roughness_m(
    distance: FloatArray, ground: FloatArray, first: int, last: int, surface_tx_m: float, surface_rx_m: float
) -> float:
    """Return hm [m], the highest ground over the smooth surface from horizon to horizon (eq. 93)."""
    highest = -np.inf
    slope = (surface_rx_m - surface_tx_m) / distance[-1]
    for i in range(first, last + 1):
        highest = max(highest, ground[i] - (surface_tx_m + slope * distance[i]))
    return highest
