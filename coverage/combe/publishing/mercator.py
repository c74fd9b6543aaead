"""Lays the study grid on the web map's own projection, so that a picture of it sits where the ground is.

A web map stretches a picture between two corners in EPSG:3857. A picture in degrees would sit wrong between
its corners, by hundreds of metres; a picture on a lattice in EPSG:3857 does not. The page keeps the study's
own cells and a small mesh which says where on the study grid each lattice point falls; between the points of
the mesh the page interpolates. The error of that is a fraction of a metre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import numpy.typing as npt

from combe.geodesy import turned

if TYPE_CHECKING:
    from combe.terrain import StudyGrid

FloatArray = npt.NDArray[np.float64]

SIDE_LIMIT: Final = 1500
"""Most lattice pixels, and most embedded cells, on a side of a page's picture."""

PIXEL_TO_CELL: Final = 0.7
"""Largest pixel in study cells: below 1/√2 each cell keeps a pixel nearer to it than to any other."""

EARTH_TURN_M: Final = 2.0 * math.pi * 6_378_137.0
"""Once around the Earth in EPSG:3857."""

_MESH_INTERVALS: Final = 32
_EDGE_POINTS: Final = 33


@dataclass(frozen=True)
class MercatorLattice:
    """A lattice in EPSG:3857 and where its points fall on the study grid.

    Attributes
    ----------
    west_m, north_m
        Outer corner of the lattice [EPSG:3857 metres]; its east may lie beyond the antimeridian.
    pixel_m
        Side of a pixel [EPSG:3857 metres].
    rows, columns
        Number of pixels.
    mesh_step
        Pixels from one point of the mesh to the next.
    mesh_row, mesh_column
        Place on the study grid at each point of the mesh, in cells from the grid's outer north-west corner;
        shape (n, m).
    """

    west_m: float
    north_m: float
    pixel_m: float
    rows: int
    columns: int
    mesh_step: int
    mesh_row: FloatArray
    mesh_column: FloatArray


def make_lattice(grid: StudyGrid, *, side_limit: int = SIDE_LIMIT) -> MercatorLattice:
    """Return the lattice over a study grid, with bounds from the warped outline of the grid."""
    x_m, y_m = _outline(grid)
    west, east, south, north = x_m.min(), x_m.max(), y_m.min(), y_m.max()
    pixel = max(PIXEL_TO_CELL * _cell_m(grid, x_m, y_m), max(east - west, north - south) / side_limit)
    columns, rows = (max(1, math.ceil((high - low) / pixel)) for low, high in ((west, east), (south, north)))
    columns, rows = min(columns, side_limit), min(rows, side_limit)
    step = max(4, math.ceil(max(rows, columns) / _MESH_INTERVALS))
    mesh_row, mesh_column = _mesh(grid, float(west), float(north), pixel * step, rows / step, columns / step)
    return MercatorLattice(
        float(west), float(north), float(pixel), rows, columns, step, mesh_row, mesh_column
    )


def middle_deg(lattice: MercatorLattice) -> float:
    """Return the longitude [degrees] of the middle of a lattice, past 180 where it reaches so far."""
    return 360.0 * (lattice.west_m + 0.5 * lattice.columns * lattice.pixel_m) / EARTH_TURN_M


def _outline(grid: StudyGrid) -> tuple[FloatArray, FloatArray]:
    """Return points along the four edges of the grid in EPSG:3857, running on past the antimeridian."""
    along = np.linspace(0.0, 1.0, _EDGE_POINTS)
    zero, one = np.zeros_like(along), np.ones_like(along)
    right = np.concatenate([along, one, along, zero]) * grid.columns * grid.cell_size_m
    down = np.concatenate([zero, along, one, along]) * grid.rows * grid.cell_size_m
    x_m, y_m = _transform(grid.crs, "EPSG:3857", grid.west_m + right, grid.north_m - down)
    return turned(x_m, float(x_m[0]), EARTH_TURN_M), y_m


def _cell_m(grid: StudyGrid, x_m: FloatArray, y_m: FloatArray) -> float:
    """Return the smallest side of a study cell in EPSG:3857, from the edges' mean steps."""
    n = _EDGE_POINTS
    steps = np.hypot(np.diff(x_m), np.diff(y_m))
    across = min(steps[: n - 1].min(), steps[2 * n : 3 * n - 1].min()) * (n - 1) / grid.columns
    down = min(steps[n : 2 * n - 1].min(), steps[3 * n :].min()) * (n - 1) / grid.rows
    return float(min(across, down))


def _mesh(
    grid: StudyGrid, west: float, north: float, step_m: float, steps_down: float, steps_across: float
) -> tuple[FloatArray, FloatArray]:
    """Return study row and column at the mesh points."""
    x_m = west + step_m * np.arange(math.ceil(steps_across) + 1)
    y_m = north - step_m * np.arange(math.ceil(steps_down) + 1)
    xx, yy = np.meshgrid(x_m, y_m)
    study_x, study_y = _transform("EPSG:3857", grid.crs, xx.ravel(), yy.ravel())
    row = (grid.north_m - study_y) / grid.cell_size_m
    column = (study_x - grid.west_m) / grid.cell_size_m
    return row.reshape(xx.shape), column.reshape(xx.shape)


def _transform(
    source: object, target: object, x_m: FloatArray, y_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Transform places between two systems, x before y."""
    from pyproj import Transformer

    x, y = Transformer.from_crs(source, target, always_xy=True).transform(x_m, y_m)
    return np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
