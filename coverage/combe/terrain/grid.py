"""Lays out the study grid: square cells in metres of a projected CRS, and their terrain heights."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import pyproj

from combe.decibels import FloatArray
from combe.errors import RangeError, TerrainGapError
from combe.geodesy import distance_km, turned
from combe.terrain.projecting import LONLAT, from_lonlat, to_lonlat, transformer
from combe.terrain.sampling import heights_at, reach
from combe.terrain.tiles import Terrain, terrain_bounds_deg

SMALLEST_CELL_M: Final = 5.0
LARGEST_CELL_M: Final = 1000.0
LARGEST_GRID_CELLS: Final = 100_000_000
LARGEST_SCALE_ERROR: Final = 0.02
"""How far a metre of the CRS may be from a metre on the ground; Web Mercator fails, every UTM zone passes."""

FARTHEST_LATITUDE_DEG: Final = 85.0
"""Web maps end here; no village lies beyond."""

Area = tuple[float, float, float, float]
"""(west, south, east, north) [degrees]."""

FARTHEST_UTM_DEG: Final = 84.0

_LEAVE_OUT: Final = "leave it out for the UTM zone of the area"
_LATITUDE_SAMPLES: Final = 21
_CELLS_AT_A_TIME: Final = 262_144


@dataclass(frozen=True)
class StudyGrid:
    """Square cells of a projected CRS; row 0 is the northernmost, column 0 the westernmost.

    ``west_m`` and ``north_m`` are the outer corner of the north-west cell, in metres of ``crs``.
    """

    crs: pyproj.CRS
    west_m: float
    north_m: float
    cell_size_m: float
    rows: int
    columns: int

    def __post_init__(self) -> None:
        _check_crs(self.crs)
        _check_cell_size(self.cell_size_m)
        if self.rows < 1 or self.columns < 1:
            raise RangeError(
                "study grid", f"{self.rows} x {self.columns} cells", "1 row and 1 column or more"
            )
        _check_count(self.rows, self.columns, self.cell_size_m)

    @property
    def crs_name(self) -> str:
        """The name of the CRS, or what it is made of where it has none."""
        return _crs_name(self.crs)


def make_grid(
    terrain: Terrain,
    *,
    cell_size_m: float,
    crs: str | None = None,
    area_deg: Area | None = None,
) -> StudyGrid:
    """Return the grid that covers an area, its edges on multiples of the cell size.

    Parameters
    ----------
    terrain
        The terrain that the area must at least touch.
    cell_size_m
        Side of a cell [m], 5 to 1000.
    crs
        A projected CRS in metres; the UTM zone (WGS 84) of the area's middle unless given.
    area_deg
        (west, south, east, north) [degrees]; all of the terrain unless given.

    Raises
    ------
    RangeError
        Cell size, CRS or area out of range, more than 100 million cells, or a grid that reaches beyond 85°.
    TerrainGapError
        The area lies outside the terrain.
    """
    _check_cell_size(cell_size_m)
    covered = terrain_bounds_deg(terrain)
    area = covered if area_deg is None else _turned(area_deg, covered)
    _check_touches(terrain, area)
    _check_latitude("latitude of the study area", max(abs(area[1]), abs(area[3])))
    system = (
        _read_crs(crs) if crs is not None else utm_crs((area[0] + area[2]) / 2.0, (area[1] + area[3]) / 2.0)
    )
    advice = _crs_advice(area)
    _check_crs(system, advice)
    _check_scale(system, area, advice)
    west, south, east, north = transformer(LONLAT, system).transform_bounds(*area)
    # Edges on multiples of the cell: neighbouring studies of one size share their cells.
    left, right = math.floor(west / cell_size_m), math.ceil(east / cell_size_m)
    bottom, top = math.floor(south / cell_size_m), math.ceil(north / cell_size_m)
    size = cell_size_m
    grid = StudyGrid(system, left * size, top * size, size, top - bottom, right - left)
    _check_latitude("latitude of the study grid", _farthest_latitude(grid))
    return grid


def utm_crs(lon_deg: float, lat_deg: float) -> pyproj.CRS:
    """Return the UTM zone (WGS 84) of a place by the plain rule of 6° zones, without regional exceptions."""
    if abs(lat_deg) > FARTHEST_UTM_DEG:
        advice = f"state one in [grid], {_own_crs(lon_deg)}"
        raise RangeError("latitude of the study area", round(lat_deg, 3), "-84 to 84 for a UTM zone", advice)
    # Longitudes that run on past 180 are brought back into one turn first; 180 itself is in zone 1.
    zone = int((lon_deg + 180.0) % 360.0 // 6.0) + 1
    return pyproj.CRS.from_epsg((32600 if lat_deg >= 0.0 else 32700) + zone)


def cell_centres_m(grid: StudyGrid) -> tuple[FloatArray, FloatArray]:
    """Return x (columns,), west to east, and y (rows,), north to south, of the cell centres [m]."""
    x: FloatArray = grid.west_m + (np.arange(grid.columns, dtype=np.float64) + 0.5) * grid.cell_size_m
    y: FloatArray = grid.north_m - (np.arange(grid.rows, dtype=np.float64) + 0.5) * grid.cell_size_m
    return x, y


def in_grid(grid: StudyGrid, x_m: FloatArray, y_m: FloatArray) -> npt.NDArray[np.bool_]:
    """Tell which places [m] of the grid's CRS lie on the grid, any shape; not those that are not finite."""
    with np.errstate(invalid="ignore"):
        row, column = (grid.north_m - y_m) / grid.cell_size_m, (x_m - grid.west_m) / grid.cell_size_m
        # Half open: a place on the border of two grids that meet lies in one of them alone.
        inside: npt.NDArray[np.bool_] = (row >= 0.0) & (row < grid.rows)
        inside &= (column >= 0.0) & (column < grid.columns)
    return inside


