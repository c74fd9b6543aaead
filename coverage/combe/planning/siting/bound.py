"""Tells early that a service cannot be had over a path, by a bound that the loss is never below.

First some samples of the ground, then more, are looked at:

- Bullington's loss grows with both horizon slopes a and b over the line between the aerials, for
  ν = √(a b d) √(0.002/λ) (P.526-16 §4.5.1, rearranged), and slopes over fewer samples are not steeper; the
  excess of the spherical Earth, and ground cover, only add.
- By P.1812-8 at 50 % of time, Lb0p is free space and Lminbap (eq. 60) is not below it, so with eq. 61
  Lbda ≥ Lb0p + Fk Lbulla; Fj (eq. 57 to 59) stays between that and Lbd; and troposcatter is least at θ = 0.

- At less than 50 % of time over land Ld lies between the diffraction for ae and that for aβ, the larger
  radius, whose slopes are the less steep: Ldp ≥ Lbulla(aβ). Lb0p and Lb0β are free space less focusing (eq.
  9), which is most for the least of p and β0 and horizons far away; call that R. Then Lbd is not below Lbfs −
  R + Lbulla, nor is Lminb0p with ω = 0 (eq. 59), a mean of such sums, and as above Lbda and Lbam are not
  below Lbfs − R + Fk Lbulla. Over sea ω takes diffraction away, and no bound is claimed.

So for each distance there is a product a b beyond which the service is lost: a table, made once. Once all
samples are there, at 50 % of time P.1812's own floor under the ducting loss takes the place of free space for
Lminbap, and the path's own angle that of θ = 0.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from combe.compiling import inner_kernel, kernel, kernel_part
from combe.decibels import FloatArray
from combe.prediction import (
    FREE_SPACE,
    P1812,
    SHORTEST_KM,
    IntArray,
    Line,
    Scratch,
    Setting,
    free_loss_db,
    height_on,
    service_air,
)
from combe.propagation import PathSummary
from combe.propagation.p526 import knife_edge_kernel
from combe.propagation.p1812 import (
    NO_COAST_KM,
    P1812Summary,
    angle_mrad,
    distance_factor,
    ducting_floor_db,
    ducting_minimum_db,
    horizons,
    sight_slope,
    troposcatter_loss_db,
    with_ducting_db,
    with_troposcatter_db,
)

COARSEST: Final = 16
"""Of the samples every sixteenth is looked at first, then those half way between, and so on."""

BIN_KM: Final = 0.1
"""Width of a bin of distance in the table of the bound."""

STEEPEST: Final = 1e5
"""Slope [m/km] beyond any of the Earth's."""

CLEAR: Final = 0
HIDDEN: Final = 1
LOST: Final = 2

_ROUNDING_DB: Final = 1e-6


class Ends(NamedTuple):
    """The ends of a path: how far apart [km], and both aerials above sea level [m]."""

    distance_km: float
    p_m: float
    q_m: float


@inner_kernel
def _edge_db(a: float, b: float, distance_km: float, wavelength_m: float) -> float:
    """Return Bullington's loss [dB] for slopes a, b [m/km] over the line between the aerials."""
    if a <= 0.0 or b <= 0.0:
        return 0.0
    # Where the horizon rays meet at height h, h = a d1 = b d2, so ν² = 2 h² d/(λ d1 d2) = 2 a b d/λ.
    uncorrected = knife_edge_kernel(math.sqrt(a * b * distance_km * 0.002 / wavelength_m))
    return uncorrected + (1.0 - math.exp(-uncorrected / 6.0)) * (10.0 + 0.02 * distance_km)


@kernel_part
def least_loss_db(s: Setting, k: int, a: float, b: float, near_km: float, far_km: float) -> float:
    """Return what the loss [dB] of service k is not below.

    ``a``, ``b`` slopes [m/km] over the line, not steeper than the path's own, which is ``near_km`` to
    ``far_km`` long.
    """
    # The nearest distance of the range costs least in free space and by the edge; the farthest has the
    # least of Fk.
    free_db = free_loss_db(s, k, near_km, 0.0, 0.0) - s.relief_db
    edge_db = 0.0 if s.model == FREE_SPACE else _edge_db(a, b, near_km, s.frequencies.wavelength_m[k])
    if s.model != P1812:
        return free_db + edge_db - _ROUNDING_DB
    least = free_db + distance_factor(far_km) * edge_db
    scattered = troposcatter_loss_db(near_km, 0.0, s.frequencies.ghz[k], s.air.time_percent, s.air.n0)
    return with_troposcatter_db(scattered, least) - _ROUNDING_DB


@kernel
def reach_table(s: Setting, allowed_db: FloatArray, reach_km: float) -> FloatArray:
    """Return the product a b [m²/km²] over which a service cannot be had, shape (services, bins).

    One bin for each tenth of a kilometre. Below 0 where free space alone excludes the service, infinite where
    nothing can exclude it. ``allowed_db`` (services,) is the greatest loss that serves.
    """
    bins = math.ceil(reach_km / BIN_KM) + 1
    table = np.full((allowed_db.size, bins), math.inf)
    if not s.bounded:
        return table
    for k in range(allowed_db.size):
        for m in range(bins):
            near_km = max(m * BIN_KM, SHORTEST_KM)
            table[k, m] = _slopes_allowed(s, k, near_km, (m + 1) * BIN_KM, allowed_db[k])
    return table


