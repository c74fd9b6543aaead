"""A coverage that follows changes: the answer of ``combe cover``, asked again and again of one study.

Ground, people, fields and judged maps stay in memory, so a station that moves costs its own prediction and
the judging of the cells that it touches. A coarse one, on every third cell a side, is quick enough to follow
a hand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from combe.answers.corrections import corrections_of
from combe.answers.cover import CoverReport, cover_report
from combe.answers.cover_ground import CoverGround, cover_ground
from combe.answers.cover_run import map_reader, run_network
from combe.answers.ground_check import check_stations
from combe.answers.network import ALL_SERVICES, Network, count_network
from combe.answers.relay_site import Known
from combe.answers.workspace import HeldWorkspace, Progress
from combe.errors import Cancelled
from combe.prediction import FieldMemory
from combe.project import Project
from combe.terrain import StudyGrid, in_grid, to_grid_m

Stop = Callable[[], bool]
"""Tells whether what is being worked out is no longer asked for."""

SPARE_BYTES: Final = 128 << 20
"""How much fields may take that the present state does not use; what was not used for longest goes first."""


def never() -> bool:
    """Tell that it is still asked for."""
    return False


@dataclass(frozen=True)
class Sketch:
    """Who has all services, roughly: a coarser grid than the study's, and the network over it."""

    grid: StudyGrid
    all_services: Network


def _until(stop: Stop, progress: Progress | None = None) -> Progress:
    """Return what gives up when it is told of progress and should stop, and else tells it on."""

    def told(done: int, steps: int, what: str) -> None:
        if stop():
            raise Cancelled
        if progress is not None:
            progress(done, steps, what)

    return told


def _coarser(project: Project, every: int) -> Project:
    cell_size_m = every * project.grid.cell_size_m
    return replace(project, grid=replace(project.grid, cell_size_m=cell_size_m))


def _field_bytes(project: Project, grid: StudyGrid) -> int:
    """Return what all fields of a project take, for the median and for the little time of interferers."""
    services = sum(len(station.services) for station in project.stations)
    return 2 * np.dtype(np.float32).itemsize * services * grid.rows * grid.columns


class _Kept(NamedTuple):
    """What is kept of one ground: all of the project that it hangs on, itself, fields and maps, and feeds."""

    given: tuple[object, ...]
    ground: CoverGround
    place: HeldWorkspace
    feeds: Known


def _given(project: Project, grid: StudyGrid) -> tuple[object, ...]:
    """Return what the ground hangs on; it reaches as far as stations beyond the grid are."""
    places = [(each.longitude_deg, each.latitude_deg) for each in project.stations]
    beyond = [place for place in places if not in_grid(grid, *to_grid_m(grid, *place))]
    return project.terrain, project.cover, project.zones, project.grid, project.people, *beyond


class LiveCover:
    """Answers who is served for one project after another over the same ground.

    Parameters
    ----------
    every
        How many cells of the study's grid lie along a side of a cell of a sketch; 1 for whole answers.
    spare_bytes
        How much fields of earlier states may take.
    """

    def __init__(self, every: int = 1, spare_bytes: int = SPARE_BYTES) -> None:
        self.every = every
        self._spare_bytes = spare_bytes
        self._kept: _Kept | None = None

    def cover(self, project: Project, stop: Stop = never, progress: Progress | None = None) -> CoverReport:
        """Return the coverage of a project, the same numbers as of :func:`combe.answers.cover.cover_report`.

        ``progress`` is told how far that is.

        Raises
        ------
        Cancelled
            It was told to stop; what was known stays known.
        StudyError, TerrainGapError, RasterError, RangeError
            As that.
        """
        check_stations(project)
        kept, told = self._over(project), _until(stop, progress)
        return cover_report(
            project, told, feeds=True, ground=kept.ground, place=kept.place, known_feeds=kept.feeds
        )

    def sketch(self, project: Project, stop: Stop = never) -> Sketch:
        """Return who has all services, by cells as coarse as this is; errors as :meth:`cover`."""
        check_stations(project)
        project = _coarser(project.received_by(project.way), self.every)
        kept, corrections = self._over(project), corrections_of(project)
        ground = kept.ground
        run = run_network(project, ground.area, corrections, progress=_until(stop), place=kept.place)
        judged = project.interference.counted
        everything = count_network(ALL_SERVICES, map_reader(run, 0), ground.census, judged=judged)
        return Sketch(ground.grid, everything)

    def _over(self, project: Project) -> _Kept:
        """Return what is kept of the project's ground, made anew where that is another."""
        kept = self._kept
        if kept is None or kept.given != _given(project, kept.ground.grid):
            ground = self._surveyed(project)
            memory = FieldMemory(ground.area, _field_bytes(project, ground.grid) + self._spare_bytes)
            given = _given(project, ground.grid)
            kept = self._kept = _Kept(given, ground, HeldWorkspace(memory), Known())
        return kept

    def _surveyed(self, project: Project) -> CoverGround:
        """Return the ground; for a coarse answer rays are as coarse as its cells."""
        ground = cover_ground(project)
        if self.every == 1:
            return ground
        step_m = max(ground.area.step_m, ground.grid.cell_size_m / 2.0)
        return replace(ground, area=replace(ground.area, step_m=step_m))
