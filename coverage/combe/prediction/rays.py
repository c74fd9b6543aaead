"""Rays from a station over the study grid, which cells lie along each in order of distance, and its course.

Rays leave the station at equal angles, dense enough that two neighbours are at most one cell apart at the far
rim. Every cell belongs to its nearest ray, which passes within half a cell of it.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel, kernel_part
from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.geodesy import ellipsoid
from combe.prediction.area import Area
from combe.terrain import StudyGrid, ground_reach, to_cells, to_grid_m, to_lonlat_deg

IntArray = npt.NDArray[np.int32]


AHEAD = 16
"""Samples of the ground that a ray takes at a time."""

CLEARANCE = 0.5
"""Steps before a cell within which a ray's sample is not an obstacle of its own."""

NO_LOSS_PARAMETER = -0.78
"""ν below which a knife edge costs nothing (P.526-16 §4.1)."""


@dataclass(frozen=True)
class Rays:
    """Rays of one station: origin in cell indices, and arrays with one entry a ray (n,)."""

    origin_row: float
    origin_column: float
    scale: FloatArray
    """Ground distance over grid distance, along each ray."""
    azimuth_deg: FloatArray
    """True bearing at the station, degrees from north."""
    ray_of_cell: IntArray
    """Nearest ray of every cell, shape (rows, columns), or target (n,); −1 where there is no height."""
    cell_order: IntArray
    """Flat indices of the cells, or indices of the targets, by ray and then by distance."""
    first_cell: npt.NDArray[np.int64]
    """Where each ray's cells begin in ``cell_order``; shape (n + 1,)."""
    targets: FloatArray = field(default_factory=lambda: np.empty((3, 0)))
    """Rows, columns [cells] and heights [m] of targets, shape (3, n); (3, 0) where all cells are meant."""

    @property
    def priced(self) -> int:
        """Number of cells or targets."""
        return int(self.ray_of_cell.size)

    @property
    def count(self) -> int:
        """Number of rays."""
        return int(self.scale.size)


@kernel
def _nearest_rays(
    heights: FloatArray,
    first_row: int,
    last_row: int,
    origin_row: float,
    origin_column: float,
    ray_count: int,
    ray_of_cell: IntArray,
    tally: npt.NDArray[np.int64],
) -> None:
    """Fill ``ray_of_cell`` for some rows and count the cells of each ray in ``tally`` (n,)."""
    # Rays stand at equal angles of the grid, so the nearest is found by rounding.
    per_radian = ray_count / (2.0 * math.pi)
    for row in range(first_row, last_row):
        north = origin_row - row
        for column in range(heights.shape[1]):
            # A cell on a void gets no ray, so that none is walked for it.
            if math.isnan(heights[row, column]):
                ray_of_cell[row, column] = -1
                continue
            angle = math.atan2(column - origin_column, north)
            ray = math.floor(angle * per_radian + 0.5)
            if ray < 0:
                ray += ray_count
            if ray >= ray_count:
                ray -= ray_count
            ray_of_cell[row, column] = ray
            tally[ray] += 1


@kernel_part
def _outward(position: int, centre: int, size: int) -> int:
    """Return the index at place ``position`` of an order that walks outwards from ``centre``."""
    reach = min(centre, size - 1 - centre)
    if position <= 2 * reach:
        half = (position + 1) // 2
        return centre + half if position % 2 == 1 else centre - half
    return position if centre - reach == 0 else size - 1 - position


@kernel
def _fill_buckets(
    ray_of_cell: IntArray, centre_row: int, centre_column: int, cursor: npt.NDArray[np.int64], order: IntArray
) -> None:
    """Write the cells of each ray, walking outwards from the station so that they come nearly sorted."""
    rows, columns = ray_of_cell.shape
    for i in range(rows):
        row = _outward(i, centre_row, rows)
        for j in range(columns):
            column = _outward(j, centre_column, columns)
            ray = ray_of_cell[row, column]
            if ray >= 0:
                order[cursor[ray]] = row * columns + column
                cursor[ray] += 1


