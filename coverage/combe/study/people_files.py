"""Reads the people of a study file, raster or points or districts, and tells who lives in which district."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from combe.errors import TableError
from combe.project import PeopleSource, people_of_cells, people_of_districts, people_of_points
from combe.tables import Layout
from combe.terrain import (
    DistrictMap,
    People,
    PeoplePoints,
    StudyGrid,
    check_people,
    grid_bounds_deg,
    people_of_file,
    points_in_grid,
    read_districts,
    read_people,
    read_people_points,
)


@dataclass(frozen=True)
class PeopleFiles:
    """The files from which people are read: a raster or points, or districts that count their own.

    ``invented`` tells that the study says they are made up; the files may say so themselves. ``density``
    tells that a raster or districts hold people per square kilometre, the layouts how tables are written.
    """

    raster: Path | None
    points: Path | None
    districts: Path | None
    invented: bool
    density: bool = False
    layout: Layout = Layout()  # noqa: RUF009 (frozen)
    district_layout: Layout = Layout(key="district_columns")  # noqa: RUF009 (frozen)

    def over(self, grid: StudyGrid) -> PeopleSource:
        """Read the people in and around a grid.

        Raises
        ------
        RasterError, TableError
            A file that cannot be used, lies elsewhere, or counts nobody.
        """
        named = self._districts()
        if self.points is not None:
            points = read_people_points(self.points, layout=self.layout, invented=self.invented)
            _check_inside(self.points, points, grid)
            return people_of_points(points, named, grid)
        if self.raster is not None:
            made_up = True if self.invented else None
            area_deg = grid_bounds_deg(grid)
            cells = read_people(self.raster, area_deg=area_deg, invented=made_up, density=self.density)
            return people_of_cells(cells, named)
        assert named is not None, "a checked study has people of one kind"
        return people_of_districts(named, grid)

    def look(self) -> None:
        """Open the files where it is not known which part of them counts; errors as of any area."""
        self._districts()
        if self.points is not None:
            read_people_points(self.points, layout=self.layout)
        if self.raster is not None:
            check_people(self.raster)

    def everybody(self, read: People) -> tuple[str, float | None]:
        """Return the name of the raster and all people in it, None where they are too many to be added up."""
        if self.points is not None or self.raster is None:
            return read.source, float(read.counts.sum())
        return self.raster.name, people_of_file(self.raster, read, density=self.density)

    def _districts(self) -> DistrictMap | None:
        if self.districts is None:
            return None
        counted = self.density and self.points is None and self.raster is None
        return read_districts(
            self.districts, layout=self.district_layout, density=counted, invented=self.invented
        )


def _check_inside(file: Path, points: PeoplePoints, grid: StudyGrid) -> None:
    """Refuse points none of which is on the grid: another district's, or in the other order."""
    if not (points_in_grid(points, grid)[0] >= 0).any():
        first = f"the first is longitude {points.longitude_deg[0]:g}, latitude {points.latitude_deg[0]:g}"
        advice = "take the people of this area; or are longitude and latitude exchanged, or is crs another?"
        raise TableError(file, f"none of its places is on the study grid, {first}", advice)
