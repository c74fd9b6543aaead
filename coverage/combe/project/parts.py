"""What of a project can be opened: all of it, or what is sound of a source with faults.

Each part is a maker, so that one that fails is a fault of its own place and the others are still looked at.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from combe.planning import FEWEST_KRIGED, FEWEST_PLACES, SurveyPoint
from combe.project.given import Given, PeopleGiven
from combe.project.project import Project
from combe.project.rules import GridWish, Survey
from combe.stations import Station
from combe.terrain import Features, GroundCover, Terrain, ZoneRaster

COORDINATION_POINTS: Final = "coordination.points"
CONTEXT: Final = "map.context"


@dataclass(frozen=True)
class Site:
    """Where a station stands: its place in the source (``stations[1]``), what it is called, its place."""

    label: str
    words: str
    longitude_deg: float
    latitude_deg: float


@dataclass(frozen=True)
class Parts:
    """The makers of what can be opened, None for what is not there or not sound.

    ``layers`` are vector layers by their place in the source. ``fewest_places`` are asked of a
    survey that is to correct the fields of the stations; 0 of one that is not.
    """

    terrain: Callable[[], Terrain] | None = None
    cover: Callable[[], GroundCover] | None = None
    zones: Callable[[], ZoneRaster] | None = None
    grid: GridWish | None = None
    people: PeopleGiven | None = None
    sites: tuple[Site, ...] = ()
    layers: tuple[tuple[str, Given[Features]], ...] = ()
    survey: Given[tuple[SurveyPoint, ...]] | None = field(default=None)
    fewest_places: int = 0


def sites_of(project: Project, stations: tuple[Station, ...] | None = None) -> tuple[Site, ...]:
    """Return where the stations of a project stand: all, or some."""
    chosen = project.stations if stations is None else [each for each in project.stations if each in stations]
    return tuple(
        Site(project.label_of(each), f'station "{each.name}"', each.longitude_deg, each.latitude_deg)
        for each in chosen
    )


def parts_of(project: Project) -> Parts:
    """Return the whole of a project."""
    cover, zones, siting, asked = project.cover, project.zones, project.siting, project.coordination
    keys = () if siting is None else ("inside", "outside", "border", "access")
    named = [(f"siting.{key}", getattr(siting, key)) for key in keys]
    named += [(COORDINATION_POINTS, each) for each in (asked.layers if asked else ())]
    named += [(f"{CONTEXT}[{index}]", each.layer) for index, each in enumerate(project.context)]
    return Parts(
        terrain=lambda: project.terrain,
        cover=None if cover is None else lambda: cover,
        zones=None if zones is None else lambda: zones,
        grid=project.grid,
        people=project.people,
        sites=sites_of(project),
        layers=tuple((key, layer) for key, layer in named if layer is not None),
        survey=project.survey.points if project.survey else None,
        fewest_places=_fewest_places(project.survey),
    )


def _fewest_places(survey: Survey | None) -> int:
    if survey is None or not survey.apply_correction:
        return 0
    return FEWEST_KRIGED if survey.kriged else FEWEST_PLACES
