"""What a coverage stands on: the grid, the terrain under it, the people in it; one for all changes."""

from __future__ import annotations

from dataclasses import dataclass

from combe.planning import Census, take_census
from combe.prediction import Area
from combe.project import PeopleSource, Project, project_area, project_grid, project_people
from combe.terrain import StudyGrid


@dataclass(frozen=True)
class CoverGround:
    """The grid of a project with its terrain and its people; ``people`` and ``census`` None without any."""

    grid: StudyGrid
    area: Area
    people: PeopleSource | None
    census: Census | None


def cover_ground(project: Project) -> CoverGround:
    """Read what a coverage stands on.

    Raises
    ------
    RasterError, TableError
        Rasters or tables that cannot be used.
    RangeError, TerrainGapError
        A class without a height, no zone, or an impossible grid.
    """
    grid = project_grid(project)
    source = project_people(project, grid)
    census = take_census(source.people, grid, source.districts) if source else None
    return CoverGround(grid, project_area(project, grid), source, census)
