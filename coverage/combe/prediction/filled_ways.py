"""Which cells a station reaches across ground that was filled in, and not measured.

Rays are walked once more, over the ground as the files have it. The prediction itself knows nothing of this.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.decibels import FloatArray
from combe.prediction.area import Area
from combe.prediction.coverage import ray_density
from combe.prediction.rays import (
    AHEAD,
    CLEARANCE,
    Course,
    cell_distance_km,
    course_of,
    lay_rays,
    place_priced,
    ray_steps,
)
from combe.stations import Station
from combe.terrain import Ground, grid_heights, ground_along, ground_under, sample_heights, without_fills


@kernel
def _walk(measured: Ground, heights_m: FloatArray, course: Course, crossed: npt.NDArray[np.bool_]) -> None:
    """Mark the cells (flat) behind a void of the measured ground, ray by ray."""
    ahead_m = np.empty(AHEAD)
    step_km = course.step_m / 1000.0
    for ray in range(course.scale.size):
        cell_km, row_step, column_step = ray_steps(course, ray)
        samples, over_a_void = 0, False
        for place in range(course.first_cell[ray], course.first_cell[ray + 1]):
            cell = course.cell_order[place]
            cell_row, cell_column, _ = place_priced(course, course.targets, heights_m, cell)
            d = cell_distance_km(course, cell_row, cell_column, cell_km)
            # The samples that the sweep takes before this cell, no more and no less.
            while (samples + 1 + CLEARANCE) * step_km <= d:
                if samples % AHEAD == 0:
                    row = course.origin_row + samples * row_step
                    column = course.origin_column + samples * column_step
                    ground_along(measured, row, column, row_step, column_step, ahead_m)
                over_a_void = over_a_void or math.isnan(ahead_m[samples % AHEAD])
                samples += 1
            crossed[cell] = over_a_void


def cells_across_fills(area: Area, stations: tuple[Station, ...]) -> list[npt.NDArray[np.bool_]]:
    """Return for each station the cells (rows, columns) whose path from it has filled ground.

    A path has its ends, too: all cells are marked for a station on filled ground, and a cell on it for all.

    Raises
    ------
    RasterError, RangeError
        A tile that can no longer be read, or a station beyond the ground that was read.
    """
    terrain = without_fills(area.terrain)
    places = [(each.longitude_deg, each.latitude_deg) for each in stations]
    measured = ground_under(terrain, area.grid, places)
    filled_cells = np.isnan(grid_heights(terrain, area.grid)) & ~np.isnan(area.heights_m)
    found = []
    for lon_deg, lat_deg in places:
        crossed = np.zeros(area.heights_m.size, np.bool_)
        rays = lay_rays(area, lon_deg, lat_deg, density=ray_density(area))
        _walk(measured, area.heights_m, course_of(area, rays), crossed)
        own = crossed.reshape(area.heights_m.shape) | filled_cells
        if np.isnan(sample_heights(terrain, lon_deg, lat_deg)):
            own = ~np.isnan(area.heights_m)
        found.append(own)
    return found
