"""Ground with its cover close to both ends of a path, sampled finely, beside what a ray's skyline holds.

A ray samples the ground at the terrain's step. Over that step the nearest edge of a wood would fall anywhere,
and the nearest edge to a low aerial costs most. So around the station, and before each cell, ground and cover
are sampled at the step of :mod:`combe.terrain.clutter`; these edges join the slopes and ν of the skyline,
which holds the samples between.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel
from combe.decibels import FloatArray
from combe.prediction.ray_summary import Edges, SmoothHeights, with_smooth_profile
from combe.prediction.skyline import (
    Bend,
    Reach,
    SkylineState,
    Terminals,
    largest_fresnel_seen,
    rx_slope_seen,
    tx_slope_seen,
)
from combe.propagation import PathSummary
from combe.terrain import COVER_STEP_M, NEAR_STEPS, Ground, ground_along, nearest_along

EDGE_KM, EDGE_M, EDGE_COVER_M = 0, 1, 2
"""Rows of the table of edges: distance from the station, top above sea level, and room for cover."""

_ON_THE_EDGE = 1e-6
"""Share of a step within which an edge counts as at the other end, whatever rounding says."""


class NearCover(NamedTuple):
    """The edges near both ends of a path: from ``first`` to ``last`` in the table.

    ``tx_count`` edges near the station, the same for a whole ray, come before those of a cell; ``ray_km`` is
    the ray's own step, ``step_km`` that of the edges.
    """

    edges: FloatArray
    ray_km: float
    step_km: float
    tx_count: int
    first: int
    last: int


class Walk(NamedTuple):
    """A place of the study grid, and a step from it on; rows and columns [cells]."""

    row: float
    column: float
    row_step: float
    column_step: float


@inner_kernel
def new_near_cover(ray_km: float, covered: bool) -> NearCover:
    """Return room for the edges of one path: both ends are never more than four steps of the ray together."""
    step_km = min(ray_km, COVER_STEP_M / 1000.0)
    room = math.ceil(4.0 * ray_km / step_km) + 2 if covered else 0
    return NearCover(np.empty((3, room)), ray_km, step_km, 0, 0, 0)


@inner_kernel
def _sample(
    edges: FloatArray,
    ground: Ground,
    cover: npt.NDArray[np.float32],
    walk: Walk,
    start_km: float,
    step_km: float,
) -> bool:
    """Fill edges (3, n), one step on from a place each; False if any is not known."""
    count = edges.shape[1]
    if count < 1:
        return True
    ground_along(ground, walk.row, walk.column, walk.row_step, walk.column_step, edges[EDGE_M])
    nearest_along(ground, cover, walk.row, walk.column, walk.row_step, walk.column_step, edges[EDGE_COVER_M])
    total = 0.0
    for k in range(count):
        edges[EDGE_KM, k] = start_km + (k + 1) * step_km
        edges[EDGE_M, k] += edges[EDGE_COVER_M, k]
        total += edges[EDGE_M, k]
    # One sum tells of any void, for NaN stays NaN.
    return not math.isnan(total)


@inner_kernel
def leave_station(
    near: NearCover, ground: Ground, cover: npt.NDArray[np.float32], walk: Walk
) -> tuple[NearCover, bool]:
    """Return the edges of the first stretch of a ray, and whether all are known.

    ``walk`` begins at the station, with the ray's own step.
    """
    share = near.step_km / near.ray_km
    # So far that the skyline's first sample with cover, the second, begins where these end.
    count = int(NEAR_STEPS / share)
    finely = Walk(walk.row, walk.column, walk.row_step * share, walk.column_step * share)
    known = _sample(near.edges[:, :count], ground, cover, finely, 0.0, near.step_km)
    return NearCover(near.edges, near.ray_km, near.step_km, count, 0, count), known


@inner_kernel
def reach_cell(
    near: NearCover, ground: Ground, cover: npt.NDArray[np.float32], walk: Walk, d: float, samples: int
) -> tuple[NearCover, bool]:
    """Return the edges with those before a cell, on the line to it, and whether all are known.

    ``walk`` begins at the cell, with the whole way to the station for a step. ``samples`` of the ray's
    skyline come before the edges, or none: then the edges are those of the whole path.
    """
    begin = near.tx_count
    # The last sample of the skyline owns half a step beyond itself.
    from_km = (samples + 0.5) * near.ray_km if samples > 0 else 0.0
    count = max(math.ceil((d - from_km) / near.step_km - _ON_THE_EDGE) - 1, 0)
    share = near.step_km / max(d, near.step_km)
    back = Walk(walk.row, walk.column, walk.row_step * share, walk.column_step * share)
    known = _sample(near.edges[:, begin : begin + count], ground, cover, back, d, -near.step_km)
    # On a short path the edges before the cell reach back to the station and stand for those near it too.
    first = 0 if samples > 0 else begin
    return NearCover(near.edges, near.ray_km, near.step_km, begin, first, begin + count), known


@inner_kernel
def _slopes(near: NearCover, ends: Terminals, curvature: float) -> tuple[float, float]:
    """Return the steepest slopes [m/km] at which the edges are seen from both ends (P.1812-8 eq. 14, 18)."""
    d, tx_slope, rx_slope = ends.distance_km, -math.inf, -math.inf
    for k in range(near.first, near.last):
        x = near.edges[EDGE_KM, k]
        top_m = near.edges[EDGE_M, k] + curvature * x * (d - x)
        tx_slope = max(tx_slope, (top_m - ends.tx_m) / x)
        rx_slope = max(rx_slope, (top_m - ends.rx_m) / (d - x))
    return tx_slope, rx_slope


@inner_kernel
def _largest_fresnel(near: NearCover, ends: Terminals, curvature: float) -> float:
    """Return the largest X of the edges (P.1812-8 eq. 16)."""
    d, best = ends.distance_km, -math.inf
    for k in range(near.first, near.last):
        x = near.edges[EDGE_KM, k]
        y = d - x
        over_m = near.edges[EDGE_M, k] + curvature * x * y - (ends.tx_m * y + ends.rx_m * x) / d
        best = max(best, over_m * math.sqrt(d / (x * y)))
    return best


@inner_kernel
def covered_summary(
    sky: FloatArray,
    state: SkylineState,
    reach: Reach,
    ends: Terminals,
    smooth: SmoothHeights,
    near: NearCover,
    bend: Bend,
) -> PathSummary:
    """Return what delta-Bullington needs of a path over cover, for one effective radius.

    The skyline, of ground with cover, is one sample behind the ray.
    """
    d, rx_m, curvature = ends.distance_km, ends.rx_m, bend.curvature
    covered = Reach(reach.samples - 1, reach.step_km)
    near_tx, near_rx = _slopes(near, ends, curvature)
    tx_slope, rx_slope, fresnel = max(tx_slope_seen(state, d, curvature), near_tx), -math.inf, -math.inf
    if tx_slope < (rx_m - ends.tx_m) / d:
        if covered.samples > 0:
            fresnel, _ = largest_fresnel_seen(sky, state, covered, ends, bend)
        fresnel = max(fresnel, _largest_fresnel(near, ends, curvature))
    else:
        if covered.samples > 0:
            rx_slope, _ = rx_slope_seen(sky, state, d, rx_m, curvature)
        rx_slope = max(rx_slope, near_rx)
    return with_smooth_profile(Edges(tx_slope, rx_slope, fresnel), reach, ends, smooth, bend)
