"""The path summary of P.1812 for a cell on a ray, from the skylines and zones that the ray has seen.

Horizons and roughness are those of P.1812-8 Attachment 1, answered without looking back.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import inner_kernel
from combe.decibels import FloatArray
from combe.prediction.near_cover import NearCover, covered_summary
from combe.prediction.ray_summary import (
    Edges,
    SmoothHeights,
    Trail,
    diffraction_summary,
    follow,
    with_smooth_profile,
)
from combe.prediction.skyline import (
    BENT_Y,
    COARSE_BLOCK,
    COARSE_TOP,
    FINE_BLOCK,
    FINE_TOP,
    HULL_X,
    HULL_Y,
    Bend,
    Reach,
    SkylineState,
    Terminals,
    farthest_along,
    largest_fresnel_seen,
    rx_slope_seen,
    see,
    tx_slope_seen,
)
from combe.prediction.zone_trail import PathZones, ZoneTrail, pass_zone
from combe.propagation import PathSummary
from combe.propagation.p1812 import BETA_RADIUS_KM, P1812Summary, angle_mrad

BETA_CURVATURE = 500.0 / BETA_RADIUS_KM


class Wanted(NamedTuple):
    """Which parts of the path summary a sweep needs."""

    median: bool
    beta: bool
    cover: bool
    zones: bool


class Skylines(NamedTuple):
    """The tables of a ray: bare ground without (``plain``) and with the Earth's curve (``bent``, for ae).

    ``raised`` (ae) and ``beta`` (aβ) are of ground with cover.
    """

    plain: FloatArray
    bent: FloatArray
    raised: FloatArray
    beta: FloatArray


class Sample(NamedTuple):
    """A sample of a ray: how far it is [km], ground and cover [m], zone."""

    x: float
    height_m: float
    cover_m: float
    zone: int


class Seen(NamedTuple):
    """What a ray has seen: its trail, the states of its skylines, and the zones.

    Where there is cover, ``raised`` and ``beta`` are one sample behind, for what is near the cell is looked
    at more finely (:mod:`combe.prediction.near_cover`); ``waiting_m`` is the top of that sample. So is what
    is near the station: the first sample has no cover here.
    """

    trail: Trail
    plain: SkylineState
    bent: SkylineState
    raised: SkylineState
    beta: SkylineState
    zones: ZoneTrail
    waiting_m: float


class Horizons(NamedTuple):
    """Horizons over bare ground: slopes [m/km] at which they are seen, samples, and X in line of sight."""

    tx_sight: float
    rx_sight: float
    tx_sample: int
    rx_sample: int
    rx_slope: float
    """Srim beyond the horizon, else −inf."""
    fresnel: float
    """X in line of sight, else −inf."""


class CellPath(NamedTuple):
    """The path to a cell: what the ray has before it, its ends, the smooth surface, the cover near both."""

    reach: Reach
    ends: Terminals
    smooth: SmoothHeights
    near: NearCover


@inner_kernel
def look(sky: Skylines, seen: Seen, wanted: Wanted, sample: Sample, tx_m: float, curvature: float) -> Seen:
    """Return what the ray has seen after one more sample."""
    j, x, height_m = seen.trail.samples + 1, sample.x, sample.height_m
    raised_state, beta_state, zones = seen.raised, seen.beta, seen.zones
    top_m, top_km, top_j = height_m, x, j
    if wanted.cover:
        # With cover the sample before this one enters now, when it is known to be no longer next to the
        # cell.
        top_m, top_km, top_j = seen.waiting_m, seen.trail.last_km, j - 1
    if wanted.cover and wanted.median and top_j > 0:
        raised_state = see(sky.raised, raised_state, top_j, top_km, top_m, tx_m, curvature)
    if wanted.beta and top_j > 0:
        beta_state = see(sky.beta, beta_state, top_j, top_km, top_m, tx_m, BETA_CURVATURE)
    if wanted.zones:
        zones = pass_zone(zones, x, sample.zone)
    return Seen(
        follow(seen.trail, x, height_m),
        see(sky.plain, seen.plain, j, x, height_m, tx_m, 0.0),
        see(sky.bent, seen.bent, j, x, height_m, tx_m, curvature),
        raised_state,
        beta_state,
        zones,
        height_m + sample.cover_m if j > 1 else height_m,
    )


@inner_kernel
def horizons_seen(
    bent: FloatArray, state: SkylineState, reach: Reach, ends: Terminals, curvature: float
) -> Horizons:
    """Return the horizons of a path (P.1812-8 eq. 76 to 81).

    In line of sight both are the point of the largest ν.
    """
    d = ends.distance_km
    # Slopes over the bulge (Stim, Srim) have c·d more than the sight slopes of eq. 76, for all points
    # alike.
    drop = curvature * d
    to_rx = (ends.rx_m - ends.tx_m) / d - drop
    if state.tx_slope > to_rx:
        rx_slope, x = rx_slope_seen(bent, state, d, ends.rx_m, curvature)
        rx_sample = math.floor(x / reach.step_km + 0.5)
        return Horizons(state.tx_slope, rx_slope - drop, state.tx_sample, rx_sample, rx_slope, -math.inf)
    fresnel, where = -math.inf, 0
    if reach.samples > 0:
        # Without a floor: the sample of the largest ν is wanted however little it costs.
        fresnel, where = largest_fresnel_seen(bent, state, reach, ends, Bend(curvature, -math.inf))
    # The receiver looks back along the same line: -(rise/d) - drop, with to_rx = rise/d - drop.
    return Horizons(to_rx, -to_rx - 2.0 * drop, where, where, -math.inf, fresnel)


@inner_kernel
def cell_summary(
    median: PathSummary, beta: PathSummary, path: CellPath, horizons: Horizons, zones: PathZones
) -> P1812Summary:
    """Return the path summary of a cell; its roughness is not yet known (NaN)."""
    ends, smooth, step_km = path.ends, path.smooth, path.reach.step_km
    return P1812Summary(
        median,
        beta,
        smooth.fitted_tx_m,
        smooth.fitted_rx_m,
        min(smooth.fitted_tx_m, ends.tx_ground_m),
        min(smooth.fitted_rx_m, ends.rx_ground_m),
        horizons.tx_sample * step_km,
        ends.distance_km - horizons.rx_sample * step_km,
        angle_mrad(horizons.tx_sight),
        angle_mrad(horizons.rx_sight),
        math.nan,
        zones.land_km,
        zones.inland_km,
        zones.sea_fraction,
        zones.tx_coast_km,
        zones.rx_coast_km,
        zones.rx_at_sea,
    )


@inner_kernel
def median_path(
    sky: Skylines, seen: Seen, wanted: Wanted, path: CellPath, horizons: Horizons, bend: Bend
) -> PathSummary:
    """Return the diffraction summary for the median radius; without cover the horizons have its slopes."""
    if not wanted.median:
        return _not_priced(path)
    if wanted.cover:
        return covered_summary(sky.raised, seen.raised, path.reach, path.ends, path.smooth, path.near, bend)
    # Without cover, horizons and diffraction go by the same ground: what the one has found serves the
    # other.
    tx_slope = tx_slope_seen(seen.bent, path.ends.distance_km, bend.curvature)
    edges = Edges(tx_slope, horizons.rx_slope, horizons.fresnel)
    return with_smooth_profile(edges, path.reach, path.ends, path.smooth, bend)


@inner_kernel
def beta_path(sky: Skylines, seen: Seen, wanted: Wanted, path: CellPath, floor: float) -> PathSummary:
    """Return the diffraction summary for aβ."""
    bend = Bend(BETA_CURVATURE, floor)
    if not wanted.beta:
        return _not_priced(path)
    if wanted.cover:
        return covered_summary(sky.beta, seen.beta, path.reach, path.ends, path.smooth, path.near, bend)
    return diffraction_summary(sky.beta, seen.beta, path.reach, path.ends, path.smooth, bend)


@inner_kernel
def _not_priced(path: CellPath) -> PathSummary:
    """Return a summary for a radius that is not priced: terminals only."""
    low, ends, smooth = -math.inf, path.ends, path.smooth
    return PathSummary(
        ends.distance_km,
        ends.tx_m,
        ends.rx_m,
        low,
        low,
        low,
        ends.tx_m - smooth.lowered_tx_m,
        ends.rx_m - smooth.lowered_rx_m,
        low,
        low,
        low,
    )


@inner_kernel
def with_roughness(
    s: P1812Summary, plain: FloatArray, state: SkylineState, horizons: Horizons, step_km: float
) -> P1812Summary:
    """Return the summary with its roughness between the horizons."""
    line = _Surface(s.duct_tx_m, (s.duct_rx_m - s.duct_tx_m) / s.median.distance_km, step_km)
    return P1812Summary(
        s.median,
        s.beta,
        s.smooth_tx_m,
        s.smooth_rx_m,
        s.duct_tx_m,
        s.duct_rx_m,
        s.tx_horizon_km,
        s.rx_horizon_km,
        s.tx_horizon_mrad,
        s.rx_horizon_mrad,
        _roughness(plain, state, horizons.tx_sample, horizons.rx_sample, line),
        s.land_km,
        s.inland_km,
        s.sea_fraction,
        s.tx_coast_km,
        s.rx_coast_km,
        s.rx_at_sea,
    )


class _Surface(NamedTuple):
    """The smooth surface of the duct: height at the station [m] and slope [m/km]; the ray's step [km]."""

    tx_m: float
    slope: float
    step_km: float


