"""Contour lines of the ground: heights of even steps, no line where the ground is not known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from combe.decibels import FloatArray
from combe.terrain.grid import StudyGrid, cell_centres_m

INTERVALS_M: Final = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
"""Steps of maps' contour lines; finer ones would follow the noise of open elevation (common practice)."""

WANTED_LEVELS: Final = 12
"""So many lines tell a valley and do not hide it."""

INDEX_EVERY: Final = 5
"""Each fifth line bears its height."""

MOST_CORNERS: Final = 60_000
_MOST_CELLS_A_SIDE: Final = 800
_DETAIL_CELLS: Final = 0.4
_LEAST_CELLS: Final = 14.0
"""Shorter rings are single hummocks of a few cells; they are left out."""


@dataclass(frozen=True)
class Contour:
    """The lines (n, 2) [m of the grid's CRS] at one height [m]; ``index`` ones bear their height."""

    height_m: float
    index: bool
    lines: tuple[FloatArray, ...]


@dataclass(frozen=True)
class Contours:
    """The contour lines of a grid, the lowest first, ``interval_m`` apart."""

    interval_m: float
    levels: tuple[Contour, ...]


def contours(
    heights_m: FloatArray,
    grid: StudyGrid,
    *,
    interval_m: float | None = None,
    most_corners: int = MOST_CORNERS,
) -> Contours:
    """Return the contour lines of the ground under a grid.

    Parameters
    ----------
    heights_m
        (rows, columns) as the grid's; NaN where the ground is not known, and no line there.
    interval_m
        Step between lines; the one of :data:`INTERVALS_M` that gives about a dozen unless told.
    most_corners
        How fine the lines may be in all; they are simplified until they keep to it.
    """
    step = max(1, math.ceil(max(grid.rows, grid.columns) / _MOST_CELLS_A_SIDE))
    x_m, y_m, thinned = _thinned(heights_m, grid, step)
    known = thinned[np.isfinite(thinned)]
    if known.size == 0 or min(thinned.shape) < 2:
        return Contours(interval_m or INTERVALS_M[0], ())
    low, high = float(known.min()), float(known.max())
    interval = interval_m or _interval(*np.percentile(known, (0.5, 99.5)).tolist())
    numbers = range(math.floor(low / interval) + 1, math.ceil(high / interval))
    lines = _traced(x_m, y_m, thinned, [number * interval for number in numbers])
    cell_m = grid.cell_size_m * step
    simple = _simplified(lines, cell_m, most_corners)
    return Contours(
        interval,
        tuple(
            Contour(number * interval, number % INDEX_EVERY == 0, each)
            for number, each in zip(numbers, simple, strict=True)
            if each
        ),
    )


def _interval(low_m: float, high_m: float) -> float:
    """Return the step whose number of lines is nearest, as a ratio, to the wanted one."""
    wanted_m = max(high_m - low_m, 1.0) / WANTED_LEVELS
    return min(INTERVALS_M, key=lambda step_m: abs(math.log(step_m / wanted_m)))


def _thinned(heights_m: FloatArray, grid: StudyGrid, step: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return x, y and the mean height of square blocks of cells; NaN where any of them is not known."""
    x_m, y_m = cell_centres_m(grid)
    if step == 1:
        return x_m, y_m, np.asarray(heights_m, dtype=np.float64)
    rows, columns = grid.rows // step, grid.columns // step
    blocks = np.asarray(heights_m, dtype=np.float64)[: rows * step, : columns * step]
    mean: FloatArray = blocks.reshape(rows, step, columns, step).mean(axis=(1, 3))
    return (
        x_m[: columns * step].reshape(columns, step).mean(axis=1),
        y_m[: rows * step].reshape(rows, step).mean(axis=1),
        mean,
    )


def _traced(
    x_m: FloatArray, y_m: FloatArray, heights_m: FloatArray, levels_m: list[float]
) -> list[list[FloatArray]]:
    """Return the lines of each level, by marching squares; squares with an unknown corner have none."""
    from contourpy import LineType, contour_generator

    traced = contour_generator(
        x_m, y_m, np.ma.masked_invalid(heights_m), corner_mask=False, line_type=LineType.Separate
    )
    return [[np.asarray(line) for line in traced.lines(level_m)] for level_m in levels_m]


def _simplified(
    levels: list[list[FloatArray]], cell_m: float, most_corners: int
) -> list[tuple[FloatArray, ...]]:
    """Return the lines without hummocks, as fine as the cells, or coarser where corners are too many."""
    shapes = [[shapely.LineString(line) for line in lines] for lines in levels]
    shapes = [[line for line in lines if line.length >= _LEAST_CELLS * cell_m] for lines in shapes]
    tolerance_m = _DETAIL_CELLS * cell_m
    while True:
        found = [
            tuple(shapely.get_coordinates(line.simplify(tolerance_m)) for line in lines) for lines in shapes
        ]
        if sum(len(line) for lines in found for line in lines) <= most_corners:
            return found
        tolerance_m *= 1.5
        shapes = [[line for line in lines if line.length >= 10.0 * tolerance_m] for lines in shapes]
