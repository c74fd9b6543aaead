"""Reads the people of a study file, raster or points or districts, and tells who lives in which district."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from combe.decibels import FloatArray
from combe.errors import TableError
from combe.planning.people_count import DistrictPeople, Districts
from combe.project.given import PeopleSource
from combe.terrain.districts import (
    DistrictMap,
    Labels,
    label_cells,
    label_points,
    read_districts,
    spread_people,
)
from combe.terrain.grid import StudyGrid, grid_bounds_deg
from combe.terrain.people_points import PeoplePoints, points_in_grid, read_people_points
from combe.terrain.people_raster import People, check_people, people_of_file, read_people

NO_CELLS: Final = (slice(0, 0), slice(0, 0))
"""The frame of a district in which no cell lies."""

_IN_GRID_CELLS: Final = "in the cells of the study grid"


@dataclass(frozen=True)
class PeopleFiles:
    """The files from which people are read: a raster or points, or districts that count their own.

    ``invented`` tells that the study says they are made up; the files may say so themselves.
    """

    raster: Path | None
    points: Path | None
    districts: Path | None
    invented: bool

    def over(self, grid: StudyGrid) -> PeopleSource:
        """Read the people in and around a grid.

        Raises
        ------
        RasterError, TableError
            A file that cannot be used, lies elsewhere, or counts nobody.
        """
        named = self._districts()
        if self.points is not None:
            points = read_people_points(self.points, invented=self.invented)
            _check_inside(self.points, points, grid)
            return _from_points(points, named, grid)
        if self.raster is not None:
            made_up = True if self.invented else None
            people = read_people(self.raster, area_deg=grid_bounds_deg(grid), invented=made_up)
        else:
            people = _spread(named, grid)
        return PeopleSource(people, _of_cells(named, people) if named else None, drawn=named)

    def look(self) -> None:
        """Open the files where it is not known which part of them counts; errors as of any area."""
        self._districts()
        if self.points is not None:
            read_people_points(self.points)
        if self.raster is not None:
            check_people(self.raster)

    def everybody(self, read: People) -> tuple[str, float | None]:
        """Return the name of the raster and all people in it, None where they are too many to be added up."""
        if self.points is not None or self.raster is None:
            return read.source, float(read.counts.sum())
        return self.raster.name, people_of_file(self.raster, read)

    def _districts(self) -> DistrictMap | None:
        return None if self.districts is None else read_districts(self.districts, invented=self.invented)


def _check_inside(file: Path, points: PeoplePoints, grid: StudyGrid) -> None:
    """Refuse points none of which is on the grid: another district's, or in the other order."""
    if not (points_in_grid(points, grid)[0] >= 0).any():
        first = f"the first is longitude {points.longitude_deg[0]:g}, latitude {points.latitude_deg[0]:g}"
        advice = "take the people of this area, and write the longitude first"
        raise TableError(file, f"none of its places is on the study grid, {first}", advice)


def _spread(named: DistrictMap | None, grid: StudyGrid) -> People:
    assert named is not None, "a checked study has people of one kind"
    if named.people is None:
        problem = "its districts count nobody"
        raise TableError(
            Path(named.source), problem, "give each a number people, or name people.raster or points too"
        )
    return spread_people(named, grid.crs, grid.cell_size_m)


def _of_cells(named: DistrictMap, people: People) -> Districts:
    from scipy.ndimage import find_objects

    labels = label_cells(named, people)
    frames = find_objects(labels + 1, max_label=len(named.names))

    def people_of(index: int) -> DistrictPeople:
        rows, columns = frames[index] or NO_CELLS
        here = labels[rows, columns] == index
        return DistrictPeople(rows, columns, np.where(here, people.counts[rows, columns], 0.0))

    return Districts(named.names, people_of)


def _from_points(points: PeoplePoints, named: DistrictMap | None, grid: StudyGrid) -> PeopleSource:
    people = People(
        counts=_gridded(points, grid),
        crs=grid.crs,
        transform=(grid.cell_size_m, 0.0, grid.west_m, 0.0, -grid.cell_size_m, grid.north_m),
        source=f"{points.source}, {_IN_GRID_CELLS}",
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
