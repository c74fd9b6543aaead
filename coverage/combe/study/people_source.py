"""Reads the people of a study, raster or points or districts, and tells who lives in which district."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from scipy.ndimage import find_objects

from combe.decibels import FloatArray
from combe.errors import TableError
from combe.planning.people_count import DistrictPeople, Districts
from combe.study.file import Study, beside
from combe.study.schema import PeopleSection
from combe.terrain.districts import (
    DistrictMap,
    Labels,
    label_cells,
    label_points,
    overlaps,
    read_districts,
    spread_people,
)
from combe.terrain.grid import StudyGrid
from combe.terrain.people_points import PeoplePoints, points_in_grid, read_people_points
from combe.terrain.people_raster import Bounds, People, check_people, read_people

MOST_OVERLAPS: Final = 3
"""Pairs of districts that overlap that are named; of more, only how many there are."""

NO_CELLS: Final = (slice(0, 0), slice(0, 0))
"""The frame of a district in which no cell lies."""

_IN_GRID_CELLS: Final = "in the cells of the study grid"


@dataclass(frozen=True)
class PeopleSource:
    """The people of a study as counts per cell, their districts, and what these were read from.

    Points become counts of the study grid's own cells: where a cell is served, so is everybody in it.
    ``drawn`` are the districts as polygons.
    """

    people: People
    districts: Districts | None = None
    points: PeoplePoints | None = None
    drawn: DistrictMap | None = None


def read_source(study: Study, grid: StudyGrid, area_deg: Bounds) -> PeopleSource | None:
    """Read the people in and around the grid, or return None where the study has no people.

    Raises
    ------
    RasterError, TableError
        A file that cannot be used, lies elsewhere, or counts nobody.
    """
    section = study.content.people
    if section is None:
        return None
    invented = study.content.study.invented
    named = _districts(study, section)
    if section.points is not None:
        points = read_people_points(beside(study, section.points), invented=invented)
        _check_inside(beside(study, section.points), points, grid)
        return _from_points(points, named, grid)
    if section.raster is not None:
        made_up = True if invented else None
        people = read_people(beside(study, section.raster), area_deg=area_deg, invented=made_up)
    else:
        people = _spread(named, grid)
    return PeopleSource(people, _of_cells(named, people) if named else None, drawn=named)


def raster_of_people(study: Study) -> Path | None:
    """Return the raster that people are read from; None where they are read from something else."""
    section = study.content.people
    given = section is not None and section.points is None and section.raster is not None
    return beside(study, str(section.raster)) if section is not None and given else None


def check_files(study: Study) -> None:
    """Open the files of people where it is not known which part of them counts.

    Raises
    ------
    RasterError, TableError
        A file that cannot be used for any area.
    """
    section = study.content.people
    if section is None:
        return
    _districts(study, section)
    if section.points is not None:
        read_people_points(beside(study, section.points))
    if section.raster is not None:
        check_people(beside(study, section.raster))


def _check_inside(file: Path, points: PeoplePoints, grid: StudyGrid) -> None:
    """Refuse points none of which is on the grid: another district's, or in the other order."""
    if not (points_in_grid(points, grid)[0] >= 0).any():
        first = f"the first is longitude {points.longitude_deg[0]:g}, latitude {points.latitude_deg[0]:g}"
        advice = "take the people of this area, and write the longitude first"
        raise TableError(file, f"none of its places is on the study grid, {first}", advice)


def _districts(study: Study, section: PeopleSection) -> DistrictMap | None:
    if section.districts is None:
        return None
    return read_districts(beside(study, section.districts), invented=study.content.study.invented)


def overlap_notes(source: PeopleSource) -> list[str]:
    """Say which districts claim the same place, the worst first."""
    if source.drawn is None:
        return []
    compared = overlaps(source.drawn)
    found = compared.pairs
    notes = [
        f"the districts {each.first} and {each.second} overlap by {each.share:.0%} of the smaller; "
        "who lives there counts for the first"
        for each in found[:MOST_OVERLAPS]
    ]
    if len(found) > MOST_OVERLAPS:
        notes.append(f"{len(found) - MOST_OVERLAPS} more pairs of districts overlap")
    if compared.not_compared:
        more = "" if compared.counted_all else "more than "
        notes.append(
            f"{more}{compared.not_compared} further pairs of districts that may overlap were not compared:"
            " too many"
        )
    return notes


def _spread(named: DistrictMap | None, grid: StudyGrid) -> People:
    assert named is not None, "a checked study has people of one kind"
    if named.people is None:
        problem = "its districts count nobody"
        raise TableError(
            Path(named.source), problem, "give each a number people, or name people.raster or points too"
        )
    return spread_people(named, grid.crs, grid.cell_size_m)


def _of_cells(named: DistrictMap, people: People) -> Districts:
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