@inner_kernel
def _roughness(plain: FloatArray, state: SkylineState, first: int, last: int, line: _Surface) -> float:
    """Return hm [m]: the highest ground over a line, from sample ``first`` to ``last``; exact (eq. 93).

    The point of the whole ray that is highest over the line is a corner of its hull. Where it lies between
    the horizons it is the answer; elsewhere blocks are passed over that cannot hold anything higher.
    """
    slope, step_km = line.slope, line.step_km
    if first < 1:
        return 0.0
    k = farthest_along(plain, state.hull_count, -slope)
    where = math.floor(plain[HULL_X, k] / step_km + 0.5)
    if first <= where <= last:
        corner: float = plain[HULL_Y, k] - (line.tx_m + slope * plain[HULL_X, k])
        return corner
    best = max(_over(plain, first, line), _over(plain, last, line))
    for block in range(first // COARSE_BLOCK, last // COARSE_BLOCK + 1):
        start, stop = max(block * COARSE_BLOCK, first), min((block + 1) * COARSE_BLOCK - 1, last)
        # The line is lowest at one end of the block; over that even its highest ground must beat the best.
        least = min(slope * start, slope * stop) * step_km
        if plain[COARSE_TOP, block] - line.tx_m - least > best:
            best = _highest_in_block(plain, start, stop, line, best)
    return best


@inner_kernel
def _over(plain: FloatArray, j: int, line: _Surface) -> float:
    """Return the height [m] of sample ``j`` over the line."""
    height: float = plain[BENT_Y, j] - (line.tx_m + line.slope * (j * line.step_km))
    return height


@inner_kernel
def _highest_in_block(plain: FloatArray, start: int, stop: int, line: _Surface, best: float) -> float:
    """Return the larger of ``best`` and the highest of samples start to stop over the line."""
    for fine in range(start // FINE_BLOCK, stop // FINE_BLOCK + 1):
        first, last = max(fine * FINE_BLOCK, start), min((fine + 1) * FINE_BLOCK - 1, stop)
        least = min(line.slope * first, line.slope * last) * line.step_km
        if plain[FINE_TOP, fine] - line.tx_m - least > best:
            for j in range(first, last + 1):
                best = max(best, _over(plain, j, line))
    return best
