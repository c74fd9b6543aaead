"""What of a project is read when it is asked for: people, layers of a map, measured points.

Terrain, cover and zones are read block by block by the objects of :mod:`combe.terrain`. The rest is small,
but costs libraries and time that most questions do not need, so a project holds how to read it. A project
made in memory holds the thing itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, Protocol, TypeVar

from combe.planning import Districts
from combe.terrain import DistrictMap, People, PeoplePoints, StudyGrid

Read = TypeVar("Read", covariant=True)


@dataclass(frozen=True)
class Given(Generic[Read]):
    """Something with a name that is read when it is asked for; ``read`` raises what its reader does.

    ``key`` is the name in full, for reports.
    """

    name: str
    read: Callable[[], Read] = field(repr=False, compare=False)
    key: str = ""


@dataclass(frozen=True)
class InputFile:
    """A file as a study names it, its size, and its SHA-256; None and empty where it cannot be read."""

    name: str
    bytes: int | None
    sha256: str


@dataclass(frozen=True)
class PeopleSource:
    """The people of a project as counts per cell, their districts, and what these were read from.

    Points become counts of the study grid's own cells: where a cell is served, so is everybody in it.
    ``drawn`` are the districts as polygons.
    """

    people: People
    districts: Districts | None = None
    points: PeoplePoints | None = None
    drawn: DistrictMap | None = None


class PeopleGiven(Protocol):
    """Where people are read from, over whatever grid is asked."""

    def over(self, grid: StudyGrid) -> PeopleSource:
        """Return the people in and around a grid.

        Raises
        ------
        RasterError, TableError
            What cannot be used, lies elsewhere, or counts nobody.
        """
        ...

    def look(self) -> None:
        """Look at the sources where no grid is known; raises RasterError or TableError for unusable ones."""
        ...

    def everybody(self, read: People) -> tuple[str, float | None]:
        """Return what the people are called, and how many there are, those who were not read among them.

        None where these are too many to be added up.
        """
        ...
