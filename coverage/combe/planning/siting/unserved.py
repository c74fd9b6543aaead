"""Where people live who lack a service: the targets of siting, one for each grid cell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import pyproj

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.geodesy import ellipsoid
from combe.prediction import IntArray
from combe.reception import Field
from combe.terrain import People, StudyGrid, to_grid_m

MOST_PARTS: Final = 12
"""A population cell is divided into at most so many parts each way, to be shared among grid cells."""


@dataclass(frozen=True)
class Unserved:
    """Grid cells (n,) by flat index, with the people in each and the services that each lacks.

    ``people`` (n,) float64; ``lacks`` (n, services); ``people_in_all`` all people inside the grid.
    """

    cells: IntArray
    people: FloatArray
    lacks: npt.NDArray[np.bool_]
    people_in_all: float

    @property
    def total(self) -> float:
        """People who lack a service."""
        return float(np.sum(self.people))


def find_unserved(
    grid: StudyGrid, heights_m: FloatArray, people: People, margins_db: Sequence[Field]
) -> Unserved:
    """Return the cells with people who lack at least one service.

    Parameters
    ----------
    heights_m
        Ground [m], shape (rows, columns); cells on voids are no targets.
    margins_db
        For each service the margin [dB] of the time before, shape (rows, columns); below 0 is not served, NaN
        no prediction, and people there are no targets, since nobody knows.

    Raises
    ------
    RangeError
        For no service at all.
    """
    if not margins_db:
        raise RangeError("services of the relay to be sited", "none", "at least one")
    margin = np.stack([np.asarray(each, dtype=np.float64).ravel() for each in margins_db], axis=-1)
    share = people_by_cell(grid, people)
    # NaN is not below 0: without a prediction nobody lacks anything for sure.
    lacking = margin < 0.0
    # Whoever is not known to lack a service is no target.
    known = ~np.isnan(margin).any(axis=1) & ~np.isnan(heights_m.ravel())
    cells = np.flatnonzero((share > 0.0) & lacking.any(axis=1) & known)
    return Unserved(
        cells.astype(np.int64), share[cells], np.ascontiguousarray(lacking[cells]), float(share.sum())
    )


def people_by_cell(grid: StudyGrid, people: People) -> FloatArray:
    """Return people per grid cell, flat (rows · columns,), population cells being shared out by area."""
    down, across = np.nonzero(people.counts > 0.0)
    out = np.zeros(grid.rows * grid.columns)
    if down.size == 0:
        return out
    parts = _parts(grid, people, down, across)
    shares = people.counts[down, across] / (parts * parts)
    # Each part goes to the grid cell its centre lies in: so all people are shared out, and none twice.
    for u in (np.arange(parts) + 0.5) / parts:
        for v in (np.arange(parts) + 0.5) / parts:
            lon, lat = _lonlat_deg(people, across + u, down + v)
            x, y = to_grid_m(grid, lon, lat)
            row = np.floor((grid.north_m - y) / grid.cell_size_m).astype(np.int64)
            column = np.floor((x - grid.west_m) / grid.cell_size_m).astype(np.int64)
            inside = (row >= 0) & (row < grid.rows) & (column >= 0) & (column < grid.columns)
            np.add.at(out, row[inside] * grid.columns + column[inside], shares[inside])
    return out


def _parts(grid: StudyGrid, people: People, down: IntArray, across: IntArray) -> int:
    """Return how often a population cell is divided each way: parts of half a grid cell or less."""
    # Cells of one raster are about alike, so one of those with people stands for all.
    middle = down.size // 2
    i, j = float(across[middle]), float(down[middle])
    lon, lat = _lonlat_deg(people, np.array([i, i + 1.0, i]), np.array([j, j, j + 1.0]))
    _, _, length_m = ellipsoid().inv(lon[[0, 0]], lat[[0, 0]], lon[1:], lat[1:])
    return min(max(math.ceil(2.0 * float(np.max(length_m)) / grid.cell_size_m), 1), MOST_PARTS)


def _lonlat_deg(
    people: People, across: npt.NDArray[np.floating], down: npt.NDArray[np.floating]
) -> tuple[FloatArray, FloatArray]:
    """Return the place [degrees] of a position in the population raster [cells, 0 at its outer corner]."""
    a, _, west, _, e, north = people.transform
    x, y = west + a * across, north + e * down
    if people.crs.is_geographic:
        return np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    to_degrees = pyproj.Transformer.from_crs(people.crs, "EPSG:4326", always_xy=True)
    lon, lat = to_degrees.transform(x, y)
    return np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)
