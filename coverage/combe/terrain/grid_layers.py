"""Vector layers laid over a study grid: which cells lie inside polygons, and how far the nearest line is."""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np
import numpy.typing as npt
import shapely
from rasterio.features import rasterize
from rasterio.transform import from_origin

from combe.decibels import FloatArray
from combe.errors import TableError
from combe.terrain.features import Features
from combe.terrain.grid import StudyGrid
from combe.terrain.projecting import transformer

Mask = npt.NDArray[np.bool_]


class Layer(Protocol):
    """A vector layer that is read when it is asked for."""

    @property
    def name(self) -> str:
        """What it is called."""
        ...

    def read(self) -> Features:
        """Return its features; raises TableError where it cannot be read."""
        ...


def cells_inside(layer: Layer, grid: StudyGrid) -> Mask:
    """Return which cells of a grid have their centre inside the polygons of a layer, (rows, columns).

    Raises
    ------
    TableError
        A file that cannot be read, or that holds no polygon.
    """
    shapes = [each for each in _projected(layer, grid) if each.geom_type.endswith("Polygon")]
    if not shapes:
        raise TableError(layer.name, "it holds no polygon", "give areas as polygons")
    return _drawn(shapes, grid, all_touched=False)


def distance_to_layer_m(layer: Layer, grid: StudyGrid) -> FloatArray:
    """Return how far each cell's centre is from the nearest cell that a feature touches [m], (rows, columns).

    Points, lines and polygons all count; features off the grid do not. Infinite where none is on the grid.

    Raises
    ------
    TableError
        A file that cannot be read.
    """
    from scipy.ndimage import distance_transform_edt

    touched = _drawn(_projected(layer, grid), grid, all_touched=True)
    if not touched.any():
        return np.full(touched.shape, np.inf)
    away: FloatArray = np.asarray(distance_transform_edt(~touched), dtype=np.float64) * grid.cell_size_m
    return away


def _projected(layer: Layer, grid: StudyGrid) -> list[Any]:
    """Return the geometries of a layer in the grid's own system."""
    features = layer.read()
    to_grid = transformer(features.crs, grid.crs)

    def moved(points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.column_stack(to_grid.transform(points[:, 0], points[:, 1]))

    return [shapely.transform(feature.geometry, moved) for feature in features.features]


def _drawn(shapes: list[Any], grid: StudyGrid, *, all_touched: bool) -> Mask:
    """Return the cells that shapes cover."""
    drawn = rasterize(
        [(shape, 1) for shape in shapes],
        out_shape=(grid.rows, grid.columns),
        transform=from_origin(grid.west_m, grid.north_m, grid.cell_size_m, grid.cell_size_m),
        all_touched=all_touched,
        dtype="uint8",
    )
    mask: Mask = np.asarray(drawn) == 1
    return mask
