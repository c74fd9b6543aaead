"""The sweep of free space and delta-Bullington: every cell of an area, one query a cell.

Each ray is walked once. What it has seen gives the path summary of every cell along it, with the cell's own
height and distance; the summary goes to the same kernel that prices exact paths. Samples nearer to the cell
than half a step are left to the cell itself.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.prediction.pricing import SHORTEST_KM, diffracted_db, free_space_db
from combe.prediction.ray_summary import diffraction_summary, follow, new_trail, smooth_heights
from combe.prediction.rays import (
    AHEAD,
    CLEARANCE,
    Course,
    cell_distance_km,
    fresnel_floor,
    most_samples,
    place_priced,
    ray_steps,
)
from combe.prediction.skyline import Bend, Reach, Terminals, empty_state, new_skyline, see
from combe.propagation import PathSummary
from combe.propagation.p526 import WAVELENGTH_M_MHZ
from combe.terrain import Ground, ground_along


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


@inner_kernel
def _loss_db(path: PathSummary, conditions: SweepConditions, frequency_mhz: float) -> float:
    """Return the basic transmission loss [dB] of a path: free space over the slant, and diffraction."""
    if not conditions.diffraction:
        return free_space_db(path.distance_km, path.tx_height_m, path.rx_height_m, frequency_mhz)
    return diffracted_db(
        path, frequency_mhz, conditions.radius_km, conditions.vertical, conditions.sea_fraction
    )


@kernel
def sweep_rays(
    ground: Ground,
    heights_m: FloatArray,
    course: Course,
    first_ray: int,
    last_ray: int,
    conditions: SweepConditions,
    frequencies_mhz: FloatArray,
    loss_db: FloatArray,
) -> None:
    """Fill ``loss_db`` (services, cells or targets) for what lies along some rays.

    ``heights_m`` (rows, columns) of the cells. What lies behind a void of the terrain on its ray is left as
    it was.
    """
    curvature = 500.0 / conditions.radius_km
    tx_ground_m = conditions.tx_ground_m
    tx_m = tx_ground_m + conditions.tx_above_ground_m
    # In line of sight ν is below 0, and of one X it is nearest to 0 for the longest wave: an edge that
    # costs that one nothing costs no service anything.
    bend = Bend(curvature, fresnel_floor(WAVELENGTH_M_MHZ / np.min(frequencies_mhz)))
    samples = most_samples(course, heights_m, first_ray, last_ray)
    # Two skylines: the bent one answers for slopes and ν, the unbent one for the obstruction over the
    # smooth surface, which P.1812-8 Attachment 1 takes without the Earth's curve.
    bent, plain, ahead_m = new_skyline(samples), new_skyline(samples), np.empty(AHEAD)
    step_km = course.step_m / 1000.0
    first_cell, cell_order, targets = course.first_cell, course.cell_order, course.targets
    for ray in range(first_ray, last_ray):
        cell_km, row_step, column_step = ray_steps(course, ray)
        # The tables stay from ray to ray; an empty state makes what an earlier ray left unreadable.
        trail, bent_state, plain_state = new_trail(tx_ground_m), empty_state(), empty_state()
        for place in range(first_cell[ray], first_cell[ray + 1]):
            cell = cell_order[place]
            cell_row, cell_column, cell_m = place_priced(course, targets, heights_m, cell)
            d = cell_distance_km(course, cell_row, cell_column, cell_km)
            # Cells come in order of distance, so each sample is seen once for all of them.
            while (trail.samples + 1 + CLEARANCE) * step_km <= d:
                j = trail.samples
                # Ground is taken a handful of samples at a time: where the ray lies on the raster is worked
                # out once for them all.
                if j % AHEAD == 0:
                    row, column = course.origin_row + j * row_step, course.origin_column + j * column_step
                    ground_along(ground, row, column, row_step, column_step, ahead_m)
                x, height_m = (j + 1) * step_km, ahead_m[j % AHEAD]
                trail = follow(trail, x, height_m)
                bent_state = see(bent, bent_state, j + 1, x, height_m, tx_m, curvature)
                plain_state = see(plain, plain_state, j + 1, x, height_m, tx_m, 0.0)
            if math.isnan(trail.v1):
                break  # a void on the way: nothing is known behind it
            rx_m = cell_m + conditions.rx_above_ground_m
            ends = Terminals(max(d, SHORTEST_KM), tx_ground_m, cell_m, tx_m, rx_m)
            smooth = smooth_heights(trail, plain, plain_state, ends)
            reach = Reach(trail.samples, step_km)
            path = diffraction_summary(bent, bent_state, reach, ends, smooth, bend)
            for service in range(frequencies_mhz.size):
                loss_db[service, cell] = _loss_db(path, conditions, frequencies_mhz[service])
