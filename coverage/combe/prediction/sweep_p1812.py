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
from combe.prediction.ray_course import (
    AHEAD,
    CLEARANCE,
    SHORTEST_KM,
    Course,
    cell_distance_km,
    fresnel_floor,
    most_samples,
    place_priced,
    ray_steps,
)
from combe.prediction.ray_horizons import Horizons, horizons_seen, roughness_seen
from combe.prediction.ray_summary import (
    SmoothHeights,
    Terminals,
    Trail,
    diffraction_summary,
    follow,
    new_trail,
    smooth_heights,
    with_smooth_profile,
)
from combe.prediction.skyline import SkylineState, empty_state, new_skyline, see, tx_slope_seen
from combe.prediction.zone_trail import (
    PathZones,
    ZoneTrail,
    all_inland,
    pass_zone,
    start_zones,
    zones_of_path,
)
from combe.propagation.p1812.conditions import BETA_RADIUS_KM, P1812Conditions
from combe.propagation.p1812.horizons import angle_mrad
from combe.propagation.p1812.quick_loss import begin_loss, finish_loss_db
from combe.propagation.p1812.summary import P1812Summary
from combe.propagation.p1812.zones import INLAND
from combe.propagation.summary import PathSummary
from combe.terrain.ground import Ground, ground_along, nearest, nearest_along

FloatArray = npt.NDArray[np.float64]


class Surroundings(NamedTuple):
    """Aerials [m] of a sweep, and what lies on the ground, in the raster's own cells.

    ``cover`` heights [m] and ``zones`` (1 sea, 3 coast, 4 inland): shape of the ground's heights, or empty.
    """

    tx_ground_m: float
    tx_above_ground_m: float
    rx_above_ground_m: float
    cover: npt.NDArray[np.float32]
    zones: npt.NDArray[np.uint8]


class Services(NamedTuple):
    """Frequencies of a sweep, each in the forms that P.1812 asks for; arrays of shape (services,)."""

    frequency_ghz: FloatArray
    frequency_root: FloatArray
    wavelength_m: FloatArray


