"""Zones of sea, coastal land and inland derived from elevation and from where the sea is.

Coastal land is land next to the sea, up to 100 m above it, and no farther from it than 50 km (ITU-R P.1812;
the wording was read in the ITU's reference code for P.452, whose zones are the same). "Next to" is taken as
hanging together with the sea over land as low, so that a low basin behind a ridge is inland. Distances are
measured in a projection in metres, over the study and 50 km around it.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.terrain.features import Layer, cells_inside
from combe.terrain.grid import StudyGrid, cells_to_lonlat_deg, to_cells, to_grid_m
from combe.terrain.ground_cells import nearest_values
from combe.terrain.headers import Lattice, Tile
from combe.terrain.sampling import heights_at
from combe.terrain.tiles import Terrain, terrain_on
from combe.terrain.zones import UNKNOWN, ZoneCells

COAST_M: Final = 100.0
COAST_KM: Final = 50.0
"""How high coastal land may be, and how far from the sea."""

CELL_M: Final = 200.0
"""Side of a cell of derived zones; larger where the area would have too many of them."""

MOST_CELLS: Final = 2_000_000
_ROWS_AT_A_TIME: Final = 128
_BESIDE_CELLS: Final = 1.5
"""Cells side by side or corner to corner are nearer to each other than this."""

_EIGHT: Final = np.ones((3, 3), dtype=np.int8)

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class SeaSource:
    """Where the sea is.

    Attributes
    ----------
    masks, codes
        Rasters of classes, the first with one at a place counting, and the classes that are sea; no raster
        where polygons tell it.
    polygons, are_land
        Polygons of the sea, or of the land where ``are_land``.
    places
        Longitudes and latitudes [degrees]; where there are any, only water that hangs together with one of
        them is sea. For masks that do not tell the sea from lakes and rivers.
    lakes
        Polygons of lakes that count as sea, for those that hold a circle of 100 km.
    """

    masks: tuple[Terrain, ...] = ()
    codes: tuple[int, ...] = (1,)
    polygons: Layer | None = None
    are_land: bool = False
    places: tuple[tuple[float, float], ...] = ()
    lakes: Layer | None = None


@dataclass(frozen=True)
class ZoneCodes:
    """The numbers of zones, which belong to a Recommendation."""

    sea: int
    coast: int
    inland: int


@dataclass(frozen=True)
class CoastQuestion:
    """What zones are derived of: the terrain, the sea, the numbers, and the cells in which it is done."""

    terrain: Terrain
    source: SeaSource
    codes: ZoneCodes
    window: StudyGrid


def coast_window(grid: StudyGrid, places: tuple[tuple[float, float], ...] = ()) -> StudyGrid:
    """Return the cells for derived zones: over a grid and places [degrees] beyond it, and 50 km around.

    Sea that is outside of them is not looked at, and cannot make a coast within the grid.
    """
    x, y = (np.asarray(each) for each in to_grid_m(grid, *np.array(places).reshape(-1, 2).T))
    east_m, south_m = (
        grid.west_m + grid.columns * grid.cell_size_m,
        grid.north_m - grid.rows * grid.cell_size_m,
    )
    margin_m = 1000.0 * COAST_KM
    west, east = min([grid.west_m, *x]) - margin_m, max([east_m, *x]) + margin_m
    south, north = min([south_m, *y]) - margin_m, max([grid.north_m, *y]) + margin_m
    side = max(CELL_M, math.sqrt((east - west) * (north - south) / MOST_CELLS))
    side = math.ceil(side / CELL_M) * CELL_M
    return StudyGrid(
        grid.crs,
        math.floor(west / side) * side,
        math.ceil(north / side) * side,
        side,
        math.ceil(north / side) - math.floor(south / side),
        math.ceil(east / side) - math.floor(west / side),
    )


def derived_zones(question: CoastQuestion, name: str) -> Terrain:
    """Return derived zones as a raster of codes; nothing is worked out before it is read."""
    window = question.window
    lattice = Lattice(
        window.crs,
        window.west_m,
        window.north_m,
        window.cell_size_m,
        window.cell_size_m,
        window.rows,
        window.columns,
    )
    tile = Tile(Path(name), window.rows, window.columns, 0, 0, narrow=True, make=MadeOnce(question))
    return terrain_on((tile,), lattice)


class MadeOnce:
    """Cells that are worked out when they are first asked for, once for all threads."""

    def __init__(self, question: CoastQuestion) -> None:
        self._question = question
        self._lock = threading.Lock()
        self._made: FloatArray | None = None

    def __call__(self) -> FloatArray:
        """Return the codes of all cells, NaN where no zone is known."""
        with self._lock:
            if self._made is None:
                self._made = derive(self._question).astype(np.float64)
                self._made[self._made == UNKNOWN] = np.nan
            return self._made

    def __reduce__(self) -> tuple[type[MadeOnce], tuple[CoastQuestion]]:
        return MadeOnce, (self._question,)


def derive(question: CoastQuestion) -> ZoneCells:
    """Return the zone of each cell of the window; :data:`UNKNOWN` where sea or height is not known.

    Raises
    ------
    RasterError, TableError
        A file that cannot be used.
    RangeError
        A place of the sea that is on no water, or beyond the window.
    """
    window, codes = question.window, question.codes
    heights, water, known = _looked_up(question)
    sea = _of_the_sea(water, question.source, window)
    if question.source.lakes is not None:
        sea |= cells_inside(question.source.lakes, window)
    coast = coastal_land(sea, heights, window.cell_size_m)
    zones = np.where(coast, codes.coast, codes.inland).astype(np.uint8)
    zones[np.isnan(heights) | ~known] = UNKNOWN
    zones[sea] = codes.sea
    return zones


def coastal_land(sea: Mask, heights_m: FloatArray, cell_size_m: float) -> Mask:
    """Return which cells are coastal land: low, near the sea, and hanging together with it over such land."""
    if not sea.any():
        return np.zeros_like(sea)
    from scipy.ndimage import binary_dilation, distance_transform_edt, label

    away_m = distance_transform_edt(~sea, sampling=cell_size_m)
    # Unknown heights are not low: nothing compares with NaN.
    low = ~sea & (heights_m <= COAST_M) & (away_m <= 1000.0 * COAST_KM)
    numbers, _ = label(low, _EIGHT)
    at_the_shore = np.unique(numbers[binary_dilation(sea, _EIGHT) & low])
    kept: Mask = np.isin(numbers, at_the_shore[at_the_shore > 0])
    return kept


def _looked_up(question: CoastQuestion) -> tuple[FloatArray, Mask, Mask]:
    """Return heights, where there is water of the sea's classes, and where that is known."""
    window, source = question.window, question.source
    heights = np.empty((window.rows, window.columns))
    water, known = np.zeros(heights.shape, np.bool_), np.ones(heights.shape, np.bool_)
    for rows, lon, lat in _places(window):
        heights[rows] = heights_at(question.terrain, lon, lat)
        if source.masks:
            classes = _classes(source.masks, lon, lat)
            known[rows], water[rows] = ~np.isnan(classes), np.isin(classes, source.codes)
    if source.polygons is not None:
        water = cells_inside(source.polygons, window) ^ source.are_land
    return _to_the_rim(heights, water, known)


