"""Opens all that a project names and finds what of it cannot be used, and stations on no ground."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

import numpy as np

from combe.answers.zone_agreement import ZoneAgreement, zone_agreement
from combe.errors import CombeError, RangeError
from combe.planning import SurveyPoint, places_by_station, require_places
from combe.project.given import Given, PeopleSource
from combe.project.parts import Parts, Site, sites_of
from combe.project.project import Project
from combe.project.service import grid_over
from combe.stations import Station
from combe.terrain import (
    UNKNOWN,
    GroundCover,
    GroundFound,
    StudyGrid,
    Terrain,
    ZoneRaster,
    clutter_heights,
    clutter_under,
    height_at,
    look_at_ground,
    zones_at,
    zones_under,
)
from combe.words import tell

Found = TypeVar("Found")


@dataclass
class Opened:
    """What could be opened, and the faults that were found on the way.

    ``heights_m`` under each site, None without; ``no_cover`` and ``no_zone`` the share of the terrain in and
    around the grid of which these are not known; ``ground`` what of the terrain under it is no ground,
    ``agreement`` how far the zones are those that follow from sea and terrain.
    """

    faults: list[str] = field(default_factory=list)
    terrain: Terrain | None = None
    cover: GroundCover | None = None
    zones: ZoneRaster | None = None
    grid: StudyGrid | None = None
    people: PeopleSource | None = None
    heights_m: tuple[float | None, ...] = ()
    no_cover: float | None = None
    no_zone: float | None = None
    ground: GroundFound | None = None
    agreement: ZoneAgreement | None = None

    def collect(self, place: str, work: Callable[[], Found] | None) -> Found | None:
        """Do a piece of work; note its error under the place in the source and return None."""
        try:
            return None if work is None else work()
        except CombeError as error:
            self.faults.append(tell("{place}: {error}", place=place, error=error))
            return None


def open_parts(parts: Parts) -> Opened:
    """Open all parts; what hangs on something that cannot be used is passed over."""
    found = Opened()
    found.cover = found.collect("clutter", parts.cover)
    found.zones = found.collect("zones", parts.zones)
    found.terrain = found.collect("terrain", parts.terrain)
    found.heights_m = tuple(_stand(found, site) for site in parts.sites)
    if found.terrain is not None and parts.grid is not None:
        _lay(found, parts, found.terrain)
    if parts.people is not None and found.grid is None:
        found.collect("people", parts.people.look)
    for place, layer in parts.layers:
        found.collect(place, layer.read)
    if parts.survey is not None:
        _read_survey(found, parts.survey, parts.fewest_places)
    return found


def _read_survey(found: Opened, survey: Given[tuple[SurveyPoint, ...]], fewest: int) -> None:
    """Read a survey, and note which stations it cannot correct if it is to."""
    points = found.collect("survey.points", survey.read)
    for station, places in places_by_station(points or ()).items() if fewest else ():
        found.collect(
            "survey.apply_correction", partial(require_places, station, places, survey.name, fewest)
        )


def _stand(found: Opened, site: Site) -> float | None:
    """Return the ground under a site, and note where it, its cover or its zone is not known."""
    place = site.longitude_deg, site.latitude_deg
    terrain, cover, zones = found.terrain, found.cover, found.zones
    height_m = None
    if terrain is not None:
        height_m = found.collect(site.label, lambda: height_at(terrain, *place, site.words))
        if height_m is None:
            return None
    if cover is not None:
        _known(found, site, "clutter", lambda: clutter_heights(cover, *place))
    if zones is not None:
        _known(found, site, "zones", lambda: zones_at(zones, *place))
    return height_m


def _known(found: Opened, site: Site, section: str, look: Callable[[], object]) -> None:
    """Note what a raster does not hold at a site, or what it holds there that it must not hold anywhere."""
    try:
        look()
    except RangeError as error:
        found.faults.append(tell("{section}: {error}", section=section, error=error))
    except CombeError as error:
        found.faults.append(
            tell("{label}: {words}: {error}", label=site.label, words=site.words, error=error)
        )


def _lay(found: Opened, parts: Parts, terrain: Terrain) -> None:
    """Lay out the grid, and read what lies in and around it."""
    wish, people = parts.grid, parts.people
    grid = None if wish is None else found.collect("grid", lambda: grid_over(wish, terrain))
    if grid is None:
        return
    found.grid, cover, zones = grid, found.cover, found.zones
    found.ground = found.collect("terrain", lambda: look_at_ground(terrain, grid))
    if people is not None:
        found.people = found.collect("people", lambda: people.over(grid))
    if cover is not None:
        found.no_cover = found.collect("clutter", lambda: _unknown_cover(cover, terrain, grid))
    if zones is not None:
        found.no_zone = found.collect("zones", lambda: _unknown_zones(zones, terrain, grid))
    if zones is not None and zones.against is not None:
        derived = zones.against
        found.agreement = found.collect("zones", lambda: zone_agreement(zones, derived, grid))


def _unknown_cover(cover: GroundCover, terrain: Terrain, grid: StudyGrid) -> float:
    """Return the share of the terrain in and around a grid, 0 to 1, whose ground cover is not known."""
    return float(np.isnan(clutter_under(cover, terrain, grid)).mean())


def _unknown_zones(zones: ZoneRaster, terrain: Terrain, grid: StudyGrid) -> float:
    """Return the share of the terrain in and around a grid, 0 to 1, whose zone is not known."""
    return float((zones_under(zones, terrain, grid) == UNKNOWN).mean())


def check_stations(project: Project, stations: Iterable[Station] | None = None) -> None:
    """Raise StudyError with every station, of all or of some, whose ground, cover or zone is not known."""
    chosen = None if stations is None else tuple(dict.fromkeys(stations))
    found = Opened(terrain=project.terrain, cover=project.cover, zones=project.zones)
    for site in sites_of(project, chosen):
        _stand(found, site)
    if found.faults:
        raise project.error(found.faults)
