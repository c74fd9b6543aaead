"""The sweep: delta-Bullington and free space for every cell of an area, one query a cell.

Each ray is walked once. Its memory (running maxima, two convex hulls, prefix sums) gives the path summary of
every cell along it in O(log n), with the cell's own height and distance; the summary goes to the same kernel
that prices exact paths. Samples nearer to the cell than half a step are left to the cell itself.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.prediction.hull import farthest_along, push, steepest_towards
from combe.prediction.ray_memory import (
    CurvedGround,
    largest_fresnel_remembered,
    new_curved_ground,
    remember,
    smooth_profile_stepped,
)
from combe.propagation.p525 import free_space_kernel
from combe.propagation.p526.delta import WAVELENGTH_M_MHZ, delta_bullington_kernel
from combe.propagation.summary import PathSummary, lowered_smooth_ends, smooth_ends
from combe.terrain.ground import Ground, ground_along

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int32]

CLEARANCE = 0.5
"""Steps before a cell within which a ray's sample is not an obstacle of its own."""

AHEAD = 16
"""Samples of the ground that a ray takes at a time."""

SHORTEST_KM = 0.01
"""Horizontal distance below which a cell is priced as if it were this far."""


class SweepConditions(NamedTuple):
    """What a sweep holds for all its cells."""

    tx_ground_m: float
    tx_above_ground_m: float
    rx_above_ground_m: float
    radius_km: float
    vertical: bool
    sea_fraction: float
    diffraction: bool
    """False prices free space alone."""


class RayState(NamedTuple):
    """Running numbers of a ray after ``samples`` samples."""

    samples: int
    curved_count: int
    plain_count: int
    v1: float
    v2: float
    last_km: float
    last_m: float
    tx_slope: float
    """Running max of (h − hts)/x − c·x."""
    tx_plain_slope: float
    """Running max of (h − hts)/x."""


class RayArrays(NamedTuple):
    """Arrays of a ray's memory, allocated once for a block of rays."""

    ground: CurvedGround
    curved_x: FloatArray
    curved_y: FloatArray
    plain_x: FloatArray
    plain_y: FloatArray


@kernel
def new_ray_arrays(samples: int) -> RayArrays:
    """Allocate the arrays for rays of at most ``samples`` samples."""
    return RayArrays(
        new_curved_ground(samples),
        np.empty(samples + 1),
        np.empty(samples + 1),
        np.empty(samples + 1),
        np.empty(samples + 1),
    )


@kernel
def new_ray_state(tx_ground_m: float) -> RayState:
    """Return the state of a ray that has not left the station."""
    return RayState(0, 0, 0, 0.0, 0.0, 0.0, tx_ground_m, -math.inf, -math.inf)


@inner_kernel
def take_sample(
    state: RayState, arrays: RayArrays, step_km: float, height_m: float, tx_m: float, curvature: float
) -> RayState:
    """Return the state after one more sample of the ground."""
    j = state.samples + 1
    x = j * step_km
    y = height_m - curvature * x * x
    remember(arrays.ground, j, y)
    curved = push(arrays.curved_x, arrays.curved_y, state.curved_count, x, y)
    plain = push(arrays.plain_x, arrays.plain_y, state.plain_count, x, height_m)
    x0, h0 = state.last_km, state.last_m
    slope = (height_m - tx_m) / x
    return RayState(
        j,
        curved,
        plain,
        state.v1 + (x - x0) * (height_m + h0),
        state.v2 + (x - x0) * (height_m * (2.0 * x + x0) + h0 * (x + 2.0 * x0)),
        x,
        height_m,
        max(state.tx_slope, slope - curvature * x),
        max(state.tx_plain_slope, slope),
    )


@inner_kernel
def _smooth_heights(
    state: RayState,
    arrays: RayArrays,
    d: float,
    ground_m: float,
    tx_ground_m: float,
    tx_m: float,
    rx_m: float,
) -> tuple[float, float]:
    """Return the aerials' heights over the smooth surface of the diffraction model."""
    x0, h0 = state.last_km, state.last_m
    v1 = state.v1 + (d - x0) * (ground_m + h0)
    v2 = state.v2 + (d - x0) * (ground_m * (2.0 * d + x0) + h0 * (d + 2.0 * x0))
    tx_smooth, rx_smooth = smooth_ends(v1, v2, d)
    chord = (rx_m - tx_m) / d
    highest, tx_angle, rx_angle = -math.inf, -math.inf, -math.inf
    if state.tx_plain_slope > chord:
        tx_angle = state.tx_plain_slope - chord
        rx_angle = steepest_towards(arrays.plain_x, arrays.plain_y, state.plain_count, d, rx_m) + chord
        k = farthest_along(arrays.plain_x, arrays.plain_y, state.plain_count, -chord)
        highest = arrays.plain_y[k] - chord * arrays.plain_x[k] - tx_m
    tx_smooth, rx_smooth = lowered_smooth_ends(
        tx_smooth, rx_smooth, tx_ground_m, ground_m, highest, tx_angle, rx_angle
    )
    return tx_m - tx_smooth, rx_m - rx_smooth