def to_grid_m(
    grid: StudyGrid, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return x, y [m] in the grid's CRS of places [degrees], any shape."""
    return from_lonlat(grid.crs, lon_deg, lat_deg)


def to_lonlat_deg(grid: StudyGrid, x_m: npt.ArrayLike, y_m: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return longitude and latitude [degrees] of places [m] in the grid's CRS, any shape."""
    return to_lonlat(grid.crs, x_m, y_m)


def to_cells(
    grid: StudyGrid, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return row and column [cells, whole numbers at cell centres] of places [degrees], any shape."""
    x, y = to_grid_m(grid, lon_deg, lat_deg)
    return (grid.north_m - y) / grid.cell_size_m - 0.5, (x - grid.west_m) / grid.cell_size_m - 0.5


def cells_to_lonlat_deg(
    grid: StudyGrid, row: npt.ArrayLike, column: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return longitude and latitude [degrees] of rows and columns [cells], whole numbers at centres."""
    x = grid.west_m + (np.asarray(column) + 0.5) * grid.cell_size_m
    y = grid.north_m - (np.asarray(row) + 0.5) * grid.cell_size_m
    return to_lonlat_deg(grid, x, y)


def grid_bounds_deg(grid: StudyGrid) -> tuple[float, float, float, float]:
    """Return (west, south, east, north) [degrees] of the grid's outer edge.

    West is below east always, so one of them is beyond 180° where the grid crosses the antimeridian.
    """
    # A straight edge of the grid is curved in degrees, so the extremes need not lie at its corners.
    along = np.linspace(0.0, 1.0, 21)
    x = grid.west_m + along * grid.columns * grid.cell_size_m
    y = grid.north_m - along * grid.rows * grid.cell_size_m
    across, down = np.meshgrid(x, y)
    lon, lat = to_lonlat_deg(grid, across, down)
    # Counted from one corner, within half a turn of it, a grid across 180° stays in one piece.
    lon = lon.flat[0] + (lon - lon.flat[0] + 180.0) % 360.0 - 180.0
    return float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max())


def grid_heights(terrain: Terrain, grid: StudyGrid) -> FloatArray:
    """Return the terrain heights [m] at the cell centres, shape (rows, columns), row 0 north, NaN voids."""
    x, y = cell_centres_m(grid)
    heights = np.empty((grid.rows, grid.columns))
    # A few rows at a time: places in degrees of a whole large grid would take gigabytes.
    step = max(1, _CELLS_AT_A_TIME // grid.columns)
    for first in range(0, grid.rows, step):
        across, down = np.meshgrid(x, y[first : first + step])
        lon, lat = to_lonlat(grid.crs, across, down)
        heights[first : first + step] = heights_at(terrain, lon, lat)
    return heights


def _check_cell_size(cell_size_m: float) -> None:
    if not SMALLEST_CELL_M <= cell_size_m <= LARGEST_CELL_M:
        raise RangeError("cell_size_m", cell_size_m, f"{SMALLEST_CELL_M:g} to {LARGEST_CELL_M:g}")


def _check_count(rows: int, columns: int, cell_size_m: float) -> None:
    if rows * columns > LARGEST_GRID_CELLS:
        raise RangeError(
            "study grid",
            f"{rows} x {columns} cells of {cell_size_m:g} m",
            f"up to {LARGEST_GRID_CELLS} cells",
            "take larger cells or a smaller area",
        )


def _turned(area: Area, covered: Area) -> Area:
    """Return the area in the full turn of longitude that the terrain uses, checked for order and range."""
    west, south, east, north = area
    if not (-180.0 <= west < east <= west + 360.0 and -90.0 <= south < north <= 90.0):
        raise RangeError(
            "study area", f"({west}, {south}, {east}, {north})", "west < east and south < north, in degrees"
        )
    # So many whole turns as bring the two middles nearest to one another.
    turn = 360.0 * round((covered[0] + covered[2] - west - east) / 720.0)
    return west + turn, south, east + turn, north


def _check_touches(terrain: Terrain, area: Area) -> None:
    """Raise TerrainGapError where area and terrain have no place in common."""
    west, south, east, north = terrain_bounds_deg(terrain)
    if area[2] <= west or area[0] >= east or area[3] <= south or area[1] >= north:
        place = f"the study area, longitude {area[0]:g} to {area[2]:g}, latitude {area[1]:g} to {area[3]:g}"
        raise TerrainGapError("none", place, f"{reach(terrain)}; move the area or add tiles")


def _read_crs(text: str) -> pyproj.CRS:
    try:
        return pyproj.CRS.from_user_input(text)
    except pyproj.exceptions.CRSError as fault:
        raise RangeError("crs of the study grid", text, "a known CRS such as EPSG:32616") from fault


def _crs_name(crs: pyproj.CRS) -> str:
    return crs.srs if crs.name == "unknown" else crs.name


def _own_crs(lon_deg: float) -> str:
    """Return the key of a CRS that fits a place at any latitude."""
    return f'crs = "+proj=tmerc +lon_0={float(turned(lon_deg)):.0f} +datum=WGS84 +units=m"'


def _crs_advice(area: Area) -> str:
    """Say which CRS fits an area instead of one that does not."""
    lon, lat = (area[0] + area[2]) / 2.0, (area[1] + area[3]) / 2.0
    return f"write {_own_crs(lon)}" if abs(lat) > FARTHEST_UTM_DEG else _LEAVE_OUT


def _farthest_latitude(grid: StudyGrid) -> float:
    """Return how far north or south a grid reaches [degrees]; a pole inside it counts."""
    x, y = (np.linspace(0.0, 1.0, _LATITUDE_SAMPLES) * count for count in (grid.columns, grid.rows))
    across, down = np.meshgrid(grid.west_m + x * grid.cell_size_m, grid.north_m - y * grid.cell_size_m)
    return float(np.max(np.abs(to_lonlat(grid.crs, across, down)[1])))


def _check_latitude(what: str, farthest_deg: float) -> None:
    """Raise RangeError beyond the latitudes of web maps."""
    # Asked this way round, a latitude that is no number is refused too.
    if not farthest_deg <= FARTHEST_LATITUDE_DEG:
        raise RangeError(
            what,
            f"up to {farthest_deg:.3f} north or south",
            f"-{FARTHEST_LATITUDE_DEG:g} to {FARTHEST_LATITUDE_DEG:g}, where maps end",
            "write a smaller area_deg",
        )


def _check_crs(crs: pyproj.CRS, advice: str = _LEAVE_OUT) -> None:
    """Raise RangeError unless the CRS is projected, in metres, east and north."""
    axes = crs.axis_info[:2]
    in_metres = all(axis.unit_conversion_factor == 1.0 for axis in axes)
    usual = {axis.direction.lower() for axis in axes} == {"east", "north"}
    if not (crs.is_projected and in_metres and usual):
        raise RangeError(
            "crs of the study grid",
            _crs_name(crs),
            "a projected CRS in metres, east and north",
            advice,
        )


def _check_scale(crs: pyproj.CRS, area: Area, advice: str) -> None:
    """Raise RangeError where metres of the CRS are not metres on the ground."""
    lon, lat = (area[0] + area[2]) / 2.0, (area[1] + area[3]) / 2.0
    x, y = from_lonlat(crs, lon, lat)
    # One kilometre eastwards tells: the usual projections of maps are conformal and stretch all directions
    # alike.
    near = to_lonlat(crs, x + 1000.0, y)
    ground_m = 1000.0 * distance_km(lon, lat, float(near[0]), float(near[1]))
    if not abs(ground_m / 1000.0 - 1.0) <= LARGEST_SCALE_ERROR:
        raise RangeError(
            "crs of the study grid",
            f"{_crs_name(crs)}, whose kilometre is {ground_m:.0f} m on the ground here",
            "within 2 percent",
            advice,
        )
