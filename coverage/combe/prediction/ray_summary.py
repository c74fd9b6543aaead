"""The path summary of a cell on a ray, from the skylines that the ray has seen.

The smooth profile of delta-Bullington is not visited sample by sample: on ground of height 0 the slopes and X
depend on the distance alone, and each rises and then falls along the path. So the best sample lies next to
the best place, which has a formula or is found in a few steps. The answers are those of
:func:`combe.propagation.summary.smooth_profile` on samples at multiples of one step.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import inner_kernel
from combe.decibels import FloatArray
from combe.prediction.skyline import (
    HULL_X,
    HULL_Y,
    Bend,
    Reach,
    SkylineState,
    Terminals,
    farthest_along,
    largest_fresnel_seen,
    rx_slope_seen,
    steepest_at,
    tx_slope_seen,
)
from combe.propagation import PathSummary, lowered_smooth_ends, smooth_ends

NEWTON_STEPS = 3


class Trail(NamedTuple):
    """How far a ray has come, and the sums of the least-squares line through its ground."""

    samples: int
    v1: float
    v2: float
    last_km: float
    last_m: float


class SmoothHeights(NamedTuple):
    """Ends of the smooth surface [m]: as fitted, and let down for the diffraction model."""

    fitted_tx_m: float
    fitted_rx_m: float
    lowered_tx_m: float
    lowered_rx_m: float


class Edges(NamedTuple):
    """Slopes [m/km] at which ground is seen from both ends, and the largest X; −inf for what is not asked."""

    tx_slope: float
    rx_slope: float
    fresnel: float


@inner_kernel
def new_trail(tx_ground_m: float) -> Trail:
    """Return the trail of a ray that has not left the station."""
    return Trail(0, 0.0, 0.0, 0.0, tx_ground_m)


@inner_kernel
def follow(trail: Trail, x: float, height_m: float) -> Trail:
    """Return the trail after one more sample: the sums v1 and v2 of P.1812-8 Attachment 1."""
    x0, h0 = trail.last_km, trail.last_m
    return Trail(
        trail.samples + 1,
        trail.v1 + (x - x0) * (height_m + h0),
        trail.v2 + (x - x0) * (height_m * (2.0 * x + x0) + h0 * (x + 2.0 * x0)),
        x,
        height_m,
    )


@inner_kernel
def smooth_heights(trail: Trail, plain: FloatArray, state: SkylineState, ends: Terminals) -> SmoothHeights:
    """Return the smooth surface under a path; ``plain`` is the skyline without the Earth's curve."""
    d = ends.distance_km
    # The cell's own ground ends the profile, half a step or more beyond the last sample.
    whole = follow(trail, d, ends.rx_ground_m)
    fitted_tx, fitted_rx = smooth_ends(whole.v1, whole.v2, d)
    chord = (ends.rx_m - ends.tx_m) / d
    highest, tx_angle, rx_angle = -math.inf, -math.inf, -math.inf
    # Only ground over the straight line lets the ends down; then it is seen from both of them over the chord.
    if state.tx_slope > chord:
        # The skyline has slopes; what the smooth surface asks for is the angle over the line between the
        # aerials.
        tx_angle = state.tx_slope - chord
        k = steepest_at(plain, state.hull_count, d, ends.rx_m)
        rx_angle = (plain[HULL_Y, k] - ends.rx_m) / (d - plain[HULL_X, k]) + chord
        # The point highest over a line is a corner of the upper hull, whatever the line.
        k = farthest_along(plain, state.hull_count, -chord)
        highest = plain[HULL_Y, k] - chord * plain[HULL_X, k] - ends.tx_m
    lowered_tx, lowered_rx = lowered_smooth_ends(
        fitted_tx, fitted_rx, ends.tx_ground_m, ends.rx_ground_m, highest, tx_angle, rx_angle
    )
    return SmoothHeights(fitted_tx, fitted_rx, lowered_tx, lowered_rx)


