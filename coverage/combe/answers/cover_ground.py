"""What a coverage stands on: the grid, the terrain under it, the people in it, what else its map shows."""

from __future__ import annotations

from dataclasses import dataclass

from combe.answers.map_context import DrawnLayer, drawn_context
from combe.planning import Census, take_census
from combe.prediction import Area
from combe.project import PeopleSource, Project, project_area, project_grid, project_people
from combe.terrain import StudyGrid


@dataclass(frozen=True)
class CoverGround:
    """The grid of a project with terrain, people and map; ``people`` and ``census`` None without any."""

    grid: StudyGrid
    area: Area
    people: PeopleSource | None
    census: Census | None
    context: tuple[DrawnLayer, ...] = ()


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
    # First, for it is soon read, and a layer that cannot be used is not told after minutes of work.
    context = drawn_context(project, grid)
    source = project_people(project, grid)
    census = take_census(source.people, grid, source.districts) if source else None
    return CoverGround(grid, project_area(project, grid), source, census, context)
