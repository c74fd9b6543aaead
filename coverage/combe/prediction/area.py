"""The area of a study: its grid, and the terrain and cover under it, read once for all sweeps."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.terrain import Ground, StudyGrid, Terrain, grid_heights, ground_under


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