@inner_kernel
def diffraction_summary(
    sky: FloatArray, state: SkylineState, reach: Reach, ends: Terminals, smooth: SmoothHeights, bend: Bend
) -> PathSummary:
    """Return what delta-Bullington needs of a path, from the skyline of one effective radius.

    Parts that cannot matter are left out: the slope from the receiver in line of sight, and X where it is not
    above the floor (where the knife-edge loss is nought); both are −inf then.
    """
    d, rx_m = ends.distance_km, ends.rx_m
    tx_slope, rx_slope, fresnel = tx_slope_seen(state, d, bend.curvature), -math.inf, -math.inf
    if reach.samples > 0:
        # In line of sight the one largest ν counts (P.1812-8 eq. 16), beyond it both horizons (eq. 14, 18).
        if tx_slope < (rx_m - ends.tx_m) / d:
            fresnel, _ = largest_fresnel_seen(sky, state, reach, ends, bend)
        else:
            rx_slope, _ = rx_slope_seen(sky, state, d, rx_m, bend.curvature)
    return with_smooth_profile(Edges(tx_slope, rx_slope, fresnel), reach, ends, smooth, bend)


@inner_kernel
def with_smooth_profile(
    edges: Edges, reach: Reach, ends: Terminals, smooth: SmoothHeights, bend: Bend
) -> PathSummary:
    """Return the summary whose edges are known, completed by the smooth profile."""
    tx_effective, rx_effective = ends.tx_m - smooth.lowered_tx_m, ends.rx_m - smooth.lowered_rx_m
    level = _smooth_edges(reach, ends.distance_km, tx_effective, rx_effective, bend)
    return PathSummary(
        ends.distance_km,
        ends.tx_m,
        ends.rx_m,
        edges.tx_slope,
        edges.rx_slope,
        edges.fresnel,
        tx_effective,
        rx_effective,
        level.tx_slope,
        level.rx_slope,
        level.fresnel,
    )


@inner_kernel
def _smooth_edges(reach: Reach, d: float, tx_effective_m: float, rx_effective_m: float, bend: Bend) -> Edges:
    """Return the edges of the smooth profile at the ray's samples; X is −inf if not above the floor."""
    samples, step_km, curvature = reach.samples, reach.step_km, bend.curvature
    if samples < 1:
        return Edges(-math.inf, -math.inf, -math.inf)
    tx_slope, rx_slope = -math.inf, -math.inf
    # c(d − x) − ht/x has its peak where x² = ht/c; the slope from the receiver mirrors it.
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
        fresnel = _smooth_fresnel(reach, d, tx_effective_m, rx_effective_m, bend)
    return Edges(tx_slope, rx_slope, fresnel)


@inner_kernel
def _smooth_fresnel(reach: Reach, d: float, tx_m: float, rx_m: float, bend: Bend) -> float:
    """Return the largest X of the smooth profile, −inf where a bound shows that it is not above the floor.

    With w = x/(d − x), X peaks where c·d²·w(1 − w) + (ht − hr·w)(1 + w)² = 0: one positive root by Descartes'
    rule, so X has one peak. Newton's method comes near that place; from there the samples are climbed to the
    top, so the answer is exact whatever Newton did.
    """
    samples, step_km, curvature = reach.samples, reach.step_km, bend.curvature
    root = math.sqrt(d)
    # The weighted bulge is most mid-path, ½c·d·√d; the line is nowhere under the lower aerial, and its weight
    # nowhere under 2/√d.
    if 0.5 * curvature * d * root - 2.0 * min(tx_m, rx_m) / root <= bend.floor:
        return -math.inf
    a_term = curvature * d * d
    w = tx_m / rx_m
    for _ in range(NEWTON_STEPS):
        w1 = 1.0 + w
        value = a_term * w * (1.0 - w) + (tx_m - rx_m * w) * w1 * w1
        slope = a_term * (1.0 - 2.0 * w) + (2.0 * (tx_m - rx_m * w) - rx_m * w1) * w1
        # A step too far would leave the positive side, where the root is.
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
    """Return X of sample ``j`` of the smooth profile (P.1812-8 eq. 16, ground of height 0)."""
    x = j * step_km
    over_m = curvature * x * (d - x) - (tx_m * (d - x) + rx_m * x) / d
    return over_m * math.sqrt(d / (x * (d - x)))
