"""Horizons and roughness of a cell on a ray, as in P.1812-8 Attachment 1, from what the ray has seen."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel
from combe.prediction.hull import HULL_X, HULL_Y, farthest_along
from combe.prediction.ray_summary import Terminals
from combe.prediction.skyline import (
    BENT_Y,
    COARSE_BLOCK,
    COARSE_TOP,
    FINE_BLOCK,
    FINE_TOP,
    SkylineState,
    largest_fresnel_seen,
    rx_slope_seen,
)

FloatArray = npt.NDArray[np.float64]


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


@inner_kernel
def horizons_seen(
    bent: FloatArray, state: SkylineState, samples: int, step_km: float, ends: Terminals, curvature: float
) -> Horizons:
    """Return the horizons of a path; in line of sight both are the point of the largest ν."""
    d = ends.distance_km
    drop = curvature * d
    to_rx = (ends.rx_m - ends.tx_m) / d - drop
    if state.tx_slope > to_rx:
        rx_slope, x = rx_slope_seen(bent, state, d, ends.rx_m, curvature)
        rx_sample = math.floor(x / step_km + 0.5)
        return Horizons(state.tx_slope, rx_slope - drop, state.tx_sample, rx_sample, rx_slope, -math.inf)
    fresnel, where = -math.inf, 0
    if samples > 0:
        fresnel, where = largest_fresnel_seen(
            bent, state, samples, step_km, d, ends.tx_m, ends.rx_m, curvature, -math.inf
        )
    return Horizons(to_rx, -to_rx - 2.0 * drop, where, where, -math.inf, fresnel)


@inner_kernel
def roughness_seen(
    plain: FloatArray,
    state: SkylineState,
    first: int,
    last: int,
    step_km: float,
    surface_tx_m: float,
    slope: float,
) -> float:
    """Return hm [m]: the highest ground over a line, from sample ``first`` to ``last``; exact.

    The point of the whole ray that is highest over the line is a corner of its hull. Where it lies between
    the horizons it is the answer; elsewhere blocks are passed over that cannot hold anything higher.
    """
    if first < 1:
        return 0.0
    k = farthest_along(plain, state.hull_count, -slope)
    where = math.floor(plain[HULL_X, k] / step_km + 0.5)
    if first <= where <= last:
        corner: float = plain[HULL_Y, k] - (surface_tx_m + slope * plain[HULL_X, k])
        return corner
    best = max(
        _over(plain, first, step_km, surface_tx_m, slope), _over(plain, last, step_km, surface_tx_m, slope)
    )
    for block in range(first // COARSE_BLOCK, last // COARSE_BLOCK + 1):
        start, stop = max(block * COARSE_BLOCK, first), min((block + 1) * COARSE_BLOCK - 1, last)
        least = min(slope * start, slope * stop) * step_km
        if plain[COARSE_TOP, block] - surface_tx_m - least > best:
            best = _highest_in_block(plain, start, stop, step_km, surface_tx_m, slope, best)
    return best


@inner_kernel
def _over(plain: FloatArray, j: int, step_km: float, surface_tx_m: float, slope: float) -> float:
    """Return the height [m] of sample ``j`` over the line."""
    height: float = plain[BENT_Y, j] - (surface_tx_m + slope * (j * step_km))
    return height


@inner_kernel
def _highest_in_block(
    plain: FloatArray, start: int, stop: int, step_km: float, surface_tx_m: float, slope: float, best: float
) -> float:
    """Return the larger of ``best`` and the highest of samples start to stop over the line."""
    for fine in range(start // FINE_BLOCK, stop // FINE_BLOCK + 1):
        first, last = max(fine * FINE_BLOCK, start), min((fine + 1) * FINE_BLOCK - 1, stop)
        least = min(slope * first, slope * last) * step_km
        if plain[FINE_TOP, fine] - surface_tx_m - least > best:
            for j in range(first, last + 1):
                best = max(best, _over(plain, j, step_km, surface_tx_m, slope))
    return best
