"""The summary of bare inland ground for the median of time, in two passes: what siting prices by the million.

The numbers are those of ``summarise_exact`` to rounding (a test says so to 1e-9). What makes it quick:
samples stand at equal steps, so that divisions become products with 1/n; heights over the line between the
aerials serve slopes, obstruction and ν alike; and ν is compared by its square. What stands for aβ, which is
never looked at for the median, is NaN.

Symbols as in combe.propagation.summary: X the geometric part of ν, hobs αobt αobr obstruction, hst hsr ends
of the fitted line.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import inner_kernel, kernel_part
from combe.decibels import FloatArray
from combe.propagation import PathSummary, lowered_smooth_ends, smooth_ends
from combe.propagation.p1812 import NO_COAST_KM, P1812Summary, angle_mrad


class _Seen(NamedTuple):
    """What one pass over a profile sees over the line between the aerials; slopes in m a step."""

    highest_m: float
    obstruction_p: float
    obstruction_q: float
    over_p: float
    over_q: float
    p_at: int
    q_at: int
    fresnel2: float
    fresnel_at: int
    sum1: float
    sum2: float


@inner_kernel
def _signed_square(value: float) -> float:
    return value * abs(value)


@inner_kernel
def _look(ground: FloatArray, inverse: FloatArray, p_m: float, q_m: float, bulge_m: float) -> _Seen:
    """Return what a profile (n,) shows; ``bulge_m`` is the Earth's curve for one step on each side [m]."""
    steps = ground.size - 1
    rise_m = (q_m - p_m) / steps
    low = -math.inf
    highest, obstruction_p, obstruction_q, over_p, over_q, fresnel2 = low, low, low, low, low, low
    p_at, q_at, fresnel_at, sum1, sum2 = 1, 1, 1, 0.0, 0.0
    for n in range(1, steps):
        over_m = ground[n] - p_m - rise_m * n
        to_p, to_q = inverse[n], inverse[steps - n]
        highest = max(highest, over_m)
        obstruction_p, obstruction_q = max(obstruction_p, over_m * to_p), max(obstruction_q, over_m * to_q)
        bulged_m = over_m + bulge_m * (n * (steps - n))
        if bulged_m * to_p > over_p:
            over_p, p_at = bulged_m * to_p, n
        # At or above: of equal horizons the nearest counts, and the receiver's is the one seen last.
        if bulged_m * to_q >= over_q:
            over_q, q_at = bulged_m * to_q, n
        # X² without d: its sign is kept, so that the largest of numbers below 0 is the one nearest to 0,
        # and one root at the end does.
        square = _signed_square(bulged_m) * to_p * to_q
        if square > fresnel2:
            fresnel2, fresnel_at = square, n
        sum1 += ground[n]
        sum2 += ground[n] * n
    return _Seen(
        highest, obstruction_p, obstruction_q, over_p, over_q, p_at, q_at, fresnel2, fresnel_at, sum1, sum2
    )


@inner_kernel
def _fitted_ends(ground: FloatArray, seen: _Seen, total_km: float) -> tuple[float, float]:
    """Return hst and hsr from the sums, at equal steps (P.1812-8 Attachment 1)."""
    steps = ground.size - 1
    step_km = total_km / steps
    first, last = ground[0], ground[-1]
    # The sums of summary.smooth_surface at equal steps: 2 (h0/2 + Σ h + hn/2), and 6 Σ n h with what the
    # ends have of it.
    v1 = step_km * (first + last + 2.0 * seen.sum1)
    v2 = step_km * step_km * (first + 6.0 * seen.sum2 + last * (3.0 * steps - 1.0))
    return smooth_ends(v1, v2, total_km)


@inner_kernel
def _root(square: float, total_km: float, step_km: float) -> float:
    """Return X [m·km^-1/2] from its signed square in steps."""
    size = math.sqrt(abs(square) * total_km) / step_km
    return size if square >= 0.0 else -size


