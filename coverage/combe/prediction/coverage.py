"""Coverage of a station: the sweep over the study grid, turned into a field map for each service."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import field_from_loss_dbuv_m
from combe.prediction.conditions import Conditions, describe
from combe.prediction.field_map import FieldMap
from combe.prediction.ray_course import Course
from combe.prediction.rays import Rays, lay_rays
from combe.prediction.sweep import SweepConditions, sweep_rays
from combe.stations.transmitter import Station, erp_towards_dbw
from combe.terrain.grid import StudyGrid, grid_heights
from combe.terrain.ground import Ground, ground_under
from combe.terrain.sampling import height_at
from combe.terrain.tiles import Terrain

FloatArray = npt.NDArray[np.float64]
Progress = Callable[[float], None]

DENSEST_RAYS: Final = 2.5
"""Rays per cell at the rim where a raster finer than the grid asks for more than one."""


@dataclass(frozen=True)
class Area:
    """A study grid with its terrain, shared by the sweeps of all stations."""

    terrain: Terrain
    grid: StudyGrid
    heights_m: FloatArray
    """Ground [m] at the cell centres, shape (rows, columns); NaN at voids."""
    ground: Ground
    """The terrain in its own cells, which the rays sample."""
    step_m: float
    """Distance between two samples of a ray: a raster cell, but not under a quarter of a grid cell."""


def survey_area(terrain: Terrain, grid: StudyGrid) -> Area:
    """Return the study grid with its terrain, read once.

    Raises
    ------
    RasterError
        A tile that can no longer be read.
    """
    step_m = max(terrain.cell_size_m, grid.cell_size_m / 4.0)
    return Area(terrain, grid, grid_heights(terrain, grid), ground_under(terrain, grid), step_m)


def sweep_losses(
    area: Area,
    rays: Rays,
    frequencies_mhz: list[float],
    conditions: SweepConditions,
    *,
    threads: int | None = None,
    progress: Progress | None = None,
) -> FloatArray:
    """Return basic transmission losses [dB], shape (services, rows, columns); NaN without prediction.

    ``progress`` is told the share done, 0 to 1, from this thread.
    """
    workers = threads or os.cpu_count() or 1
    course = course_of(area, rays)
    frequencies = np.array(frequencies_mhz, dtype=np.float64)
    losses = np.full((frequencies.size, area.heights_m.size), np.nan)
    with ThreadPoolExecutor(workers) as pool:
        jobs = [
            pool.submit(
                sweep_rays,
                area.ground,
                area.heights_m,
                course,
                first,
                last,
                conditions,
                frequencies,
                losses,
            )
            for first, last in _equal_shares(rays, workers * 8)
        ]
        for done, job in enumerate(jobs, start=1):
            job.result()
            if progress:
                progress(done / len(jobs))
    return losses.reshape(frequencies.size, *area.heights_m.shape)


def course_of(area: Area, rays: Rays) -> Course:
    """Return the rays as kernels take them."""
    return Course(
        area.grid.cell_size_m,
        area.step_m,
        rays.origin_row,
        rays.origin_column,
        rays.scale,
        rays.first_cell,
        rays.cell_order,
    )


def _equal_shares(rays: Rays, shares: int) -> list[tuple[int, int]]:
    """Split the rays into blocks that hold about the same number of cells."""
    marks = np.linspace(0, rays.cell_order.size, shares + 1)
    edges = np.unique(np.searchsorted(rays.first_cell, marks))
    edges[0], edges[-1] = 0, rays.count
    return [(int(a), int(b)) for a, b in pairwise(edges)]


def predict_coverage(
    area: Area,
    station: Station,
    *,
    conditions: Conditions | None = None,
    rx_height_m: float = 10.0,
    threads: int | None = None,
    progress: Progress | None = None,
) -> list[FieldMap]:
    """Return a field map for each service of a station, in their order.

    Parameters
    ----------
    area
        Study grid and the terrain under it; made once by :func:`survey_area`.
    station
        The transmitter; its aerial pattern and ERP are used towards every cell.
    conditions
        Model and air.
    rx_height_m
        Receiving aerial above ground [m].
    threads
        Threads to use; all cores if not given. The result does not depend on it.
    progress
        Called with the share done.

    Raises
    ------
    RangeError, TerrainGapError
        For a station outside the grid, or on a void of the terrain.
    """
    conditions = conditions or Conditions()
    started = time.perf_counter()
    workers = threads or os.cpu_count() or 1
    rays = lay_rays(
        area.grid,
        area.heights_m,
        station.longitude_deg,
        station.latitude_deg,
        density=min(max(2.0 * area.grid.cell_size_m / area.step_m, 1.0), DENSEST_RAYS),
        threads=workers,
    )
    sweep = SweepConditions(
        height_at(area.terrain, station.longitude_deg, station.latitude_deg, f"station {station.name}"),
        float(station.aerial_height_m),
        float(rx_height_m),
        float(conditions.effective_radius_km),
        station.polarization == "vertical",
        float(conditions.sea_fraction),
        conditions.model != "free-space",
    )
    frequencies = [service.frequency_mhz for service in station.services]
    losses = sweep_losses(area, rays, frequencies, sweep, threads=workers, progress=progress)
    elapsed = time.perf_counter() - started
    bearing, elevation = cell_directions(area.heights_m, area.grid, rays, sweep)
    maps = []
    for service, loss in zip(station.services, losses, strict=True):
        erp = erp_towards_dbw(station, service, bearing, elevation)
        field = field_from_loss_dbuv_m(erp, loss, service.frequency_mhz).astype(np.float32)
        maps.append(
            FieldMap(
                station=station.name,
                service=service.name,
                channel=service.channel,
                frequency_mhz=service.frequency_mhz,
                grid=area.grid,
                field_dbuv_m=field,
                receive_height_m=rx_height_m,
                sweep_s=elapsed,
                provenance=describe(conditions),
            )
        )
    return maps


def cell_directions(
    heights_m: FloatArray, grid: StudyGrid, rays: Rays, sweep: SweepConditions
) -> tuple[FloatArray, FloatArray]:
    """Return (true bearing, elevation) [degrees] from the station to every cell, each (rows, columns)."""
    north = rays.origin_row - np.arange(grid.rows)[:, None]
    east = np.arange(grid.columns)[None, :] - rays.origin_column
    ray = np.maximum(rays.ray_of_cell, 0)
    grid_bearing = np.degrees(np.arctan2(east, north))
    turn = rays.azimuth_deg - np.arange(rays.count) * (360.0 / rays.count)
    bearing = (grid_bearing + turn[ray]) % 360.0
    distance_m = np.maximum(np.hypot(north, east) * grid.cell_size_m * rays.scale[ray], 1.0)
    tx_m = sweep.tx_ground_m + sweep.tx_above_ground_m
    rise_m = heights_m + sweep.rx_above_ground_m - tx_m - distance_m**2 / (2000.0 * sweep.radius_km)
    return bearing, np.degrees(np.arctan2(rise_m, distance_m))
