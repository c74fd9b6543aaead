"""The course of a ray over the study grid: its steps, its reach, and the nearness of samples to cells."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel

AHEAD = 16
"""Samples of the ground that a ray takes at a time."""

CLEARANCE = 0.5
"""Steps before a cell within which a ray's sample is not an obstacle of its own."""

SHORTEST_KM = 0.01
"""Horizontal distance below which a cell is priced as if it were this far."""

NO_LOSS_PARAMETER = -0.78
"""ν below which a knife edge costs nothing (P.526-16 §4.1)."""


class Course(NamedTuple):
    """Rays of a station as kernels take them: see :class:`combe.prediction.rays.Rays`."""

    cell_size_m: float
    step_m: float
    """Ground distance between two samples."""
    origin_row: float
    origin_column: float
    columns: int
    """Columns of the grid."""
    scale: npt.NDArray[np.float64]
    first_cell: npt.NDArray[np.int64]
    cell_order: npt.NDArray[np.int32]
    targets: npt.NDArray[np.float64]
    """Rows, columns and heights [m] of the targets, shape (3, n); (3, 0) where all cells are priced."""


@inner_kernel
def ray_steps(course: Course, ray: int) -> tuple[float, float, float]:
    """Return the ground length [km] of a cell along a ray, and its rows and columns a sample."""
    angle = 2.0 * math.pi * ray / course.scale.size
    cell_m = course.cell_size_m * course.scale[ray]
    return (
        cell_m / 1000.0,
        -math.cos(angle) * course.step_m / cell_m,
        math.sin(angle) * course.step_m / cell_m,
    )


@inner_kernel
def place_priced(
    course: Course, targets: npt.NDArray[np.float64], heights_m: npt.NDArray[np.float64], index: int
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


@kernel
def most_samples(course: Course, heights_m: npt.NDArray[np.float64], first_ray: int, last_ray: int) -> int:
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
