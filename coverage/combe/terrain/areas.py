"""How much ground cells and polygons cover: their true area, whatever the system they are drawn in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import pyproj
import shapely
from shapely.geometry.base import BaseGeometry

from combe.decibels import FloatArray
from combe.terrain.projecting import transformer

_EQUAL_AREA: Final = pyproj.CRS.from_proj4("+proj=cea +ellps=WGS84 +units=m")
"""The cylindrical equal-area projection: areas in it are those on the ellipsoid."""

_KM2_A_M2: Final = 1e-6
_ROWS_AT_ONCE: Final = 500


def cell_areas_km2(crs: pyproj.CRS, transform: Sequence[float], shape: tuple[int, int]) -> FloatArray:
    """Return the area of each cell of a raster [km²], (rows, columns), or (rows, 1) for degrees.

    ``transform`` is that of :class:`combe.terrain.people_raster.People`. Edges of cells are straight lines in
    the equal-area projection, which for cells of kilometres is 0.01 % off.
    """
    rows, columns = shape
    a, b, c, d, e, f = transform
    # In degrees all cells of a row are alike.
    wide = 1 if crs.is_geographic and b == d == 0.0 else columns
    areas = np.empty((rows, wide))
    for first in range(0, rows, _ROWS_AT_ONCE):
        last = min(first + _ROWS_AT_ONCE, rows)
        column, row = np.meshgrid(np.arange(wide + 1.0), np.arange(first, last + 1.0))
        x, y = a * column + b * row + c, d * column + e * row + f
        areas[first:last] = _lattice_areas_m2(crs, x, y) * _KM2_A_M2
    return areas


def polygon_areas_km2(crs: pyproj.CRS, polygons: Sequence[BaseGeometry]) -> FloatArray:
    """Return the area of each polygon [km²], holes left out."""
    to_equal = transformer(crs, _EQUAL_AREA)

    def moved(places: FloatArray) -> FloatArray:
        return np.column_stack(to_equal.transform(places[:, 0], places[:, 1]))

    areas: FloatArray = shapely.area(shapely.transform(np.array(polygons, dtype=object), moved))
    return areas * _KM2_A_M2


def _lattice_areas_m2(crs: pyproj.CRS, x: FloatArray, y: FloatArray) -> FloatArray:
    """Return the areas between the corners of a lattice, by the cross product of their diagonals."""
    east, north = transformer(crs, _EQUAL_AREA).transform(x, y)
    one = east[1:, 1:] - east[:-1, :-1], north[1:, 1:] - north[:-1, :-1]
    other = east[:-1, 1:] - east[1:, :-1], north[:-1, 1:] - north[1:, :-1]
    areas: FloatArray = 0.5 * np.abs(one[0] * other[1] - one[1] * other[0])
    return areas
