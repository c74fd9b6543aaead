"""The straight way between two places of a study grid: the places as kernels take them, the ground between.

Siting prices millions of pairs of places. The ground between two places is sampled in the raster's own cells
at equal steps, no longer than a raster cell; the ends stand on their own ground.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.geodesy import ellipsoid
from combe.prediction.area import Area
from combe.terrain.blocks import Block
from combe.terrain.grid import StudyGrid, to_lonlat_deg
from combe.terrain.ground import Ground, cell_value, raster_place
from combe.terrain.sampling import bilinear

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SHORTEST_KM = 0.01
"""Distance below which a pair is priced as if it were this far apart."""

_ARM_M = 1000.0


class Places(NamedTuple):
    """Cells of a study grid, each array of shape (n,).

    ``row``, ``column`` [cells]; the same in the raster's cells; ground [m] under the cell's centre; ``scale``
    ground distance over grid distance; ``north_deg`` true bearing of the grid's upward direction.
    """

    row: FloatArray
    column: FloatArray
    raster_row: FloatArray
    raster_column: FloatArray
    ground_m: FloatArray
    scale: FloatArray
    north_deg: FloatArray


def places_of(area: Area, cells: npt.ArrayLike) -> Places:
    """Return the centres of grid cells, given by flat index (n,), as places.

    A cell on a void has NaN for its ground.
    """
    flat = np.asarray(cells, dtype=np.int64)
    row, column = (each.astype(np.float64) for each in np.divmod(flat, area.grid.columns))
    ground_m = area.heights_m.ravel()[flat]
    return _places(area, row, column, np.asarray(ground_m, dtype=np.float64))


def place_at(area: Area, row: float, column: float, ground_m: float) -> Places:
    """Return one place [cells of the grid, 0 at the first centre] with its own ground [m]."""
    one = (np.array([value], dtype=np.float64) for value in (row, column, ground_m))
    return _places(area, *one)


def _places(area: Area, row: FloatArray, column: FloatArray, ground_m: FloatArray) -> Places:
    raster_row, raster_column = np.empty(row.size), np.empty(row.size)
    _raster_places(area.ground, row, column, raster_row, raster_column)
    scale, north_deg = _local_grid(area.grid, row, column)
    return Places(row, column, raster_row, raster_column, ground_m, scale, north_deg)


@kernel
def _raster_places(
    ground: Ground, row: FloatArray, column: FloatArray, raster_row: FloatArray, raster_column: FloatArray
) -> None:
    for i in range(row.size):
        raster_row[i], raster_column[i] = raster_place(ground, row[i], column[i])


def _local_grid(grid: StudyGrid, row: FloatArray, column: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return scale and true bearing of the grid's upward direction at places, from a kilometre upwards."""
    x = grid.west_m + (column + 0.5) * grid.cell_size_m
    y = grid.north_m - (row + 0.5) * grid.cell_size_m
    lon, lat = to_lonlat_deg(grid, x, y)
    lon_up, lat_up = to_lonlat_deg(grid, x, y + _ARM_M)
    azimuth, _, length_m = ellipsoid().inv(lon, lat, lon_up, lat_up)
    return np.asarray(length_m) / _ARM_M, np.asarray(azimuth) % 360.0


@inner_kernel
def apart_km(a: Places, i: int, b: Places, j: int, cell_km: float) -> float:
    """Return the ground distance [km] between place i of ``a`` and place j of ``b``."""
    north, east = b.row[j] - a.row[i], b.column[j] - a.column[i]
    scale = 0.5 * (a.scale[i] + b.scale[j])
    distance_km: float = math.sqrt(north * north + east * east) * cell_km * scale
    return max(distance_km, SHORTEST_KM)


@inner_kernel
def true_bearing_deg(a: Places, i: int, b: Places, j: int) -> float:
    """Return the true bearing [degrees, 0 to under 360] from place i of ``a`` to place j of ``b``."""
    angle = math.degrees(math.atan2(b.column[j] - a.column[i], a.row[i] - b.row[j])) + a.north_deg[i]
    turned = angle - 360.0 * math.floor(angle / 360.0)
    return 0.0 if turned >= 360.0 else turned


@inner_kernel
def steps_between(distance_km: float, step_km: float) -> int:
    """Return how many steps a path is divided into: none longer than ``step_km``, at least four."""
    return max(math.ceil(distance_km / step_km), 4)


class Line(NamedTuple):
    """A straight way over the raster in equal steps; ``inside`` tells that it stays off the last cells."""

    raster: Block
    row: float
    column: float
    down: float
    right: float
    steps: int
    inside: bool


@inner_kernel
def line_between(raster: Block, a: Places, i: int, b: Places, j: int, steps: int) -> Line:
    """Return the way from place i of ``a`` to place j of ``b``."""
    down = (b.raster_row[j] - a.raster_row[i]) / steps
    right = (b.raster_column[j] - a.raster_column[i]) / steps
    low_row, high_row = min(a.raster_row[i], b.raster_row[j]), max(a.raster_row[i], b.raster_row[j])
    left, far = min(a.raster_column[i], b.raster_column[j]), max(a.raster_column[i], b.raster_column[j])
    inside = low_row >= 0.0 and left >= 0.0
    inside = inside and high_row < raster.shape[0] - 1.001 and far < raster.shape[1] - 1.001
    return Line(raster, a.raster_row[i], a.raster_column[i], down, right, steps, inside)


@inner_kernel
def height_on(line: Line, n: int) -> float:
    """Return the ground [m] under step n of a way: ``bilinear``, without its checks where none can fail."""
    row, column = line.row + n * line.down, line.column + n * line.right
    if not line.inside:
        return bilinear(line.raster, row, column)
    top, left = int(row), int(column)
    down, right = row - top, column - left
    below = top + 1 if down > 0.0 else top
    beyond = left + 1 if right > 0.0 else left
    upper: float = (1.0 - right) * line.raster[top, left] + right * line.raster[top, beyond]
    lower: float = (1.0 - right) * line.raster[below, left] + right * line.raster[below, beyond]
    return (1.0 - down) * upper + down * lower


@inner_kernel
def fill_ground(line: Line, out: FloatArray) -> None:
    """Fill all samples between the ends of a way [m]."""
    for k in range(1, line.steps):
        out[k] = height_on(line, k)


@inner_kernel
def nearest_to(
    cells: npt.NDArray[Any], finer: int, a: Places, i: int, b: Places, j: int, share: float, beyond: float
) -> float:
    """Return the value of the cell nearest to a place at a share of the way; ``beyond`` outside.

    ``cells`` has ``finer`` times the rows and columns of the raster.
    """
    row = a.raster_row[i] + share * (b.raster_row[j] - a.raster_row[i]) + 0.5
    column = a.raster_column[i] + share * (b.raster_column[j] - a.raster_column[i]) + 0.5
    value = cell_value(cells, row * finer, column * finer)
    return beyond if math.isnan(value) else value