def _classes(masks: tuple[Terrain, ...], lon_deg: FloatArray, lat_deg: FloatArray) -> FloatArray:
    """Return the class at places, of the first raster that has one; NaN where none has."""
    found = np.full(lon_deg.shape, np.nan)
    for mask in masks:
        missing = np.isnan(found)
        if missing.any():
            found[missing] = nearest_values(mask, lon_deg[missing], lat_deg[missing])
    return found


def _to_the_rim(heights: FloatArray, water: Mask, known: Mask) -> tuple[FloatArray, Mask, Mask]:
    """Let cells beside known ones be as these: the middle of a cell at the rim may lie off a finer raster."""
    from scipy.ndimage import distance_transform_edt

    missing = np.isnan(heights) | ~known
    if not missing.any() or missing.all():
        return heights, water, known
    away, (row, column) = distance_transform_edt(missing, return_indices=True)
    near = missing & (away < _BESIDE_CELLS)
    heights[near], water[near] = (each[row[near], column[near]] for each in (heights, water))
    known[near] = True
    return heights, water, known


def _places(window: StudyGrid) -> Iterator[tuple[slice, FloatArray, FloatArray]]:
    """Yield some rows of a window at a time, and the places [degrees] of their cells."""
    columns = np.arange(window.columns)
    for first in range(0, window.rows, _ROWS_AT_A_TIME):
        rows = slice(first, min(first + _ROWS_AT_A_TIME, window.rows))
        across, down = np.meshgrid(columns, np.arange(rows.start, rows.stop))
        yield rows, *cells_to_lonlat_deg(window, down, across)


def _of_the_sea(water: Mask, source: SeaSource, window: StudyGrid) -> Mask:
    """Return the water that hangs together with the places of the sea; all of it where none is named."""
    if not source.places:
        return water.copy()
    from scipy.ndimage import label

    numbers, _ = label(water, _EIGHT)
    wanted = []
    for lon_deg, lat_deg in source.places:
        row, column = (round(float(each)) for each in to_cells(window, lon_deg, lat_deg))
        inside = 0 <= row < window.rows and 0 <= column < window.columns
        if not inside or not numbers[row, column]:
            where = "on land" if inside else "beyond the study and 50 km around it"
            raise RangeError(
                "place of the sea",
                f"{lon_deg:g}, {lat_deg:g}, {where}",
                "a place on its water near the study",
            )
        wanted.append(numbers[row, column])
    found: Mask = np.isin(numbers, wanted)
    return found
