"""The sweep of the whole of ITU-R P.1812-8: every cell of an area, one time percentage, several services.

What is exact: every number of the path summary equals that of the exact summary over the ray's own samples;
the roughness between the horizons and the largest ν are found with bounds that only pass over what cannot
count. What is left out because it cannot change the loss: the median radius where only aβ is priced and the
other way round, and the roughness where no duct can carry. What is taken once for a map: the latitude, which
is the station's.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.prediction.near_cover import NearCover, Walk, leave_station, new_near_cover, reach_cell
from combe.prediction.pricing import SHORTEST_KM, Frequencies, at_frequency
from combe.prediction.ray_summary import Trail, new_trail, smooth_heights
from combe.prediction.ray_summary_p1812 import (
    CellPath,
    Sample,
    Seen,
    Skylines,
    Wanted,
    beta_path,
    cell_summary,
    horizons_seen,
    look,
    median_path,
    with_roughness,
)
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
from combe.prediction.skyline import Bend, Reach, Terminals, empty_state, new_skyline
from combe.prediction.zone_trail import PathZones, all_inland, start_zones, zones_of_path
from combe.propagation.p1812 import INLAND, SEA, P1812Conditions, begin_loss, finish_loss_db
from combe.terrain import Ground, cover_parts, ground_along, highest_along, nearest, nearest_along


class Surroundings(NamedTuple):
    """Aerials [m] of a sweep, its air, and what lies on the ground, in the raster's own cells.

    ``cover`` heights [m] and ``zones`` (1 sea, 3 coast, 4 inland): shape of the ground's heights, or empty.
    ``air`` is that of the first of the services.
    """

    tx_ground_m: float
    tx_above_ground_m: float
    rx_above_ground_m: float
    air: P1812Conditions
    cover: npt.NDArray[np.float32]
    zones: npt.NDArray[np.uint8]


class Cell(NamedTuple):
    """A cell, or a target: row and column, its distance from the station along the ray [km]."""

    row: float
    column: float
    d: float


@inner_kernel
def _zones_at(ground: Ground, zone_cells: npt.NDArray[np.uint8], row: float, column: float) -> int:
    """Return the zone at a place of the study grid: inland where none are given, 0 where it is not known."""
    if zone_cells.size == 0:
        return INLAND
    zone = nearest(ground, zone_cells, row, column)
    # Asked this way round, a zone that is no number is not known.
    return int(zone) if zone >= SEA else 0


@inner_kernel
def _zones_to(
    ground: Ground, zone_cells: npt.NDArray[np.uint8], seen: Seen, tx_zone: int, cell: Cell
) -> tuple[PathZones, bool]:
    """Return the zones of the path to a cell, and whether those of both ends are known."""
    distance_km = max(cell.d, SHORTEST_KM)
    if zone_cells.size == 0:
        return all_inland(distance_km), True
    rx_zone = _zones_at(ground, zone_cells, cell.row, cell.column)
    if tx_zone < SEA or rx_zone < SEA:
        return all_inland(distance_km), False
    return zones_of_path(seen.zones, distance_km, rx_zone), True


@inner_kernel
def _leave(near: NearCover, ground: Ground, around: Surroundings, walk: Walk) -> tuple[Trail, NearCover]:
    """Return the trail of a ray that leaves the station, and the cover near it; NaN sums if not known."""
    trail = new_trail(around.tx_ground_m)
    if around.cover.size == 0:
        return trail, near
    near, known = leave_station(near, ground, around.cover, walk)
    # A sum that is no number from the start marks the whole ray as not known, and every cell on it.
    lost = 0.0 if known else math.nan
    return Trail(trail.samples, lost, lost, trail.last_km, trail.last_m), near


@inner_kernel
def _reach(
    near: NearCover, ground: Ground, around: Surroundings, course: Course, cell: Cell, samples: int
) -> tuple[NearCover, bool]:
    """Return the cover near both ends of the path to a cell, and whether it is known.

    The skylines of cover are one sample behind the ray's ``samples``.
    """
    if around.cover.size == 0:
        return near, True
    back = Walk(cell.row, cell.column, course.origin_row - cell.row, course.origin_column - cell.column)
    return reach_cell(near, ground, around.cover, back, cell.d, samples - 1)


@inner_kernel
def _look_ahead(ground: Ground, around: Surroundings, walk: Walk, parts: int, ahead: FloatArray) -> None:
    """Fill the rows of ``ahead`` (3, n) with the next heights, cover and zones along a ray.

    Cover is the highest of each sample's own stretch. Unknown cover (NaN) and unknown zones (0) make the
    ground unknown, as a void does.
    """
    row, column, row_step, column_step = walk.row, walk.column, walk.row_step, walk.column_step
    ground_along(ground, row, column, row_step, column_step, ahead[0])
    if around.cover.size > 0:
        highest_along(ground, around.cover, row, column, row_step, column_step, parts, ahead[1])
        for k in range(ahead.shape[1]):
            if math.isnan(ahead[1, k]):
                # Whatever is not known makes the ground not known: one test then stops the ray for all
                # three.
                ahead[0, k] = math.nan
    if around.zones.size > 0:
        nearest_along(ground, around.zones, row, column, row_step, column_step, ahead[2])
        for k in range(ahead.shape[1]):
            if not ahead[2, k] >= SEA:
                ahead[0, k], ahead[2, k] = math.nan, INLAND


@kernel
def sweep_rays_p1812(
    ground: Ground,
    heights_m: FloatArray,
    course: Course,
    first_ray: int,
    last_ray: int,
    around: Surroundings,
    frequencies: Frequencies,
    loss_db: FloatArray,
) -> None:
    """Fill ``loss_db`` (services, cells or targets) for what lies along some rays.

    ``heights_m`` (rows, columns) of the cells. What lies behind a void of the terrain on its ray is left as
    it was, and so is what lies in an unknown zone.
    """
    air = around.air
    bend = Bend(500.0 / air.median_radius_km, fresnel_floor(np.max(frequencies.wavelength_m)))
    tx_ground_m = around.tx_ground_m
    tx_m = tx_ground_m + around.tx_above_ground_m
    # Fi is 1 up to β0 % of time and 0 at 50 % (P.1812-8 eq. 40): there only aβ, or only the median, counts.
    wanted = Wanted(
        air.time_percent > air.least_incidence_percent,
        air.time_percent < 50.0,
        around.cover.size > 0,
        around.zones.size > 0,
    )
    samples = most_samples(course, heights_m, first_ray, last_ray)
    parts = cover_parts(course.step_m)
    plain, bent, beta = new_skyline(samples), new_skyline(samples), new_skyline(samples)
    sky = Skylines(plain, bent, new_skyline(samples if wanted.cover else 1), beta)
    ahead = np.zeros((3, AHEAD))
    step_km = course.step_m / 1000.0
    near = new_near_cover(step_km, wanted.cover)
    # A ray starts in the same zone whatever its bearing.
    tx_zone = _zones_at(ground, around.zones, course.origin_row, course.origin_column)
    nothing = empty_state()
    for ray in range(first_ray, last_ray):
        cell_km, row_step, column_step = ray_steps(course, ray)
        start = Walk(course.origin_row, course.origin_column, row_step, column_step)
        trail, near = _leave(near, ground, around, start)
        seen = Seen(trail, nothing, nothing, nothing, nothing, start_zones(tx_zone), 0.0)
        for place in range(course.first_cell[ray], course.first_cell[ray + 1]):
            index = course.cell_order[place]
            row, column, cell_m = place_priced(course, course.targets, heights_m, index)
            cell = Cell(row, column, cell_distance_km(course, row, column, cell_km))
            while (seen.trail.samples + 1 + CLEARANCE) * step_km <= cell.d:
                j = seen.trail.samples
                k = j % AHEAD
                if k == 0:
                    there = Walk(
                        start.row + j * row_step, start.column + j * column_step, row_step, column_step
                    )
                    _look_ahead(ground, around, there, parts, ahead)
                sample = Sample((j + 1) * step_km, ahead[0, k], ahead[1, k], int(ahead[2, k]))
                seen = look(sky, seen, wanted, sample, tx_m, bend.curvature)
            if math.isnan(seen.trail.v1):
                break  # a void on the way: nothing is known behind it
            near, known = _reach(near, ground, around, course, cell, seen.trail.samples)
            zones, zone_known = _zones_to(ground, around.zones, seen, tx_zone, cell)
            if not (known and zone_known):
                # A cell in an unknown zone is left out; those behind it may well be known.
                continue
            rx_m = cell_m + around.rx_above_ground_m
            ends = Terminals(max(cell.d, SHORTEST_KM), tx_ground_m, cell_m, tx_m, rx_m)
            reach = Reach(seen.trail.samples, step_km)
            path = CellPath(reach, ends, smooth_heights(seen.trail, sky.plain, seen.plain, ends), near)
            horizons = horizons_seen(sky.bent, seen.bent, reach, ends, bend.curvature)
            summary = cell_summary(
                median_path(sky, seen, wanted, path, horizons, bend),
                beta_path(sky, seen, wanted, path, bend.floor),
                path,
                horizons,
                zones,
            )
            for service in range(loss_db.shape[0]):
                conditions = at_frequency(air, frequencies, service)
                begun = begin_loss(summary, conditions)
                # Roughness is dear and only ducting asks for it (P.1812-8 eq. 56): found once, if at all.
                if begun.ducting_counts and math.isnan(summary.roughness_m):
                    summary = with_roughness(summary, sky.plain, seen.plain, horizons, step_km)
                loss_db[service, index] = finish_loss_db(summary, conditions, begun)