@kernel
def _sort_by_distance(
    order: IntArray,
    first_cell: npt.NDArray[np.int64],
    first_ray: int,
    last_ray: int,
    columns: int,
    origin_row: float,
    origin_column: float,
) -> None:
    """Put the cells of each ray in order of distance (insertion sort: they come nearly sorted)."""
    longest = 0
    for ray in range(first_ray, last_ray):
        longest = max(longest, first_cell[ray + 1] - first_cell[ray])
    keys = np.empty(longest, dtype=np.float64)
    for ray in range(first_ray, last_ray):
        start = first_cell[ray]
        for i in range(first_cell[ray + 1] - start):
            cell = order[start + i]
            north = cell // columns - origin_row
            east = cell % columns - origin_column
            # Along one ray squares of grid distance stand in the order of the distances.
            key = north * north + east * east
            j = i
            while j > 0 and keys[j - 1] > key:
                keys[j] = keys[j - 1]
                order[start + j] = order[start + j - 1]
                j -= 1
            keys[j] = key
            order[start + j] = cell


def _blocks(size: int, count: int) -> list[tuple[int, int]]:
    """Split ``range(size)`` into at most ``count`` blocks (first, last)."""
    edges = np.linspace(0, size, min(count, max(size, 1)) + 1).astype(int)
    return [(int(a), int(b)) for a, b in pairwise(edges)]


def ray_count(far_cells: float, density: float) -> int:
    """Return how many rays are laid to a rim ``far_cells`` away."""
    return max(64, math.ceil(2.0 * math.pi * far_cells * density))


def ray_geodesics(
    grid: StudyGrid, longitude_deg: float, latitude_deg: float, angle: FloatArray, far_m: float
) -> tuple[FloatArray, FloatArray]:
    """Return (scale, true bearing) of rays at grid angles (n,) [rad], from their far ends (pyproj.Geod)."""
    x_m, y_m = to_grid_m(grid, longitude_deg, latitude_deg)
    end_lon, end_lat = to_lonlat_deg(grid, x_m + far_m * np.sin(angle), y_m + far_m * np.cos(angle))
    azimuth, _, length_m = ellipsoid().inv(
        np.full(angle.size, longitude_deg), np.full(angle.size, latitude_deg), end_lon, end_lat
    )
    return np.asarray(length_m) / far_m, np.asarray(azimuth) % 360.0


def lay_rays(
    area: Area,
    longitude_deg: float,
    latitude_deg: float,
    *,
    density: float = 1.0,
    threads: int = 2,
) -> Rays:
    """Lay rays over the grid from a station and hand every cell to its nearest ray.

    Parameters
    ----------
    area
        Study grid and its ground; cells without height belong to no ray.
    longitude_deg, latitude_deg
        Place of the station; on the grid, or beyond it where the ground was read.
    density
        Rays per cell at the rim: 1 puts them one cell apart there, 2 half a cell.
    threads
        Number of threads.

    Raises
    ------
    RangeError
        For a station beyond the ground that was read.
    """
    grid, heights_m = area.grid, area.heights_m
    row, column = origin_on_ground(area, longitude_deg, latitude_deg)
    far = farthest_cells(grid, row, column) + 1.0
    count = ray_count(far, density)
    angle = np.arange(count, dtype=np.float64) * (2.0 * math.pi / count)
    scale, azimuth = ray_geodesics(grid, longitude_deg, latitude_deg, angle, far * grid.cell_size_m)
    with ThreadPoolExecutor(threads) as pool:
        ray_of_cell, tally = _assign(pool, heights_m, row, column, count, threads)
        first_cell = np.zeros(count + 1, dtype=np.int64)
        np.cumsum(tally, out=first_cell[1:])
        order = np.empty(int(first_cell[-1]), dtype=np.int32)
        # A station beyond the grid walks in from the nearest edge.
        centre_row = min(max(round(row), 0), grid.rows - 1)
        centre_column = min(max(round(column), 0), grid.columns - 1)
        _fill_buckets(ray_of_cell, centre_row, centre_column, first_cell[:-1].copy(), order)
        sorts = [
            pool.submit(_sort_by_distance, order, first_cell, a, b, grid.columns, row, column)
            for a, b in _blocks(count, threads * 4)
        ]
        for sort in sorts:
            sort.result()
    return Rays(row, column, scale, azimuth, ray_of_cell, order, first_cell)


def farthest_cells(grid: StudyGrid, row: float, column: float) -> float:
    """Return the distance [cells] from a place, on the grid or beyond it, to the farthest of its corners."""
    return max(math.hypot(a, b) for a in (row, grid.rows - row) for b in (column, grid.columns - column))


