"""Draws the outline of some cells of the study grid."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from rasterio.features import shapes
from rasterio.transform import from_origin
from shapely import MultiPolygon, Polygon

from combe.errors import RangeError
from combe.terrain.grid import StudyGrid


def cell_outlines(chosen: npt.NDArray[np.bool_], grid: StudyGrid) -> MultiPolygon:
    """Return the outlines of the true cells, along their edges, in metres of the grid's CRS.

    Parameters
    ----------
    chosen
        Shape (rows, columns), row 0 north. Cells that meet at a side are in one polygon, with its holes.

    Raises
    ------
    RangeError
        The shape is not the grid's.
    """
    if chosen.shape != (grid.rows, grid.columns):
        raise RangeError("shape of the cells to be outlined", chosen.shape, f"({grid.rows}, {grid.columns})")
    transform = from_origin(grid.west_m, grid.north_m, grid.cell_size_m, grid.cell_size_m)
    found = shapes(chosen.astype(np.uint8), mask=chosen, transform=transform)
    return MultiPolygon(
        [Polygon(rings[0], rings[1:]) for rings in (shape["coordinates"] for shape, _ in found)]
    )