@inner_kernel
def summarise_cell(
    state: RayState,
    arrays: RayArrays,
    step_km: float,
    d: float,
    ground_m: float,
    conditions: SweepConditions,
    floor: float,
) -> PathSummary:
    """Return the path summary of a cell ``d`` km along the ray whose ground is ``ground_m`` high.

    Parts that cannot matter are left out: the slope from the receiver in line of sight, and X where it is not
    above ``floor`` (where the knife-edge loss is nought); both are −inf then.
    """
    curvature = 500.0 / conditions.radius_km
    tx_m = conditions.tx_ground_m + conditions.tx_above_ground_m
    rx_m = ground_m + conditions.rx_above_ground_m
    tx_slope, rx_slope, fresnel = state.tx_slope + curvature * d, -math.inf, -math.inf
    if state.samples > 0:
        if tx_slope < (rx_m - tx_m) / d:
            fresnel, _ = largest_fresnel_remembered(
                arrays.ground,
                arrays.curved_x,
                arrays.curved_y,
                state.curved_count,
                state.samples,
                step_km,
                d,
                tx_m,
                rx_m,
                curvature,
                floor,
            )
        else:
            back = steepest_towards(
                arrays.curved_x, arrays.curved_y, state.curved_count, d, rx_m - curvature * d * d
            )
            rx_slope = back - curvature * d
    tx_effective, rx_effective = _smooth_heights(
        state, arrays, d, ground_m, conditions.tx_ground_m, tx_m, rx_m
    )
    smooth_tx, smooth_rx, smooth_fresnel = smooth_profile_stepped(
        state.samples, step_km, d, tx_effective, rx_effective, curvature, floor
    )
    return PathSummary(
        d,
        tx_m,
        rx_m,
        tx_slope,
        rx_slope,
        fresnel,
        tx_effective,
        rx_effective,
        smooth_tx,
        smooth_rx,
        smooth_fresnel,
    )


@inner_kernel
def _price(path: PathSummary, conditions: SweepConditions, frequency_mhz: float) -> float:
    """Return the basic transmission loss [dB] of a path: free space over the slant, and diffraction."""
    rise_km = (path.tx_height_m - path.rx_height_m) / 1000.0
    slant_km = math.sqrt(path.distance_km * path.distance_km + rise_km * rise_km)
    loss = free_space_kernel(slant_km, frequency_mhz)
    if conditions.diffraction:
        loss += delta_bullington_kernel(
            path,
            conditions.radius_km,
            frequency_mhz,
            WAVELENGTH_M_MHZ / frequency_mhz,
            conditions.vertical,
            conditions.sea_fraction,
        )
    return loss


@kernel
def sweep_rays(
    ground: Ground,
    heights_m: FloatArray,
    cell_size_m: float,
    step_m: float,
    origin_row: float,
    origin_column: float,
    first_ray: int,
    last_ray: int,
    scale: FloatArray,
    first_cell: npt.NDArray[np.int64],
    cell_order: IntArray,
    conditions: SweepConditions,
    frequencies_mhz: FloatArray,
    loss_db: FloatArray,
) -> None:
    """Fill ``loss_db`` (services, cells) for the cells of some rays.

    ``heights_m`` (rows, columns) of the cells; ``step_m`` between a ray's samples of ``ground``. Cells behind
    a void of the terrain on their ray are left as they were.
    """
    rows, columns = heights_m.shape
    curvature = 500.0 / conditions.radius_km
    tx_m = conditions.tx_ground_m + conditions.tx_above_ground_m
    floor = -0.78 * math.sqrt(WAVELENGTH_M_MHZ / np.min(frequencies_mhz) / 0.002)
    diagonal_m = math.sqrt(rows * rows + columns * columns) * cell_size_m
    arrays = new_ray_arrays(int(1.1 * diagonal_m / step_m) + 8)
    ahead_m = np.empty(AHEAD)
    step_km = step_m / 1000.0
    for ray in range(first_ray, last_ray):
        angle = 2.0 * math.pi * ray / scale.size
        cell_km = cell_size_m * scale[ray] / 1000.0
        row_step, column_step = -math.cos(angle) * step_km / cell_km, math.sin(angle) * step_km / cell_km
        state = new_ray_state(conditions.tx_ground_m)
        for place in range(first_cell[ray], first_cell[ray + 1]):
            cell = cell_order[place]
            cell_row, cell_column = cell // columns, cell % columns
            d = cell_km * math.sqrt((cell_row - origin_row) ** 2 + (cell_column - origin_column) ** 2)
            while (state.samples + 1 + CLEARANCE) * step_km <= d:
                j = state.samples
                if j % AHEAD == 0:
                    row, column = origin_row + j * row_step, origin_column + j * column_step
                    ground_along(ground, row, column, row_step, column_step, ahead_m)
                state = take_sample(state, arrays, step_km, ahead_m[j % AHEAD], tx_m, curvature)
            if math.isnan(state.v1):
                break
            d = max(d, SHORTEST_KM)
            path = summarise_cell(
                state, arrays, step_km, d, heights_m[cell_row, cell_column], conditions, floor
            )
            for service in range(frequencies_mhz.size):
                loss_db[service, cell] = _price(path, conditions, frequencies_mhz[service])
