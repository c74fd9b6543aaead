"""The smooth profile of delta-Bullington at a ray's samples, without visiting them.

On ground of height 0 the slopes and X depend on the distance alone, and each rises and then falls along the
path. So the best sample lies next to the best place, which has a formula or is found in a few steps. The
answers are those of :func:`combe.propagation.summary.smooth_profile` on samples at multiples of one step.
"""

from __future__ import annotations

import math

from combe.compiling import inner_kernel

NEWTON_STEPS = 3


@inner_kernel
def smooth_profile_stepped(
    samples: int,
    step_km: float,
    d: float,
    tx_effective_m: float,
    rx_effective_m: float,
    curvature: float,
    floor: float,
) -> tuple[float, float, float]:
    """Return (Stim, Srim, X) of the smooth profile at the ray's samples; X is −inf if not above ``floor``.

    Each rises and then falls with the place, so the best sample is next to the best place. For X that place
    is near the one positive root of a cubic (one by Descartes' rule, so X has one peak).
    """
    if samples < 1:
        return -math.inf, -math.inf, -math.inf
    tx_slope, rx_slope = -math.inf, -math.inf
    best_km = min(math.sqrt(tx_effective_m / curvature), d) if curvature > 0.0 else d
    j = min(max(int(best_km / step_km), 1), samples)
    for k in range(j, min(j + 1, samples) + 1):
        x = k * step_km
        tx_slope = max(tx_slope, curvature * (d - x) - tx_effective_m / x)
    best_km = max(d - math.sqrt(rx_effective_m / curvature), 0.0) if curvature > 0.0 else 0.0
    j = min(max(int(best_km / step_km), 1), samples)
    for k in range(j, min(j + 1, samples) + 1):
        x = k * step_km
        rx_slope = max(rx_slope, curvature * x - rx_effective_m / (d - x))
    fresnel = -math.inf
    if tx_slope < (rx_effective_m - tx_effective_m) / d:
        fresnel = _smooth_fresnel(samples, step_km, d, tx_effective_m, rx_effective_m, curvature, floor)
    return tx_slope, rx_slope, fresnel


@inner_kernel
def _smooth_fresnel(
    samples: int, step_km: float, d: float, tx_m: float, rx_m: float, curvature: float, floor: float
) -> float:
    """Return the largest X of the smooth profile, −inf where a bound shows that it is not above ``floor``.

    With w = x/(d − x), X peaks where c·d²·w(1 − w) + (ht − hr·w)(1 + w)² = 0. Newton's method comes near that
    place; from there the samples are climbed to the top, so the answer is exact whatever Newton did.
    """
    root = math.sqrt(d)
    if 0.5 * curvature * d * root - 2.0 * min(tx_m, rx_m) / root <= floor:
        return -math.inf
    a_term = curvature * d * d
    w = tx_m / rx_m
    for _ in range(NEWTON_STEPS):
        w1 = 1.0 + w
        value = a_term * w * (1.0 - w) + (tx_m - rx_m * w) * w1 * w1
        slope = a_term * (1.0 - 2.0 * w) + (2.0 * (tx_m - rx_m * w) - rx_m * w1) * w1
        w = max(w - value / slope, 0.25 * w)
    j = min(max(int(d * w / (1.0 + w) / step_km), 1), samples)
    best = _smooth_x(j, step_km, d, tx_m, rx_m, curvature)
    while j < samples:
        after = _smooth_x(j + 1, step_km, d, tx_m, rx_m, curvature)
        if after <= best:
            break
        best, j = after, j + 1
    while j > 1:
        before = _smooth_x(j - 1, step_km, d, tx_m, rx_m, curvature)
        if before <= best:
            break
        best, j = before, j - 1
    return best


@inner_kernel
def _smooth_x(j: int, step_km: float, d: float, tx_m: float, rx_m: float, curvature: float) -> float:
    """Return X of sample ``j`` of the smooth profile."""
    x = j * step_km
    over_m = curvature * x * (d - x) - (tx_m * (d - x) + rx_m * x) / d
    return over_m * math.sqrt(d / (x * (d - x)))