def origin_on_ground(
    area: Area, longitude_deg: float, latitude_deg: float, what: str = "the station"
) -> tuple[float, float]:
    """Return row and column [cells] of the station, which may lie beyond the grid where ground was read."""
    row, column = (float(place) for place in to_cells(area.grid, longitude_deg, latitude_deg))
    (first_row, last_row), (first_column, last_column) = ground_reach(area.ground)
    if not (first_row <= row <= last_row and first_column <= column <= last_column):
        raise RangeError(
            f"place of {what}",
            f"{longitude_deg:.5f}, {latitude_deg:.5f}",
            "on the study grid, or beyond it where ground was read",
            "widen the area of the grid or move the station",
        )
    return row, column


def _assign(
    pool: ThreadPoolExecutor, heights_m: FloatArray, row: float, column: float, count: int, threads: int
) -> tuple[IntArray, npt.NDArray[np.int64]]:
    """Return the nearest ray of every cell, and how many cells each ray has."""
    ray_of_cell = np.empty(heights_m.shape, dtype=np.int32)
    blocks = _blocks(heights_m.shape[0], threads)
    tallies = [np.zeros(count, dtype=np.int64) for _ in blocks]
    jobs = [
        pool.submit(_nearest_rays, heights_m, a, b, row, column, count, ray_of_cell, tally)
        for (a, b), tally in zip(blocks, tallies, strict=True)
    ]
    for job in jobs:
        job.result()
    total: npt.NDArray[np.int64] = np.sum(tallies, axis=0)
    return ray_of_cell, total


class Course(NamedTuple):
    """Rays of a station as kernels take them: see :class:`Rays`."""

    cell_size_m: float
    step_m: float
    """Ground distance between two samples."""
    origin_row: float
    origin_column: float
    columns: int
    """Columns of the grid."""
    scale: FloatArray
    first_cell: npt.NDArray[np.int64]
    cell_order: IntArray
    targets: FloatArray
    """Rows, columns and heights [m] of the targets, shape (3, n); (3, 0) where all cells are priced."""


def course_of(area: Area, rays: Rays) -> Course:
    """Return the rays as kernels take them."""
    return Course(
        area.grid.cell_size_m,
        area.step_m,
        rays.origin_row,
        rays.origin_column,
        area.grid.columns,
        rays.scale,
        rays.first_cell,
        rays.cell_order,
        rays.targets,
    )


@inner_kernel
def ray_steps(course: Course, ray: int) -> tuple[float, float, float]:
    """Return the ground length [km] of a cell along a ray, and its rows and columns a sample."""
    angle = 2.0 * math.pi * ray / course.scale.size
    # The grid's own scale changes slowly: one factor a ray, from the geodesic to its end.
    cell_m = course.cell_size_m * course.scale[ray]
    return (
        cell_m / 1000.0,
        -math.cos(angle) * course.step_m / cell_m,
        math.sin(angle) * course.step_m / cell_m,
    )


@inner_kernel
def place_priced(
    course: Course, targets: FloatArray, heights_m: FloatArray, index: int
) -> tuple[float, float, float]:
    """Return row, column and ground height [m] of a cell, or of a target where there are targets."""
    if targets.shape[1] > 0:
        return targets[0, index], targets[1, index], targets[2, index]
    row, column = index // course.columns, index % course.columns
    return float(row), float(column), heights_m[row, column]


@inner_kernel
def cell_distance_km(course: Course, row: float, column: float, cell_km: float) -> float:
    """Return the ground distance [km] of a cell from the station."""
    north, east = row - course.origin_row, column - course.origin_column
    return cell_km * math.sqrt(north * north + east * east)


@kernel_part
def most_samples(course: Course, heights_m: FloatArray, first_ray: int, last_ray: int) -> int:
    """Return room for the samples of any of some rays: up to the farthest place priced on them, and a few."""
    longest_km = 0.0
    for ray in range(first_ray, last_ray):
        last = course.first_cell[ray + 1] - 1
        if last >= course.first_cell[ray]:
            cell_km, _, _ = ray_steps(course, ray)
            row, column, _ = place_priced(course, course.targets, heights_m, course.cell_order[last])
            longest_km = max(longest_km, cell_distance_km(course, row, column, cell_km))
    return int(longest_km * 1000.0 / course.step_m) + 2 * AHEAD


@inner_kernel
def fresnel_floor(longest_wavelength_m: float) -> float:
    """Return the X up to which no frequency of a sweep has a knife-edge loss."""
    return NO_LOSS_PARAMETER * math.sqrt(longest_wavelength_m / 0.002)
