"""Ground with its cover close to both ends of a path, sampled finely, beside what a ray's skyline holds.

A ray samples the ground at the terrain's step. Over that step the nearest edge of a wood would fall anywhere,
and the nearest edge to a low aerial costs most. So around the station, and before each cell, ground and cover
are sampled at the step of :mod:`combe.terrain.cover_step`; these edges join the slopes and ν of the skyline,
which holds the samples between.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel
from combe.prediction.ray_summary import SmoothHeights, Terminals, with_smooth_profile
from combe.prediction.skyline import SkylineState, largest_fresnel_seen, rx_slope_seen, tx_slope_seen
from combe.propagation.summary import PathSummary
from combe.terrain.cover_step import COVER_STEP_M, NEAR_STEPS
from combe.terrain.ground import Ground, ground_along, nearest_along

FloatArray = npt.NDArray[np.float64]

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


@inner_kernel
def new_near_cover(ray_km: float, covered: bool) -> NearCover:
    """Return room for the edges of one path: both ends are never more than four steps of the ray together."""
    step_km = min(ray_km, COVER_STEP_M / 1000.0)
    room = math.ceil(4.0 * ray_km / step_km) + 2 if covered else 0
    return NearCover(np.empty((3, room)), ray_km, step_km, 0, 0, 0)


@inner_kernel
def _sample(
    near: NearCover,
    ground: Ground,
    cover: npt.NDArray[np.float32],
    row: float,
    column: float,
    row_step: float,
    column_step: float,
    first: int,
    count: int,
    start_km: float,
    step_km: float,
) -> bool:
    """Fill ``count`` edges from ``first`` on, one step on from a place each; False if any is not known."""
    if count < 1:
        return True
    edges = near.edges[:, first : first + count]
    ground_along(ground, row, column, row_step, column_step, edges[EDGE_M])
    nearest_along(ground, cover, row, column, row_step, column_step, edges[EDGE_COVER_M])
    total = 0.0
    for k in range(count):
        edges[EDGE_KM, k] = start_km + (k + 1) * step_km
        edges[EDGE_M, k] += edges[EDGE_COVER_M, k]
        total += edges[EDGE_M, k]
    return not math.isnan(total)


@inner_kernel
def leave_station(
    near: NearCover,
    ground: Ground,
    cover: npt.NDArray[np.float32],
    row: float,
    column: float,
    row_step: float,
    column_step: float,
) -> tuple[NearCover, bool]:
    """Return the edges of the first stretch of a ray, and whether all are known.

    ``row_step`` and ``column_step`` are those of the ray's own step.
    """
    share = near.step_km / near.ray_km
    count = int(NEAR_STEPS / share)
    known = _sample(
        near, ground, cover, row, column, row_step * share, column_step * share,
        0, count, 0.0, near.step_km,
    )  # fmt: skip
    return NearCover(near.edges, near.ray_km, near.step_km, count, 0, count), known


@inner_kernel
def reach_cell(
    near: NearCover,
    ground: Ground,
    cover: npt.NDArray[np.float32],
    row: float,
    column: float,
    tx_row: float,
    tx_column: float,
    d: float,
    samples: int,
) -> tuple[NearCover, bool]:
    """Return the edges with those before a cell, on the line to it, and whether all are known.

    ``samples`` of the ray's skyline come before them, or none: then the edges are those of the whole path.
    """
    begin = near.tx_count
    from_km = (samples + 0.5) * near.ray_km if samples > 0 else 0.0
    count = max(math.ceil((d - from_km) / near.step_km - _ON_THE_EDGE) - 1, 0)
    share = near.step_km / max(d, near.step_km)
    known = _sample(
        near, ground, cover, row, column, (tx_row - row) * share, (tx_column - column) * share,
        begin, count, d, -near.step_km,
    )  # fmt: skip
    first = 0 if samples > 0 else begin
    return NearCover(near.edges, near.ray_km, near.step_km, begin, first, begin + count), known


@inner_kernel
def _slopes(near: NearCover, ends: Terminals, curvature: float) -> tuple[float, float]:
    """Return the steepest slopes [m/km] at which the edges are seen from both ends."""
    d, tx_slope, rx_slope = ends.distance_km, -math.inf, -math.inf
    for k in range(near.first, near.last):
        x = near.edges[EDGE_KM, k]
        top_m = near.edges[EDGE_M, k] + curvature * x * (d - x)
        tx_slope = max(tx_slope, (top_m - ends.tx_m) / x)
        rx_slope = max(rx_slope, (top_m - ends.rx_m) / (d - x))
    return tx_slope, rx_slope


@inner_kernel
def _largest_fresnel(near: NearCover, ends: Terminals, curvature: float) -> float:
    """Return the largest X of the edges."""
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
    covered: int,
    samples: int,
    step_km: float,
    ends: Terminals,
    smooth: SmoothHeights,
    near: NearCover,
    curvature: float,
    floor: float,
) -> PathSummary:
    """Return what delta-Bullington needs of a path over cover, for one effective radius.

    The skyline holds ``covered`` samples, of ground with cover; ``samples`` is how many the ray has in all.
    """
    d, tx_m, rx_m = ends.distance_km, ends.tx_m, ends.rx_m
    near_tx, near_rx = _slopes(near, ends, curvature)
    tx_slope, rx_slope, fresnel = max(tx_slope_seen(state, d, curvature), near_tx), -math.inf, -math.inf
    if tx_slope < (rx_m - tx_m) / d:
        if covered > 0:
            fresnel, _ = largest_fresnel_seen(sky, state, covered, step_km, d, tx_m, rx_m, curvature, floor)
        fresnel = max(fresnel, _largest_fresnel(near, ends, curvature))
    else:
        if covered > 0:
            rx_slope, _ = rx_slope_seen(sky, state, d, rx_m, curvature)
        rx_slope = max(rx_slope, near_rx)
    return with_smooth_profile(tx_slope, rx_slope, fresnel, samples, step_km, ends, smooth, curvature, floor)
