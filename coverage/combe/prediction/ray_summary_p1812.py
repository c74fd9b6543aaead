"""The path summary of P.1812 for a cell on a ray, from the skylines and zones that the ray has seen."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel
from combe.prediction.near_cover import NearCover, covered_summary
from combe.prediction.ray_horizons import Horizons, roughness_seen
from combe.prediction.ray_summary import (
    SmoothHeights,
    Terminals,
    Trail,
    diffraction_summary,
    follow,
    with_smooth_profile,
)
from combe.prediction.skyline import SkylineState, see, tx_slope_seen
from combe.prediction.zone_trail import PathZones, ZoneTrail, pass_zone
from combe.propagation.p1812.conditions import BETA_RADIUS_KM
from combe.propagation.p1812.horizons import angle_mrad
from combe.propagation.p1812.summary import P1812Summary
from combe.propagation.summary import PathSummary

FloatArray = npt.NDArray[np.float64]


class Seen(NamedTuple):
    """What a ray has seen: its trail, the skylines without and with the Earth's curve, and the zones.

    ``plain`` and ``bent`` (ae) are of bare ground, ``raised`` (ae) and ``beta`` (aβ) of ground with cover.
    Where there is cover, these two are one sample behind, for what is near the cell is looked at more finely
    (:mod:`combe.prediction.near_cover`); ``waiting_m`` is the top of that sample. So is what is near the
    station: the first sample has no cover here.
    """

    trail: Trail
    plain: SkylineState
    bent: SkylineState
    raised: SkylineState
    beta: SkylineState
    zones: ZoneTrail
    waiting_m: float


class Wanted(NamedTuple):
    """Which parts of the path summary a sweep needs."""

    median: bool
    beta: bool
    cover: bool
    zones: bool


@inner_kernel
def _not_priced(ends: Terminals, smooth: SmoothHeights) -> PathSummary:
    """Return a summary for a radius that is not priced: terminals only."""
    low = -math.inf
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
def cell_summary(
    median: PathSummary,
    beta: PathSummary,
    ends: Terminals,
    smooth: SmoothHeights,
    horizons: Horizons,
    step_km: float,
    roughness_m: float,
    zones: PathZones,
) -> P1812Summary:
    """Return the path summary of a cell."""
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
        roughness_m,
        zones.land_km,
        zones.inland_km,
        zones.sea_fraction,
        zones.tx_coast_km,
        zones.rx_coast_km,
        zones.rx_at_sea,
    )


@inner_kernel
def look(
    plain: FloatArray,
    bent: FloatArray,
    raised: FloatArray,
    beta: FloatArray,
    seen: Seen,
    wanted: Wanted,
    x: float,
    height_m: float,
    cover_m: float,
    zone: int,
    tx_m: float,
    curvature: float,
) -> Seen:
    """Return what the ray has seen after one more sample."""
    j = seen.trail.samples + 1
    raised_state, beta_state, zones = seen.raised, seen.beta, seen.zones
    top_m, top_km, top_j = height_m, x, j
    if wanted.cover:
        top_m, top_km, top_j = seen.waiting_m, seen.trail.last_km, j - 1
    if wanted.cover and wanted.median and top_j > 0:
        raised_state = see(raised, raised_state, top_j, top_km, top_m, tx_m, curvature)
    if wanted.beta and top_j > 0:
        beta_state = see(beta, beta_state, top_j, top_km, top_m, tx_m, 500.0 / BETA_RADIUS_KM)
    if wanted.zones:
        zones = pass_zone(zones, x, zone)
    return Seen(
        follow(seen.trail, x, height_m),
        see(plain, seen.plain, j, x, height_m, tx_m, 0.0),
        see(bent, seen.bent, j, x, height_m, tx_m, curvature),
        raised_state,
        beta_state,
        zones,
        height_m + cover_m if j > 1 else height_m,
    )


@inner_kernel
def median_path(
    raised: FloatArray,
    seen: Seen,
    wanted: Wanted,
    step_km: float,
    ends: Terminals,
    smooth: SmoothHeights,
    horizons: Horizons,
    near: NearCover,
    curvature: float,
    floor: float,
) -> PathSummary:
    """Return the diffraction summary for the median radius; without cover the horizons have its slopes."""
    samples = seen.trail.samples
    if not wanted.median:
        return _not_priced(ends, smooth)
    if wanted.cover:
        return covered_summary(
            raised, seen.raised, samples - 1, samples, step_km, ends, smooth, near, curvature, floor
        )
    tx_slope = tx_slope_seen(seen.bent, ends.distance_km, curvature)
    return with_smooth_profile(
        tx_slope, horizons.rx_slope, horizons.fresnel, samples, step_km, ends, smooth, curvature, floor
    )


@inner_kernel
def beta_path(
    beta: FloatArray,
    seen: Seen,
    wanted: Wanted,
    step_km: float,
    ends: Terminals,
    smooth: SmoothHeights,
    near: NearCover,
    floor: float,
) -> PathSummary:
    """Return the diffraction summary for aβ."""
    samples, curvature = seen.trail.samples, 500.0 / BETA_RADIUS_KM
    if not wanted.beta:
        return _not_priced(ends, smooth)
    if wanted.cover:
        return covered_summary(
            beta, seen.beta, samples - 1, samples, step_km, ends, smooth, near, curvature, floor
        )
    return diffraction_summary(beta, seen.beta, samples, step_km, ends, smooth, curvature, floor)


@inner_kernel
def with_roughness(
    s: P1812Summary, plain: FloatArray, state: SkylineState, horizons: Horizons, step_km: float
) -> P1812Summary:
    """Return the summary with its roughness between the horizons."""
    slope = (s.duct_rx_m - s.duct_tx_m) / s.median.distance_km
    roughness_m = roughness_seen(
        plain, state, horizons.tx_sample, horizons.rx_sample, step_km, s.duct_tx_m, slope
    )
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
        roughness_m,
        s.land_km,
        s.inland_km,
        s.sea_fraction,
        s.tx_coast_km,
        s.rx_coast_km,
        s.rx_at_sea,
    )