@inner_kernel
def _flat(
    inverse: FloatArray, steps: int, p_m: float, q_m: float, total_km: float, bulge_m: float
) -> tuple[float, float, float]:
    """Return (Stim, Srim, X) for ground of height 0 under effective heights [m], of ``smooth_profile``."""
    low = -math.inf
    over_p, over_q, fresnel2 = low, low, low
    rise_m = (q_m - p_m) / steps
    for n in range(1, steps):
        to_p, to_q = inverse[n], inverse[steps - n]
        over_m = bulge_m * (n * (steps - n)) - p_m - rise_m * n
        over_p, over_q = max(over_p, over_m * to_p), max(over_q, over_m * to_q)
        fresnel2 = max(fresnel2, _signed_square(over_m) * to_p * to_q)
    step_km = total_km / steps
    to_q_slope = (q_m - p_m) / total_km
    # A flat profile that rises over its own line is beyond its horizon, and ν is not asked.
    fresnel = -math.inf if over_p >= 0.0 else _root(fresnel2, total_km, step_km)
    return over_p / step_km + to_q_slope, over_q / step_km - to_q_slope, fresnel


@kernel_part
def summarise_bare(
    distance: FloatArray,
    ground: FloatArray,
    inverse: FloatArray,
    p_above_m: float,
    q_above_m: float,
    radius_km: float,
) -> P1812Summary:
    """Return the summary of bare inland ground at equal steps, for the median of time.

    ``distance`` [km] and ``ground`` [m] of shape (n,), n ≥ 3; ``inverse`` holds 1/k for k of 1 to n; aerials
    above the ground [m]; median effective radius [km].
    """
    steps, total = ground.size - 1, distance[-1]
    step_km, to_q = total / steps, 0.0
    p_m, q_m = ground[0] + p_above_m, ground[-1] + q_above_m
    to_q, bulge_m = (q_m - p_m) / total, 500.0 / radius_km * step_km * step_km
    seen = _look(ground, inverse, p_m, q_m, bulge_m)
    fit_p, fit_q = _fitted_ends(ground, seen, total)
    low_p, low_q = lowered_smooth_ends(
        fit_p, fit_q, ground[0], ground[-1], seen.highest_m, seen.obstruction_p, seen.obstruction_q
    )
    flat_p, flat_q, flat_fresnel = _flat(inverse, steps, p_m - low_p, q_m - low_q, total, bulge_m)
    # The bulged ground over the line is below it everywhere: line of sight.
    clear, none = seen.over_p < 0.0, math.nan
    fresnel = _root(seen.fresnel2, total, step_km) if clear else -math.inf
    first = seen.fresnel_at if clear else seen.p_at
    last = seen.fresnel_at if clear else seen.q_at
    # Slopes over the chord have c·d more than the sight slopes of P.1812-8 eq. 76.
    curve = 500.0 / radius_km * total
    p_sight = to_q - curve if clear else seen.over_p / step_km + to_q - curve
    q_sight = -to_q - curve if clear else seen.over_q / step_km - to_q - curve
    duct_p, duct_q = min(fit_p, ground[0]), min(fit_q, ground[-1])
    return P1812Summary(
        PathSummary(
            total,
            p_m,
            q_m,
            seen.over_p / step_km + to_q,
            seen.over_q / step_km - to_q,
            fresnel,
            p_m - low_p,
            q_m - low_q,
            flat_p,
            flat_q,
            flat_fresnel,
        ),
        # At 50 % of time aβ is not asked for; whoever asked all the same would get NaN.
        PathSummary(total, p_m, q_m, none, none, none, none, none, none, none, none),
        fit_p,
        fit_q,
        duct_p,
        duct_q,
        distance[first],
        total - distance[last],
        angle_mrad(p_sight),
        angle_mrad(q_sight),
        _roughness_m(ground, first, last, duct_p, duct_q),
        total,
        total,
        0.0,
        NO_COAST_KM,
        NO_COAST_KM,
        0.0,
    )


@inner_kernel
def _roughness_m(ground: FloatArray, first: int, last: int, duct_p: float, duct_q: float) -> float:
    """Return hm [m] between the horizons (P.1812-8 Attachment 1, eq. 93)."""
    highest, slope = -math.inf, (duct_q - duct_p) / (ground.size - 1)
    for n in range(first, last + 1):
        highest = max(highest, ground[n] - duct_p - slope * n)
    return highest