@kernel_part
def _slopes_allowed(s: Setting, k: int, near_km: float, far_km: float, allowed_db: float) -> float:
    """Return the slope product of one bin of :func:`reach_table`, found by halving."""
    if least_loss_db(s, k, 0.0, 0.0, near_km, far_km) > allowed_db:
        return -1.0
    low, high = 0.0, STEEPEST
    if not least_loss_db(s, k, high, high, near_km, far_km) > allowed_db:
        return math.inf
    # The loss grows with the slopes, so halving finds where it passes what is allowed; the upper end is
    # kept, lest a path be given up that could be had.
    for _ in range(60):
        middle = 0.5 * (low + high)
        if least_loss_db(s, k, middle, middle, near_km, far_km) > allowed_db:
            high = middle
        else:
            low = middle
    return high * high


class _Steepest(NamedTuple):
    """The steepest slopes seen so far from both ends [m a step], and the samples that make them."""

    from_p: float
    from_q: float
    p_at: int
    q_at: int


@inner_kernel
def _scan(
    line: Line, first: int, stride: int, ends: Ends, bulge_m: float, room: Scratch, seen: _Steepest
) -> _Steepest:
    """Fill samples ``first``, ``first`` + ``stride``, … of the ground and return the steepest slopes."""
    from_p, from_q, p_at, q_at = seen.from_p, seen.from_q, seen.p_at, seen.q_at
    p_m, q_m = ends.p_m, ends.q_m
    for n in range(first, line.steps, stride):
        height_m = height_on(line, n)
        room.ground[n] = height_m
        bulged_m = height_m + bulge_m * (n * (line.steps - n))
        p_slope, q_slope = (bulged_m - p_m) * room.inverse[n], (bulged_m - q_m) * room.inverse[line.steps - n]
        if p_slope > from_p:
            from_p, p_at = p_slope, n
        if q_slope > from_q:
            from_q, q_at = q_slope, n
    return _Steepest(from_p, from_q, p_at, q_at)


@inner_kernel
def out_of_reach(
    line: Line, ends: Ends, radius_km: float, slopes_allowed: float, room: Scratch, hints: IntArray, j: int
) -> int:
    """Fill the ground of a path in ever finer steps; stop with LOST once the service cannot be had.

    With CLEAR or HIDDEN all samples between the ends are filled, and the ends do or do not see one another.
    ``hints`` (targets, 2) holds how many steps before q the ground hid target j the last time, seen from p
    and from q: the neighbour's ridge is tried first.
    """
    steps = line.steps
    to_q, step_km = (ends.q_m - ends.p_m) / ends.distance_km, ends.distance_km / steps
    per_step, bulge_m = 1.0 / step_km, 500.0 / radius_km * step_km * step_km
    seen = _Steepest(-math.inf, -math.inf, 1, 1)
    for end in range(2):
        at = steps - min(max(hints[j, end], 1), steps - 1)
        seen = _scan(line, at, steps, ends, bulge_m, room, seen)
    # Every sixteenth sample, then those half way between, and so on: most paths are lost on the first few,
    # and none is looked at twice.
    first = stride = int(np.int64(COARSEST))  # a literal would compile _scan thrice
    while True:
        over_p, over_q = seen.from_p * per_step - to_q, seen.from_q * per_step + to_q
        if over_p > 0.0 and over_q > 0.0 and over_p * over_q > slopes_allowed:
            hints[j, 0], hints[j, 1] = steps - seen.p_at, steps - seen.q_at
            return LOST
        if first == 0:
            return HIDDEN if over_p > 0.0 else CLEAR
        seen = _scan(line, first, stride, ends, bulge_m, room, seen)
        first, stride = first // 2, first


@kernel_part
def lost_beyond_horizons(
    s: Setting, k: int, steps: int, ends: Ends, allowed_db: float, room: Scratch
) -> bool:
    """Tell whether the horizons of a filled profile already cost service k more than ``allowed_db``.

    By P.1812 for the median over land only, and never on a path in line of sight.
    """
    if s.model != P1812 or not s.bounded or not s.median or s.surface.zones.size > 0:
        return False
    p_m, q_m = ends.p_m, ends.q_m
    distance, ground = room.distance[: steps + 1], room.ground[: steps + 1]
    d, air = distance[steps], service_air(s, k)
    p_slope, q_slope, first, last = horizons(distance, ground, p_m, q_m, s.radius_km)
    # In line of sight diffraction is no edge, and no bound is at hand.
    to_q = sight_slope(q_m - p_m, d, s.radius_km)
    if p_slope <= to_q:
        return False
    to_p = sight_slope(p_m - q_m, d, s.radius_km)
    angles = (angle_mrad(p_slope), angle_mrad(q_slope))
    way = _ends_only(Ends(d, p_m, q_m), (distance[first], d - distance[last]), angles)
    free_db = free_loss_db(s, k, d, p_m, q_m)
    least = free_db + _edge_db(p_slope - to_q, q_slope - to_p, d, air.wavelength_m)
    ducting = ducting_minimum_db(ducting_floor_db(way, air), free_db)
    least = with_ducting_db(least, ducting, distance_factor(d))
    angle = 1000.0 * d / s.radius_km + angles[0] + angles[1]
    scattered = troposcatter_loss_db(d, angle, air.frequency_ghz, air.time_percent, air.n0)
    return with_troposcatter_db(scattered, least) - _ROUNDING_DB > allowed_db


@inner_kernel
def _ends_only(
    ends: Ends, horizon_km: tuple[float, float], horizon_mrad: tuple[float, float]
) -> P1812Summary:
    """Return a summary that holds what the floor under the ducting loss looks at, all else NaN."""
    none, d = math.nan, ends.distance_km
    path = PathSummary(d, ends.p_m, ends.q_m, none, none, none, none, none, none, none, none)
    return P1812Summary(
        path,
        path,
        none,
        none,
        none,
        none,
        horizon_km[0],
        horizon_km[1],
        horizon_mrad[0],
        horizon_mrad[1],
        none,
        d,
        d,
        0.0,
        NO_COAST_KM,
        NO_COAST_KM,
        0.0,
    )
