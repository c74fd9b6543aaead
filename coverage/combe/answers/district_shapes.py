"""The outlines of a coverage's districts, as fine as its map and no further than it reaches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from pyproj import Transformer

from combe.answers.cover import CoverReport
from combe.answers.frames import LONLAT
from combe.decibels import FloatArray
from combe.geodesy import turned

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_FINER: Final = 0.5
"""Outlines stray from the drawn ones by this part of a cell at most."""


def district_rings(report: CoverReport) -> tuple[tuple[FloatArray, ...], ...]:
    """Return the rings of each district in longitude and latitude [degrees], each (n, 2).

    In the order of the districts; none for one that lies beyond the grid. Longitudes run on past 180 within a
    ring.
    """
    drawn, grid = report.districts, report.grid
    if drawn is None:
        return ()
    to_grid = Transformer.from_crs(drawn.crs, grid.crs, always_xy=True).transform
    east_m = grid.west_m + grid.columns * grid.cell_size_m
    south_m = grid.north_m - grid.rows * grid.cell_size_m
    frame = shapely.box(grid.west_m, south_m, east_m, grid.north_m)
    to_lonlat = Transformer.from_crs(grid.crs, LONLAT, always_xy=True).transform

    def rings(polygon: BaseGeometry) -> Iterator[FloatArray]:
        there = shapely.transform(polygon, lambda xy: np.column_stack(to_grid(xy[:, 0], xy[:, 1])))
        # An outline that crosses itself cannot be cut; it is mended first.
        there = shapely.intersection(shapely.make_valid(there), frame)
        for part in shapely.get_parts(shapely.simplify(there, _FINER * grid.cell_size_m)):
            if part.geom_type == "Polygon" and not part.is_empty:
                for ring in (part.exterior, *part.interiors):
                    lon, lat = to_lonlat(*np.asarray(ring.coords)[:, :2].T)
                    yield np.column_stack([turned(lon, float(lon[0])), lat])

    return tuple(tuple(rings(polygon)) for polygon in drawn.polygons)
