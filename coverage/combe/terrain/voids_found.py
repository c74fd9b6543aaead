"""What is not as it should be of a terrain under a study grid: voids, fills, and ground under the sea.

Counted in the cells of the terrain's lattice whose middle lies on the grid, of several that of the coarsest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.terrain.blocks import BlockCache
from combe.terrain.grid import StudyGrid, to_cells
from combe.terrain.ground import Ground, ground_under
from combe.terrain.ground_cells import fill_ground_cells, ground_cell_places
from combe.terrain.sampling import heights_at, sample_heights, tiles_at
from combe.terrain.tiles import Terrain
from combe.terrain.voids import has_fills, without_fills

BELOW_THE_SEA_M: Final = -1.0
"""Land lower than this [m] is seldom dry; what is nearer to 0 may be the noise of a survey."""

_ASKED_ANEW: Final = 10_000


@dataclass(frozen=True)
class Patch:
    """Cells that hang together: how many, the middle one's place [degrees], and in which tile it lies."""

    cells: int
    longitude_deg: float
    latitude_deg: float
    tile: str


@dataclass(frozen=True)
class GroundFound:
    """What was found under a grid.

    Attributes
    ----------
    cells
        Cells of the terrain on the grid.
    voids, patches, largest
        Those without a height, into how many patches they fall, and the largest of these.
    deep
        Of the voids (the first ten thousand of them) those that hold the bed of a deep sea.
    below, lowest_m
        Those lower than the sea, and the lowest height [m].
    filled
        Those whose height was filled in, and is not measured.
    """

    cells: int
    voids: int
    patches: int
    largest: Patch | None
    deep: int
    below: int
    lowest_m: float
    filled: int


def look_at_ground(terrain: Terrain, grid: StudyGrid) -> GroundFound:
    """Return what of the terrain under a grid is void, filled or below the sea.

    Raises
    ------
    RasterError
        A tile that can no longer be read.
    """
    ground = ground_under(terrain, grid)
    heights = _heights(terrain, grid, ground)
    holes = _Marked(terrain, grid, ground, np.isnan(heights))
    low = _Marked(terrain, grid, ground, heights < BELOW_THE_SEA_M)
    patches, largest = _patches(holes)
    return GroundFound(
        cells=max(round(_cells_a_cell(ground) * grid.rows * grid.columns), 1),
        voids=holes.count,
        patches=patches,
        largest=largest,
        deep=_deep(holes),
        below=low.count,
        lowest_m=float(heights[low.inside].min()) if low.count else 0.0,
        filled=_filled(terrain, grid, ground, heights),
    )


def _heights(terrain: Terrain, grid: StudyGrid, ground: Ground) -> npt.NDArray[np.floating]:
    """Return the heights in the terrain's cells, of several terrains whichever has one there."""
    if not (terrain.over or terrain.under):
        return ground.heights
    values: FloatArray = fill_ground_cells(
        terrain, grid, partial(sample_heights, terrain), np.float64, ground
    )
    return values


class _Marked:
    """Cells of the ground that are marked and lie on the grid, with their places [degrees]."""

    def __init__(
        self, terrain: Terrain, grid: StudyGrid, ground: Ground, marked: npt.NDArray[np.bool_]
    ) -> None:
        self.terrain = terrain
        rows, columns = np.nonzero(marked)
        lon, lat = ground_cell_places(terrain, grid, ground, rows, columns)
        row, column = to_cells(grid, lon, lat)
        on_grid = (np.abs(row - (grid.rows - 1) / 2.0) <= grid.rows / 2.0) & (
            np.abs(column - (grid.columns - 1) / 2.0) <= grid.columns / 2.0
        )
        self.inside = np.zeros(marked.shape, np.bool_)
        self.inside[rows[on_grid], columns[on_grid]] = True
        self.lon_deg, self.lat_deg = lon[on_grid], lat[on_grid]

    @property
    def count(self) -> int:
        return int(self.lon_deg.size)


def _cells_a_cell(ground: Ground) -> float:
    """Return how many cells of the terrain lie on a cell of the grid, at the middle of the table."""
    i, j = (size // 2 for size in ground.row_at.shape)
    down = [at[i, j] - at[i - 1, j] for at in (ground.row_at, ground.column_at)]
    across = [at[i, j] - at[i, j - 1] for at in (ground.row_at, ground.column_at)]
    return float(abs(down[0] * across[1] - down[1] * across[0])) / ground.spacing**2


def _patches(holes: _Marked) -> tuple[int, Patch | None]:
    """Return into how many patches cells fall, also by their corners, and the largest of them."""
    if not holes.count:
        return 0, None
    from scipy.ndimage import label

    numbers, count = label(holes.inside, np.ones((3, 3)))
    in_order = numbers[holes.inside]
    sizes = np.bincount(in_order)[1:]
    own = np.flatnonzero(in_order == sizes.argmax() + 1)
    # The cell nearest to the middle of all of them, so that the place named is in the patch.
    lon, lat = holes.lon_deg[own], holes.lat_deg[own]
    middle = own[np.argmin((lon - lon.mean()) ** 2 + (lat - lat.mean()) ** 2)]
    place = float(holes.lon_deg[middle]), float(holes.lat_deg[middle])
    return int(count), Patch(int(sizes.max()), *place, tiles_at(holes.terrain, *place))


def _deep(holes: _Marked) -> int:
    """Return how many voids would have a height if their numbers were the bed of a sea."""
    if not holes.count:
        return 0
    at_sea = [_as_sea_floor(each) for each in (*holes.terrain.over, holes.terrain, *holes.terrain.under)]
    some = slice(0, _ASKED_ANEW)
    known = np.zeros(holes.lon_deg[some].size, np.bool_)
    for each in at_sea:
        known |= ~np.isnan(heights_at(each, holes.lon_deg[some], holes.lat_deg[some]))
    return int(known.sum())


def _as_sea_floor(terrain: Terrain) -> Terrain:
    tiles = tuple(replace(tile, sea_floor=True) for tile in terrain.tiles)
    return replace(terrain, tiles=tiles, over=(), under=(), fill_within_m=0.0, blocks=BlockCache())


def _filled(terrain: Terrain, grid: StudyGrid, ground: Ground, heights: npt.NDArray[np.floating]) -> int:
    if not has_fills(terrain):
        return 0
    raw = without_fills(terrain)
    measured = fill_ground_cells(terrain, grid, partial(sample_heights, raw), np.float64, ground)
    return _Marked(terrain, grid, ground, np.isnan(measured) & ~np.isnan(heights)).count