@inner_kernel
def _for_service(air: P1812Conditions, services: Services, k: int) -> P1812Conditions:
    """Return the conditions of one service."""
    return P1812Conditions(
        services.frequency_ghz[k],
        services.frequency_root[k],
        services.wavelength_m[k],
        air.time_percent,
        air.time_inverse,
        air.median_radius_km,
        air.n0,
        air.latitude_deg,
        air.vertical,
        air.location_db,
        air.least_incidence_percent,
        air.time_floor,
    )


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
def _summary(
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


class Seen(NamedTuple):
    """What a ray has seen: its trail, the skylines without and with the Earth's curve, and the zones.

    ``plain`` and ``bent`` (ae) are of bare ground, ``raised`` (ae) and ``beta`` (aβ) of ground with cover.
    """

    trail: Trail
    plain: SkylineState
    bent: SkylineState
    raised: SkylineState
    beta: SkylineState
    zones: ZoneTrail


class Wanted(NamedTuple):
    """Which parts of the path summary a sweep needs."""

    median: bool
    beta: bool
    cover: bool
    zones: bool


@inner_kernel
def _look(
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
    if wanted.cover and wanted.median:
        raised_state = see(raised, raised_state, j, x, height_m + cover_m, tx_m, curvature)
    if wanted.beta:
        beta_state = see(beta, beta_state, j, x, height_m + cover_m, tx_m, 500.0 / BETA_RADIUS_KM)
    if wanted.zones:
        zones = pass_zone(zones, x, zone)
    return Seen(
        follow(seen.trail, x, height_m),
        see(plain, seen.plain, j, x, height_m, tx_m, 0.0),
        see(bent, seen.bent, j, x, height_m, tx_m, curvature),
        raised_state,
        beta_state,
        zones,
    )


@inner_kernel
def _median_path(
    raised: FloatArray,
    seen: Seen,
    wanted: Wanted,
    step_km: float,
    ends: Terminals,
    smooth: SmoothHeights,
    horizons: Horizons,
    curvature: float,
    floor: float,
) -> PathSummary:
    """Return the diffraction summary for the median radius; without cover the horizons have its slopes."""
    samples = seen.trail.samples
    if not wanted.median:
        return _not_priced(ends, smooth)
    if wanted.cover:
        return diffraction_summary(raised, seen.raised, samples, step_km, ends, smooth, curvature, floor)
    tx_slope = tx_slope_seen(seen.bent, ends.distance_km, curvature)
    return with_smooth_profile(
        tx_slope, horizons.rx_slope, horizons.fresnel, samples, step_km, ends, smooth, curvature, floor
    )


@inner_kernel
def _beta_path(
    beta: FloatArray,
    seen: Seen,
    wanted: Wanted,
    step_km: float,
    ends: Terminals,
    smooth: SmoothHeights,
    floor: float,
) -> PathSummary:
    """Return the diffraction summary for aβ."""
    if not wanted.beta:
        return _not_priced(ends, smooth)
    return diffraction_summary(
        beta, seen.beta, seen.trail.samples, step_km, ends, smooth, 500.0 / BETA_RADIUS_KM, floor
    )


@inner_kernel
def _with_roughness(
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


@inner_kernel
def _zones_at(ground: Ground, zone_cells: npt.NDArray[np.uint8], row: float, column: float) -> int:
    """Return the zone at a place of the study grid: inland where none are given."""
    if zone_cells.size == 0:
        return INLAND
    return int(nearest(ground, zone_cells, row, column))


@inner_kernel
def _look_ahead(
    ground: Ground,
    around: Surroundings,
    row: float,
    column: float,
    row_step: float,
    column_step: float,
    ahead: FloatArray,
) -> None:
    """Fill the rows of ``ahead`` (3, n) with the next heights, cover and zones along a ray.

    Unknown cover (NaN) makes the ground unknown, as a void does.
    """
    ground_along(ground, row, column, row_step, column_step, ahead[0])
    if around.cover.size > 0:
        nearest_along(ground, around.cover, row, column, row_step, column_step, ahead[1])
        for k in range(ahead.shape[1]):
            if math.isnan(ahead[1, k]):
                ahead[0, k] = math.nan
    if around.zones.size > 0:
        nearest_along(ground, around.zones, row, column, row_step, column_step, ahead[2])


@kernel
def sweep_rays_p1812(
    ground: Ground,
    heights_m: FloatArray,
    course: Course,
    first_ray: int,
    last_ray: int,
    around: Surroundings,
    air: P1812Conditions,
    services: Services,
    loss_db: FloatArray,
) -> None:
    """Fill ``loss_db`` (services, cells or targets) for what lies along some rays.

    ``heights_m`` (rows, columns) of the cells. What lies behind a void of the terrain on its ray is left as
    it was.
    """
    rows, columns = heights_m.shape
    curvature = 500.0 / air.median_radius_km
    tx_ground_m = around.tx_ground_m
    tx_m = tx_ground_m + around.tx_above_ground_m
    zone_cells = around.zones
    wanted = Wanted(
        air.time_percent > air.least_incidence_percent,
        air.time_percent < 50.0,
        around.cover.size > 0,
        zone_cells.size > 0,
    )
    floor = fresnel_floor(np.max(services.wavelength_m))
    samples = most_samples(course, rows, columns)
    plain, bent, beta = new_skyline(samples), new_skyline(samples), new_skyline(samples)
    raised = new_skyline(samples if wanted.cover else 1)
    ahead = np.zeros((3, AHEAD))
    step_km = course.step_m / 1000.0
    first_cell, cell_order, targets = course.first_cell, course.cell_order, course.targets
    tx_zone = _zones_at(ground, zone_cells, course.origin_row, course.origin_column)
    nothing = empty_state()
    for ray in range(first_ray, last_ray):
        cell_km, row_step, column_step = ray_steps(course, ray)
        seen = Seen(new_trail(tx_ground_m), nothing, nothing, nothing, nothing, start_zones(tx_zone))
        for place in range(first_cell[ray], first_cell[ray + 1]):
            cell = cell_order[place]
            cell_row, cell_column, cell_m = place_priced(course, targets, heights_m, cell)
            d = cell_distance_km(course, cell_row, cell_column, cell_km)
            while (seen.trail.samples + 1 + CLEARANCE) * step_km <= d:
                j = seen.trail.samples
                k = j % AHEAD
                if k == 0:
                    row, column = course.origin_row + j * row_step, course.origin_column + j * column_step
                    _look_ahead(ground, around, row, column, row_step, column_step, ahead)
                seen = _look(
                    plain, bent, raised, beta, seen, wanted, (j + 1) * step_km,
                    ahead[0, k], ahead[1, k], int(ahead[2, k]), tx_m, curvature,
                )  # fmt: skip
            if math.isnan(seen.trail.v1):
                break
            rx_m = cell_m + around.rx_above_ground_m
            ends = Terminals(max(d, SHORTEST_KM), tx_ground_m, cell_m, tx_m, rx_m)
            smooth = smooth_heights(seen.trail, plain, seen.plain, ends)
            horizons = horizons_seen(bent, seen.bent, seen.trail.samples, step_km, ends, curvature)
            zones = all_inland(ends.distance_km)
            if wanted.zones:
                rx_zone = _zones_at(ground, zone_cells, cell_row, cell_column)
                zones = zones_of_path(seen.zones, ends.distance_km, rx_zone)
            summary = _summary(
                _median_path(raised, seen, wanted, step_km, ends, smooth, horizons, curvature, floor),
                _beta_path(beta, seen, wanted, step_km, ends, smooth, floor),
                ends, smooth, horizons, step_km, math.nan, zones,
            )  # fmt: skip
            for service in range(loss_db.shape[0]):
                conditions = _for_service(air, services, service)
                begun = begin_loss(summary, conditions)
                if begun.ducting_counts and math.isnan(summary.roughness_m):
                    summary = _with_roughness(summary, plain, seen.plain, horizons, step_km)
                loss_db[service, cell] = finish_loss_db(summary, conditions, begun)
