"""The study grid in a map page: laid on the web map's own projection, and packed into a short text.

A web map stretches a picture between two corners in EPSG:3857. A picture in degrees would sit wrong between
its corners, by hundreds of metres; a picture on a lattice in EPSG:3857 does not. The page keeps the study's
own cells and a small mesh which says where on the study grid each lattice point falls; between the points of
the mesh the page interpolates. The error of that is a fraction of a metre.
"""

from __future__ import annotations

import base64
import math
import os
import zlib
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.geodesy import turned

if TYPE_CHECKING:
    from combe.terrain import StudyGrid

FloatArray = npt.NDArray[np.float64]

SIDE_LIMIT: Final = 1500
"""Most lattice pixels on a side of a page's picture."""

CELLS_LIMIT: Final = 900
"""Most cells that a page holds a side: of a score of layers these are some 3 MB, which mail still takes."""

PIXEL_TO_CELL: Final = 0.7
"""Largest pixel in study cells: below 1/√2 each cell keeps a pixel nearer to it than to any other."""

EARTH_TURN_M: Final = 2.0 * math.pi * 6_378_137.0
"""Once around the Earth in EPSG:3857."""

_MESH_INTERVALS: Final = (32, 64, 128, 256)
_MESH_ERROR_M: Final = 0.3
"""How far a place between the points of the mesh may be from where it is; wide areas take a finer mesh."""

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
    # The finer of what the cells ask for and what the page may hold: on large grids several cells share a
    # pixel.
    pixel = max(PIXEL_TO_CELL * _cell_m(grid, x_m, y_m), max(east - west, north - south) / side_limit)
    columns, rows = (max(1, math.ceil((high - low) / pixel)) for low, high in ((west, east), (south, north)))
    # Rounding up may have made one pixel more than the limit.
    columns, rows = min(columns, side_limit), min(rows, side_limit)
    corner = float(west), float(north)
    for intervals in _MESH_INTERVALS:
        # Mesh points closer than four pixels would cost more than they tell: the projections bend too little.
        step = max(4, math.ceil(max(rows, columns) / intervals))
        mesh_row, mesh_column = _mesh(grid, *corner, pixel * step, rows / step, columns / step)
        if step == 4 or _mesh_error_m(grid, *corner, pixel * step, mesh_row, mesh_column) < _MESH_ERROR_M:
            break
    return MercatorLattice(*corner, float(pixel), rows, columns, step, mesh_row, mesh_column)


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
    # Web Mercator begins anew at 180°; counted from the first corner the outline stays in one piece.
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


def _mesh_error_m(
    grid: StudyGrid, west: float, north: float, step_m: float, mesh_row: FloatArray, mesh_column: FloatArray
) -> float:
    """Return how far [m] the means of two neighbours in a row are from the places in their middle, at most.

    Both projections are conformal, or nearly: what bends down the rows bends as much across, the other way,
    so that the mean of four points would be right in the middle of them and nowhere else.
    """
    down, across = mesh_row.shape
    x_m = west + step_m * (np.arange(across - 1) + 0.5)
    y_m = north - step_m * np.arange(down)
    x, y = _transform("EPSG:3857", grid.crs, *(each.ravel() for each in np.meshgrid(x_m, y_m)))
    row, column = ((mesh[:, :-1] + mesh[:, 1:]).ravel() / 2.0 for mesh in (mesh_row, mesh_column))
    off_row = row - (grid.north_m - y) / grid.cell_size_m
    off_column = column - (x - grid.west_m) / grid.cell_size_m
    return float(np.hypot(off_row, off_column).max() * grid.cell_size_m)


