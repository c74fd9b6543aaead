"""The path summary of a cell on a ray, from the skylines that the ray has seen."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel
from combe.prediction.hull import HULL_X, HULL_Y, farthest_along, steepest_at
from combe.prediction.skyline import (
    SkylineState,
    largest_fresnel_seen,
    rx_slope_seen,
    tx_slope_seen,
)
from combe.prediction.smooth_steps import smooth_profile_stepped
from combe.propagation.summary import PathSummary, lowered_smooth_ends, smooth_ends

FloatArray = npt.NDArray[np.float64]


class Trail(NamedTuple):
    """How far a ray has come, and the sums of the least-squares line through its ground."""

    samples: int
    v1: float
    v2: float
    last_km: float
    last_m: float


class Terminals(NamedTuple):
    """Ends of a path: distance [km], ground and aerials [m above sea level]."""

    distance_km: float
    tx_ground_m: float
    rx_ground_m: float
    tx_m: float
    rx_m: float


class SmoothHeights(NamedTuple):
    """Ends of the smooth surface [m]: as fitted, and let down for the diffraction model."""

    fitted_tx_m: float
    fitted_rx_m: float
    lowered_tx_m: float
    lowered_rx_m: float


@inner_kernel
def new_trail(tx_ground_m: float) -> Trail:
    """Return the trail of a ray that has not left the station."""
    return Trail(0, 0.0, 0.0, 0.0, tx_ground_m)


@inner_kernel
def follow(trail: Trail, x: float, height_m: float) -> Trail:
    """Return the trail after one more sample."""
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
    whole = follow(trail, d, ends.rx_ground_m)
    fitted_tx, fitted_rx = smooth_ends(whole.v1, whole.v2, d)
    chord = (ends.rx_m - ends.tx_m) / d
    highest, tx_angle, rx_angle = -math.inf, -math.inf, -math.inf
    if state.tx_slope > chord:
        tx_angle = state.tx_slope - chord
        k = steepest_at(plain, state.hull_count, d, ends.rx_m)
        rx_angle = (plain[HULL_Y, k] - ends.rx_m) / (d - plain[HULL_X, k]) + chord
        k = farthest_along(plain, state.hull_count, -chord)
        highest = plain[HULL_Y, k] - chord * plain[HULL_X, k] - ends.tx_m
    lowered_tx, lowered_rx = lowered_smooth_ends(
        fitted_tx, fitted_rx, ends.tx_ground_m, ends.rx_ground_m, highest, tx_angle, rx_angle
    )
    return SmoothHeights(fitted_tx, fitted_rx, lowered_tx, lowered_rx)


@inner_kernel
def diffraction_summary(
    sky: FloatArray,
    state: SkylineState,
    samples: int,
    step_km: float,
    ends: Terminals,
    smooth: SmoothHeights,
    curvature: float,
    floor: float,
) -> PathSummary:
    """Return what delta-Bullington needs of a path, from the skyline of one effective radius.

    Parts that cannot matter are left out: the slope from the receiver in line of sight, and X where it is not
    above ``floor`` (where the knife-edge loss is nought); both are −inf then.
    """
    d, tx_m, rx_m = ends.distance_km, ends.tx_m, ends.rx_m
    tx_slope, rx_slope, fresnel = tx_slope_seen(state, d, curvature), -math.inf, -math.inf
    if samples > 0:
        if tx_slope < (rx_m - tx_m) / d:
            fresnel, _ = largest_fresnel_seen(sky, state, samples, step_km, d, tx_m, rx_m, curvature, floor)
        else:
            rx_slope, _ = rx_slope_seen(sky, state, d, rx_m, curvature)
    return with_smooth_profile(tx_slope, rx_slope, fresnel, samples, step_km, ends, smooth, curvature, floor)


@inner_kernel
def with_smooth_profile(
    tx_slope: float,
    rx_slope: float,
    fresnel: float,
    samples: int,
    step_km: float,
    ends: Terminals,
    smooth: SmoothHeights,
    curvature: float,
    floor: float,
) -> PathSummary:
    """Return the summary whose slopes and X are known, completed by the smooth profile."""
    tx_effective, rx_effective = ends.tx_m - smooth.lowered_tx_m, ends.rx_m - smooth.lowered_rx_m
    smooth_tx, smooth_rx, smooth_fresnel = smooth_profile_stepped(
        samples, step_km, ends.distance_km, tx_effective, rx_effective, curvature, floor
    )
    return PathSummary(
        ends.distance_km,
        ends.tx_m,
        ends.rx_m,
        tx_slope,
        rx_slope,
        fresnel,
        tx_effective,
        rx_effective,
        smooth_tx,
        smooth_rx,
        smooth_fresnel,
    )
