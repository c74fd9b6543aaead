"""The area of a study: its grid, and the terrain and cover under it, read once for all sweeps."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.terrain import (
    Ground,
    StudyGrid,
    Terrain,
    fill_ground_cells,
    grid_heights,
    ground_under,
    sample_heights,
)

LARGEST_SEARCHED_CELLS: Final = 64_000_000
"""Most cells of the one raster that a search is given for several: a quarter of a gigabyte."""


def _no_cover() -> npt.NDArray[np.float32]:
    return np.empty((0, 0), dtype=np.float32)


def _no_zones() -> npt.NDArray[np.uint8]:
    return np.empty((0, 0), dtype=np.uint8)


@dataclass(frozen=True)
class Area:
    """A study grid with its terrain.

    ``zones`` (1 sea, 3 coastal land, 4 inland) have the shape of the ground's heights, and ``cover`` [m] has
    it or so many times its rows and columns; left out, there is no cover and all is inland. Where cover (NaN)
    or zones (0) are not known, nothing is predicted for what lies behind, and for a receiver in an unknown
    zone neither.

    Raises
    ------
    RangeError
        For cover or zones of another shape.
    """

    terrain: Terrain
    grid: StudyGrid
    heights_m: FloatArray
    """Ground [m] at the cell centres, shape (rows, columns); NaN at voids."""
    ground: Ground
    """The terrain in its own cells, which the rays sample."""
    step_m: float
    """Distance between two samples of a ray: a raster cell, but not under a quarter of a grid cell."""
    cover: npt.NDArray[np.float32] = field(default_factory=_no_cover)
    zones: npt.NDArray[np.uint8] = field(default_factory=_no_zones)

    def __post_init__(self) -> None:
        shape = self.ground.heights.shape
        finer = max(self.cover.shape[0] // shape[0], 1)
        if self.cover.size and self.cover.shape != (finer * shape[0], finer * shape[1]):
            allowed = f"{shape}, that of the ground, or so many times it, or none"
            raise RangeError("shape of cover", self.cover.shape, allowed)
        if self.zones.size and self.zones.shape != shape:
            raise RangeError("shape of zones", self.zones.shape, f"{shape}, that of the ground, or none")


def survey_area(
    terrain: Terrain,
    grid: StudyGrid,
    *,
    cover: npt.NDArray[np.float32] | None = None,
    zones: npt.NDArray[np.uint8] | None = None,
    ground: Ground | None = None,
) -> Area:
    """Return the study grid with its terrain, read once.

    ``ground`` is what :func:`combe.terrain.ground.ground_under` gives of them, where it is at hand.

    Raises
    ------
    RasterError
        A tile that can no longer be read.
    RangeError
        Cover or zones whose shape is not that of the ground under the grid.
    """
    step_m = max(terrain.cell_size_m, grid.cell_size_m / 4.0)
    return Area(
        terrain,
        grid,
        grid_heights(terrain, grid),
        ground_under(terrain, grid) if ground is None else ground,
        step_m,
        _no_cover() if cover is None else cover,
        _no_zones() if zones is None else zones,
    )


def one_raster(area: Area) -> Area:
    """Return an area whose several terrains are one raster; of a single terrain the area itself.

    For a search that prices ways by the million. The raster has the lattice of the coarsest terrain, each
    cell divided until its parts are as small as the cells of the finest, or the room is used up; a part holds
    the height at its middle, from the terrain that has one there. So the ground is sampled twice here, and a
    crest may lose part of the slope over half a fine cell. What is built in the end is predicted on the
    terrains themselves.
    """
    ground = area.ground
    if not ground.layers.size.size:
        return area
    base = area.terrain.alone or area.terrain
    room = math.isqrt(LARGEST_SEARCHED_CELLS // ground.heights.size)
    parts = max(1, min(math.ceil(base.cell_size_m / area.terrain.cell_size_m), room))
    heights = fill_ground_cells(
        area.terrain, area.grid, partial(sample_heights, area.terrain), np.float32, ground, parts
    )
    # A place counts from the middle of the first cell, so half a cell lies between the two counts.
    row_at, column_at = ((each + 0.5) * parts - 0.5 for each in (ground.row_at, ground.column_at))
    single = Ground(heights, row_at, column_at, ground.spacing, ground.north, ground.west)
    return replace(
        area,
        ground=single,
        cover=_in_parts(area.cover, ground.heights.shape, parts),
        zones=_in_parts(area.zones, ground.heights.shape, parts),
    )


def _in_parts(cells: npt.NDArray[Any], shape: tuple[int, ...], parts: int) -> npt.NDArray[Any]:
    """Return cells of the ground, or parts of these, so divided that they are parts of its parts too."""
    if not cells.size:
        return cells
    finer = cells.shape[0] // shape[0]
    times = math.lcm(finer, parts) // finer
    return np.ascontiguousarray(np.repeat(np.repeat(cells, times, axis=0), times, axis=1))