def to_mercator_m(grid: StudyGrid, x_m: FloatArray, y_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return places [m] of a grid's system in EPSG:3857 [m]."""
    return _transform(grid.crs, "EPSG:3857", x_m, y_m)


def _transform(
    source: object, target: object, x_m: FloatArray, y_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Transform places between two systems, x before y."""
    from pyproj import Transformer

    x, y = Transformer.from_crs(source, target, always_xy=True).transform(x_m, y_m)
    return np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)


_MOST_STEPS: Final = 65_000

_LEVEL: Final = 7
"""Of zlib: 9 makes pages a fiftieth shorter in five times the time."""


@dataclass(frozen=True)
class StepGrid:
    """A grid in whole steps: value = (code − 1 + base) / steps_per_unit; code 0 is no value.

    ``codes`` has the grid's shape, 16 bits each.
    """

    codes: npt.NDArray[np.uint16]
    base: int
    steps_per_unit: float


def in_steps(values: npt.NDArray[np.floating], steps_per_unit: float) -> StepGrid:
    """Round values **down** to 1/steps_per_unit; NaN stays apart.

    Rounding down keeps a promise: what the page shows as over a threshold is over it.

    Raises
    ------
    RangeError
        The values span more steps than 16 bits can count.
    """
    exact = np.asarray(values, dtype=np.float64) * steps_per_unit
    known = np.isfinite(exact)
    steps = np.floor(np.where(known, exact, 0.0)).astype(np.int64)
    base, top = (int(steps[known].min()), int(steps[known].max())) if known.any() else (0, 0)
    if top - base > _MOST_STEPS:
        raise RangeError("span of a grid", f"{top - base} steps", f"up to {_MOST_STEPS}", "use coarser steps")
    # Code 0 is no value, so the lowest step is code 1.
    return StepGrid(np.where(known, steps - base + 1, 0).astype(np.uint16), base, steps_per_unit)


FROM_LEFT, BY_PLANE = "left", "plane"
"""What a code is told against: the one to the left (in the first column the one above), or left and above
less the one between them, which follows smooth ground."""


def pack(grid: StepGrid, like: StepGrid | None = None, by: str = FROM_LEFT) -> str:
    """Return the codes as base64 of a zlib stream.

    The stream holds two planes of bytes (low, high) of the zigzag differences of the codes from what is
    expected ``by`` the codes before. With ``like``, the codes of that grid are taken off first: fields of one
    station on neighbouring channels are nearly alike and pack to a third.
    """
    codes = grid.codes if like is None else grid.codes - like.codes
    # Unsigned differences wrap round, and wrap back on the page: no value is lost, and none needs 17 bits.
    difference = (codes - _expected(codes, by)).view(np.int16)
    # Zigzag: 0, −1, 1, −2 … become 0, 1, 2, 3 …, so small steps to either side have a high byte of 0.
    folded = ((difference << 1) ^ (difference >> 15)).view(np.uint16)
    # Bytes of one kind together: the high ones are nearly all 0 and cost next to nothing when packed.
    planes = np.stack([folded & 0xFF, folded >> 8]).astype(np.uint8)
    return base64.b64encode(zlib.compress(planes.tobytes(), _LEVEL)).decode("ascii")


def _expected(codes: npt.NDArray[np.uint16], by: str) -> npt.NDArray[np.uint16]:
    before = np.zeros_like(codes)
    before[:, 1:] = codes[:, :-1]
    before[1:, 0] = codes[:-1, 0]
    if by == BY_PLANE:
        before[1:, 1:] += codes[:-1, 1:] - codes[:-1, :-1]
    return before


def pack_alike(grids: Mapping[str, StepGrid]) -> list[dict[str, Any]]:
    """Pack grids of one shape for the page, each against the earlier one that it is most like, if any.

    Returns
    -------
    list of dict
        ``key, packed, base, steps_per_unit, like, by``, ready for JSON; ``like`` is a key further up in the
        list, or None.
    """
    ways: dict[str, tuple[str | None, str]] = {}
    for key, grid in grids.items():
        ways[key] = _least_bits(grid, {one: grids[one] for one in ways})

    def packed(key: str) -> dict[str, Any]:
        grid, (like, by) = grids[key], ways[key]
        text = pack(grid, None if like is None else grids[like], by)
        steps = {"base": grid.base, "steps_per_unit": grid.steps_per_unit}
        return {"key": key, "packed": text, **steps, "like": like, "by": by}

    # zlib lets the interpreter go, and takes most of the time of a large page.
    with ThreadPoolExecutor(min(os.cpu_count() or 1, _MOST_AT_ONCE)) as pool:
        return list(pool.map(packed, grids))


def _least_bits(grid: StepGrid, earlier: Mapping[str, StepGrid]) -> tuple[str | None, str]:
    """Return against which grid, None for none, and by what its differences need the fewest bits."""
    step = max(4, grid.codes.shape[0] // _ROWS_LOOKED_AT)
    # Some pairs of rows will do, for this only chooses; the packing itself is exact.
    rows, below = _pairs(grid.codes, step)
    bits: dict[tuple[str | None, str], float] = {}
    for key, one in (None, None), *earlier.items():
        other = None if one is None else _pairs(one.codes, step)
        upper, lower = (rows, below) if other is None else (rows - other[0], below - other[1])
        along = np.diff(lower, axis=1)
        bits[key, FROM_LEFT] = _bits(along)
        bits[key, BY_PLANE] = _bits(along - np.diff(upper, axis=1))
    return min(bits, key=lambda each: bits[each])


_ROWS_LOOKED_AT: Final = 100
_MOST_AT_ONCE: Final = 4


def _pairs(codes: npt.NDArray[np.uint16], step: int) -> tuple[npt.NDArray[np.uint16], npt.NDArray[np.uint16]]:
    """Return some rows and those below them; a single row is its own pair."""
    below = codes[1::step] if len(codes) > 1 else codes
    return codes[::step][: len(below)], below


def _bits(differences: npt.NDArray[np.uint16]) -> float:
    """Estimate the bits of differences."""
    return float(np.log2(1.0 + np.abs(differences.view(np.int16).astype(np.float64))).sum())


def pack_floats(values: npt.NDArray[np.floating]) -> str:
    """Return numbers as base64 of little-endian 32-bit floats."""
    return base64.b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode("ascii")
