"""The people of a project over a grid: from cells, from places, or from districts that count their own."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from combe.decibels import FloatArray
from combe.errors import RangeError, TableError
from combe.planning import DistrictPeople, Districts
from combe.project.given import PeopleSource
from combe.terrain import (
    DistrictMap,
    Labels,
    People,
    PeoplePoints,
    StudyGrid,
    label_cells,
    label_points,
    points_in_grid,
    spread_people,
)
from combe.words import tell

NO_CELLS: Final = (slice(0, 0), slice(0, 0))
"""The frame of a district in which no cell lies."""

_IN_GRID_CELLS: Final = "in the cells of the study grid"


@dataclass(frozen=True)
class PeopleInMemory:
    """People that are held in memory: cells, or places, with or without districts.

    Raises
    ------
    RangeError
        Both cells and places, or neither.
    """

    cells: People | None = None
    points: PeoplePoints | None = None
    districts: DistrictMap | None = None

    def __post_init__(self) -> None:
        if (self.cells is None) == (self.points is None):
            raise RangeError("people", "cells and places" if self.cells else "neither", "cells or places")

    def over(self, grid: StudyGrid) -> PeopleSource:
        """Return the people over a grid."""
        if self.points is not None:
            return people_of_points(self.points, self.districts, grid)
        assert self.cells is not None, "checked when made"
        return people_of_cells(self.cells, self.districts)

    def look(self) -> None:
        """Nothing is opened."""

    def everybody(self, read: People) -> tuple[str, float | None]:
        """Return what they are called, and all of them."""
        return read.source, float(read.counts.sum())


def people_of_cells(people: People, named: DistrictMap | None) -> PeopleSource:
    """Return people of cells, by the districts in which these lie."""
    return PeopleSource(people, _of_cells(named, people) if named else None, drawn=named)


def people_of_districts(named: DistrictMap, grid: StudyGrid) -> PeopleSource:
    """Return the people that districts count, spread evenly over each; raises TableError for none."""
    if named.people is None:
        problem = "its districts count nobody"
        raise TableError(
            Path(named.source), problem, "give each a number people, or name people.raster or points too"
        )
    return people_of_cells(spread_people(named, grid.crs, grid.cell_size_m), named)


def _of_cells(named: DistrictMap, people: People) -> Districts:
    # scipy.ndimage takes a tenth of a second to import, and most projects have no districts.
    from scipy.ndimage import find_objects

    labels = label_cells(named, people)
    frames = find_objects(labels + 1, max_label=len(named.names))

    def people_of(index: int) -> DistrictPeople:
        rows, columns = frames[index] or NO_CELLS
        here = labels[rows, columns] == index
        return DistrictPeople(rows, columns, np.where(here, people.counts[rows, columns], 0.0))

    return Districts(named.names, people_of)


def people_of_points(points: PeoplePoints, named: DistrictMap | None, grid: StudyGrid) -> PeopleSource:
    """Return people at places as counts of the grid's own cells, by the districts in which they live."""
    people = People(
        counts=_gridded(points, grid),
        crs=grid.crs,
        transform=(grid.cell_size_m, 0.0, grid.west_m, 0.0, -grid.cell_size_m, grid.north_m),
        source=tell("{source}, {where}", source=points.source, where=_IN_GRID_CELLS),
        invented=points.invented,
        nodata_cells=0,
    )
    if named is None:
        return PeopleSource(people, None, points)
    labels = label_points(named, points.longitude_deg, points.latitude_deg)
    return PeopleSource(people, _of_points(named, points, grid, labels), points, named)


def _of_points(named: DistrictMap, points: PeoplePoints, grid: StudyGrid, labels: Labels) -> Districts:
    """Return the people of each district in the cells of its own points."""
    row, column = points_in_grid(points, grid)
    order = np.argsort(labels, kind="stable")
    first = np.searchsorted(labels[order], np.arange(len(named.names) + 1))

    def people_of(index: int) -> DistrictPeople:
        own = order[first[index] : first[index + 1]]
        own = own[row[own] >= 0]
        if own.size == 0:
            return DistrictPeople(*NO_CELLS, np.zeros((0, 0)))
        top, left = int(row[own].min()), int(column[own].min())
        counts = np.zeros((int(row[own].max()) - top + 1, int(column[own].max()) - left + 1))
        np.add.at(counts, (row[own] - top, column[own] - left), points.people[own])
        rows, columns = slice(top, top + counts.shape[0]), slice(left, left + counts.shape[1])
        return DistrictPeople(rows, columns, counts)

    return Districts(named.names, people_of)


def _gridded(points: PeoplePoints, grid: StudyGrid) -> FloatArray:
    """Return the people of the points in each cell of the grid, (rows, columns)."""
    row, column = points_in_grid(points, grid)
    inside = row >= 0
    counts = np.zeros((grid.rows, grid.columns))
    np.add.at(counts, (row[inside], column[inside]), points.people[inside])
    return counts
