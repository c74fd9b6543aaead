"""Areas and stations for tests of the prediction."""

from functools import cache

import numpy as np

from combe.compiling import kernel
from combe.prediction.area import Area, survey_area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import p526_job, sweep_losses
from combe.prediction.pricing import SHORTEST_KM
from combe.prediction.rays import AHEAD, CLEARANCE, Rays, lay_rays
from combe.prediction.sweep import SweepConditions
from combe.stations.transmitter import Service, Station
from combe.terrain.clutter import COVER_STEP_M, cover_parts
from combe.terrain.grid import StudyGrid, make_grid
from combe.terrain.ground import Ground, ground_along, highest_along, nearest, nearest_along, raster_place
from combe.terrain.samples import sample_folder
from combe.terrain.sampling import bilinear
from combe.terrain.tiles import open_terrain

EAST = (-84.12, 36.70)
RIDGE = (-84.26, 36.60)


@cache
def sample_area(cell_size_m: float = 90.0) -> Area:
    terrain = open_terrain([sample_folder() / "ridges_srtm3.tif"], vertical_datum="EGM96")
    return survey_area(terrain, make_grid(terrain, cell_size_m=cell_size_m))


def flat_area(height_m: float = 100.0, size: int = 120, cell_size_m: float = 100.0) -> Area:
    """Return a square of level ground in UTM zone 16, whose raster is the study grid itself."""
    terrain = sample_area().terrain
    grid = StudyGrid(sample_area().grid.crs, 730_000.0, 4_060_000.0, cell_size_m, size, size)
    heights = np.full((size, size), height_m)
    nodes = (np.arange(-1, size // 16 + 3) * 16).astype(float)
    column_at, row_at = np.meshgrid(nodes, nodes)
    return Area(terrain, grid, heights, Ground(heights, row_at, column_at, 16.0), cell_size_m)


def station(place=EAST, *, erp_w=1000.0, frequencies_mhz=(474.0,), **changes) -> Station:
    services = tuple(
        Service(name=f"service {k}", channel=21 + k, frequency_mhz=f, erp_w=erp_w)
        for k, f in enumerate(frequencies_mhz)
    )
    values = {
        "name": "Test",
        "role": "parent",
        "longitude_deg": place[0],
        "latitude_deg": place[1],
        "aerial_height_m": 40.0,
        "polarization": "horizontal",
        "services": services,
    }
    return Station(**(values | changes))


def sweep_conditions(ground_m: float, conditions: Conditions | None = None, **changes) -> SweepConditions:
    conditions = conditions or Conditions()
    values = {
        "tx_ground_m": ground_m,
        "tx_above_ground_m": 40.0,
        "rx_above_ground_m": 10.0,
        "radius_km": conditions.effective_radius_km,
        "vertical": False,
        "sea_fraction": 0.0,
        "diffraction": True,
    }
    return SweepConditions(**(values | changes))


def rays_over(area: Area, place=EAST, density: float = 1.0) -> Rays:
    return lay_rays(area, *place, density=density, threads=2)


def p526_losses(area: Area, rays: Rays, frequencies_mhz, sweep: SweepConditions, **options) -> np.ndarray:
    """Return basic losses (services, rows, columns) of free space and delta-Bullington."""
    job = p526_job(area, rays, frequencies_mhz, sweep)
    return sweep_losses(area, rays, len(frequencies_mhz), job, **options)


def ray_profile(area: Area, rays: Rays, cell: int, ground_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the profile (km, m) that the sweep uses for one cell: the ray's own samples, then the cell."""
    row, column = divmod(cell, area.grid.columns)
    ray = int(rays.ray_of_cell[row, column])
    angle = 2.0 * np.pi * ray / rays.count
    cell_km = area.grid.cell_size_m * rays.scale[ray] / 1000.0
    step_km = area.step_m / 1000.0
    d = cell_km * np.hypot(row - rays.origin_row, column - rays.origin_column)
    row_step, column_step = -np.cos(angle) * step_km / cell_km, np.sin(angle) * step_km / cell_km
    count = 0
    while (count + 1 + CLEARANCE) * step_km <= d:
        count += 1
    ahead, heights = np.empty(AHEAD), [ground_m]
    for j in range(0, count, AHEAD):
        row0, column0 = rays.origin_row + j * row_step, rays.origin_column + j * column_step
        ground_along(area.ground, row0, column0, row_step, column_step, ahead)
        heights.extend(ahead)
    distance = np.append(np.arange(count + 1) * step_km, max(d, SHORTEST_KM))
    return distance, np.append(heights[: count + 1], area.heights_m[row, column])


def covered_tops(area: Area, rays: Rays, cell: int, ground_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return where (km) the sweep has edges of ground with cover on the way to a cell, and their tops (m).

    Cover is looked at every 9 m as far as a step and a half from the station, and from the last stretch that
    lies a step before the cell on; between, each sample bears the highest of its own stretch.
    """
    row, column = divmod(cell, area.grid.columns)
    angle = 2.0 * np.pi * int(rays.ray_of_cell[row, column]) / rays.count
    cell_km = area.grid.cell_size_m * rays.scale[int(rays.ray_of_cell[row, column])] / 1000.0
    step_km, fine_km = area.step_m / 1000.0, min(area.step_m, COVER_STEP_M) / 1000.0
    distance, height = ray_profile(area, rays, cell, ground_m)
    d, samples, origin = distance[-1], distance.size - 2, np.array([rays.origin_row, rays.origin_column])
    step = np.array([-np.cos(angle), np.sin(angle)]) * step_km / cell_km
    highest, ahead = [], np.empty(AHEAD)
    for j in range(0, samples, AHEAD):
        highest_along(area.ground, area.cover, *(origin + j * step), *step, cover_parts(area.step_m), ahead)
        highest.extend(ahead)
    back = (origin - np.array([row, column])) * fine_km / d
    if samples < 2:
        return _edges(area, (row, column), back, fine_km, d, 0.0, d)
    middle = np.arange(1, samples) * step_km, height[1:samples] + np.array([0.0, *highest[1 : samples - 1]])
    near = _edges(area, origin, step * fine_km / step_km, fine_km, 0.0, 0.0, 1.5 * step_km + 1e-12)
    far = _edges(area, (row, column), back, fine_km, d, (samples - 0.5) * step_km, d)
    return tuple(np.concatenate(parts) for parts in zip(near, middle, far, strict=True))


def _edges(area: Area, place, step, fine_km: float, start_km: float, first_km: float, last_km: float):
    """Return distances and tops every 9 m from a place, between two distances."""
    sign = -1.0 if start_km > 0.0 else 1.0
    distance = start_km + sign * fine_km * np.arange(1, 400)
    distance = distance[(distance > first_km + 1e-9) & (distance <= last_km)]
    ground, cover = np.empty(distance.size), np.empty(distance.size)
    if distance.size:
        ground_along(area.ground, *place, *step, ground)
        nearest_along(area.ground, area.cover, *place, *step, cover)
    return distance, ground + cover


def ray_values(area: Area, rays: Rays, cell: int, cells: np.ndarray, empty: float) -> np.ndarray:
    """Return cover or zones at the points of :func:`ray_profile`, ``empty`` where the area has none."""
    row, column = divmod(cell, area.grid.columns)
    ray = int(rays.ray_of_cell[row, column])
    angle = 2.0 * np.pi * ray / rays.count
    cell_km = area.grid.cell_size_m * rays.scale[ray] / 1000.0
    step_km = area.step_m / 1000.0
    d = cell_km * np.hypot(row - rays.origin_row, column - rays.origin_column)
    count = 0
    while (count + 1 + CLEARANCE) * step_km <= d:
        count += 1
    if cells.size == 0:
        return np.full(count + 2, empty)
    row_step, column_step = -np.cos(angle) * step_km / cell_km, np.sin(angle) * step_km / cell_km
    ahead = np.empty(AHEAD)
    values = [nearest(area.ground, cells, rays.origin_row, rays.origin_column)]
    for j in range(0, count, AHEAD):
        row0, column0 = rays.origin_row + j * row_step, rays.origin_column + j * column_step
        nearest_along(area.ground, cells, row0, column0, row_step, column_step, ahead)
        values.extend(ahead)
    return np.append(values[: count + 1], nearest(area.ground, cells, float(row), float(column)))


@kernel
def ground_height(ground: Ground, row: float, column: float) -> float:
    """Return the height [m] at a place of the study grid [cells, 0 at the first centre]; NaN at voids."""
    raster_row, raster_column = raster_place(ground, row, column)
    return bilinear(ground.heights, raster_row, raster_column)
