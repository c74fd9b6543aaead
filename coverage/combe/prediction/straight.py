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
from combe.decibels import FloatArray
from combe.geodesy import ellipsoid
from combe.prediction.area import Area
from combe.prediction.pricing import SHORTEST_KM
from combe.prediction.rays import origin_on_ground
from combe.stations import Station
from combe.terrain import (
    Block,
    Ground,
    StudyGrid,
    bilinear,
    cell_value,
    height_at,
    raster_place,
    to_lonlat_deg,
)

IntArray = npt.NDArray[np.int64]

_ARM_M = 1000.0
_LEAST_STEPS = 4


class Places(NamedTuple):
    """Cells of a study grid, each array of shape (n,).

    ``row``, ``column`` [cells]; the same in the raster's cells; ground [m] under the cell's centre; ``scale``
    ground distance over grid distance; ``north_deg`` true bearing of the grid's upward direction; latitude.
    """

    row: FloatArray
    column: FloatArray
    raster_row: FloatArray
    raster_column: FloatArray
    ground_m: FloatArray
    scale: FloatArray
    north_deg: FloatArray
    latitude_deg: FloatArray


class Aerials(NamedTuple):
    """Aerials above the ground [m] at the beginning and at the end of every way."""

    p_above_m: float
    q_above_m: float


class Way(NamedTuple):
    """From place i of ``p`` to place j of ``q``, in so many equal steps."""

    p: Places
    i: int
    q: Places
    j: int
    steps: int


class Line(NamedTuple):
    """A way over the raster in its cells; ``inside`` tells that it stays off the last row and column."""

    raster: Block
    row: float
    column: float
    down: float
    right: float
    steps: int
    inside: bool


def places_of(area: Area, cells: npt.ArrayLike) -> Places:
    """Return the centres of grid cells, given by flat index (n,), as places.

    A cell on a void has NaN for its ground.
    """
    flat = np.asarray(cells, dtype=np.int64)
    row, column = (each.astype(np.float64) for each in np.divmod(flat, area.grid.columns))
    ground_m = area.heights_m.ravel()[flat]
    return _places(area, row, column, np.asarray(ground_m, dtype=np.float64))


def place_of_station(area: Area, station: Station) -> Places:
    """Return the place of a station, on the grid or beyond it where the ground was read.

    Raises
    ------
    TerrainGapError, RangeError
        For a station on a void, or beyond the ground that was read.
    """
    where = station.longitude_deg, station.latitude_deg
    what = f"station {station.name}"
    ground_m = height_at(area.terrain, *where, what)
    row, column = origin_on_ground(area, *where, what)
    here = (np.array([value], dtype=np.float64) for value in (row, column, ground_m))
    return _places(area, *here)


def _places(area: Area, row: FloatArray, column: FloatArray, ground_m: FloatArray) -> Places:
    raster_row, raster_column = np.empty(row.size), np.empty(row.size)
    _fill_raster_places(area.ground, row, column, raster_row, raster_column)
    local = _local_grid(area.grid, row, column)
    return Places(row, column, raster_row, raster_column, ground_m, *local)


@kernel
def _fill_raster_places(
    ground: Ground, row: FloatArray, column: FloatArray, raster_row: FloatArray, raster_column: FloatArray
) -> None:
    for i in range(row.size):
        raster_row[i], raster_column[i] = raster_place(ground, row[i], column[i])


def _local_grid(
    grid: StudyGrid, row: FloatArray, column: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return scale, true bearing of the grid's upward direction, from a kilometre upwards, and latitude."""
    x = grid.west_m + (column + 0.5) * grid.cell_size_m
    y = grid.north_m - (row + 0.5) * grid.cell_size_m
    lon, lat = to_lonlat_deg(grid, x, y)
    lon_up, lat_up = to_lonlat_deg(grid, x, y + _ARM_M)
    azimuth, _, length_m = ellipsoid().inv(lon, lat, lon_up, lat_up)
    return np.asarray(length_m) / _ARM_M, np.asarray(azimuth) % 360.0, np.asarray(lat)


@inner_kernel
def apart_km(p: Places, i: int, q: Places, j: int, cell_km: float) -> float:
    """Return the ground distance [km] between place i of ``p`` and place j of ``q``."""
    north, east = q.row[j] - p.row[i], q.column[j] - p.column[i]
    # The mean of both ends' scales is that of a transverse Mercator way, but for terms far under a metre.
    scale = 0.5 * (p.scale[i] + q.scale[j])
    distance_km: float = math.sqrt(north * north + east * east) * cell_km * scale
    return max(distance_km, SHORTEST_KM)


@inner_kernel
def true_bearing_deg(p: Places, i: int, q: Places, j: int) -> float:
    """Return the true bearing [degrees, 0 to under 360] from place i of ``p`` to place j of ``q``."""
    angle = math.degrees(math.atan2(q.column[j] - p.column[i], p.row[i] - q.row[j])) + p.north_deg[i]
    turned = angle - 360.0 * math.floor(angle / 360.0)
    # A hair under 0 degrees rounds to 360 on the way.
    return 0.0 if turned >= 360.0 else turned


@inner_kernel
def steps_between(distance_km: float, step_km: float) -> int:
    """Return how many steps a path is divided into: none longer than ``step_km``, at least four.

    P.1812 asks for five points.
    """
    # P.1812 asks for five points, which four steps have.
    return max(math.ceil(distance_km / step_km), _LEAST_STEPS)


@inner_kernel
def line_of(way: Way, raster: Block) -> Line:
    """Return a way in the cells of a raster."""
    row, column = way.p.raster_row[way.i], way.p.raster_column[way.i]
    end_row, end_column = way.q.raster_row[way.j], way.q.raster_column[way.j]
    down, right = (end_row - row) / way.steps, (end_column - column) / way.steps
    inside = min(row, end_row) >= 0.0 and min(column, end_column) >= 0.0
    # A hair more than one cell off, so that rounding along the way cannot reach the last row.
    inside = inside and max(row, end_row) < raster.shape[0] - 1.001
    inside = inside and max(column, end_column) < raster.shape[1] - 1.001
    return Line(raster, row, column, down, right, way.steps, inside)


@inner_kernel
def height_on(line: Line, n: float) -> float:
    """Return the ground [m] under step n of a way: ``bilinear``, without its checks where none can fail."""
    row, column = line.row + n * line.down, line.column + n * line.right
    if not line.inside:
        return bilinear(line.raster, row, column)
    top, left = int(row), int(column)
    down, right = row - top, column - left
    # On a node its neighbour has no weight, and must not be looked at: it may be a void.
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
def nearest_on(way: Way, cells: npt.NDArray[Any], finer: int, share: float, beyond: float) -> float:
    """Return the value of the cell nearest to a way at a share of it; ``beyond`` outside.

    ``cells`` has ``finer`` times the rows and columns of the raster.
    """
    row, column = way.p.raster_row[way.i], way.p.raster_column[way.i]
    at_row = row + share * (way.q.raster_row[way.j] - row) + 0.5
    at_column = column + share * (way.q.raster_column[way.j] - column) + 0.5
    value = cell_value(cells, at_row * finer, at_column * finer)
    return beyond if math.isnan(value) else value
