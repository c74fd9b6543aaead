"""Opens the rasters of a study and finds what of them cannot be used, and stations on no ground."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

from combe.errors import CombeError, RangeError
from combe.planning.survey_file import read_survey
from combe.stations.transmitter import Station
from combe.study.people_source import PeopleSource, check_files
from combe.study.resolve import (
    Scene,
    grid_over,
    resolve_cover,
    resolve_source,
    resolve_terrain,
    resolve_zones,
)
from combe.study.sound_parts import Site, SoundParts, sites_of
from combe.study.study_area import unknown_cover, unknown_zones
from combe.terrain.clutter import GroundCover, clutter_heights
from combe.terrain.features import read_features
from combe.terrain.grid import StudyGrid
from combe.terrain.sampling import height_at
from combe.terrain.tiles import Terrain
from combe.terrain.zones import ZoneRaster, zones_at

Found = TypeVar("Found")


@dataclass
class Opened:
    """What of a study could be opened, and the faults that were found on the way.

    ``heights_m`` under each site, None without; ``no_cover`` and ``no_zone`` the share of the terrain in and
    around the grid of which these are not known.
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

    def collect(self, place: str, work: Callable[[], Found]) -> Found | None:
        """Do a piece of work; note its error under the place in the file and return None."""
        try:
            return work()
        except CombeError as error:
            self.faults.append(f"{place}: {error}")
            return None


def open_parts(parts: SoundParts) -> Opened:
    """Open all that is sound of a study; what hangs on something faulty is passed over."""
    found, study = Opened(), parts.study
    if "clutter" in parts.sections:
        found.cover = found.collect("clutter", lambda: resolve_cover(study))
    if "zones" in parts.sections:
        found.zones = found.collect("zones", lambda: resolve_zones(study))
    if "terrain" in parts.sections:
        found.terrain = found.collect("terrain", lambda: resolve_terrain(study))
    found.heights_m = tuple(_stand(found, site) for site in parts.sites)
    if found.terrain is not None and "grid" in parts.sections:
        _lay(found, parts, found.terrain)
    if "people" in parts.sections and found.grid is None:
        found.collect("people", lambda: check_files(study))
    for layer in parts.layers:
        found.collect(layer.key, partial(read_features, layer.path))
    survey = parts.survey
    if survey is not None:
        found.collect("survey.points", lambda: read_survey(survey.path, survey.services))
    return found


def _stand(found: Opened, site: Site) -> float | None:
    """Return the ground under a site, and note where it, its cover or its zone is not known."""
    place = site.longitude_deg, site.latitude_deg
    terrain, cover, zones = found.terrain, found.cover, found.zones
    height_m = None
    if terrain is not None:
        height_m = found.collect(site.key, lambda: height_at(terrain, *place, site.words))
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
        found.faults.append(f"{section}: {error}")
    except CombeError as error:
        found.faults.append(f"{site.key}: {site.words}: {error}")


def _lay(found: Opened, parts: SoundParts, terrain: Terrain) -> None:
    """Lay out the grid, and read what lies in and around it."""
    grid = found.collect("grid", lambda: grid_over(parts.study, terrain))
    if grid is None:
        return
    found.grid, cover, zones = grid, found.cover, found.zones
    if "people" in parts.sections:
        found.people = found.collect("people", lambda: resolve_source(parts.study, grid))
    if cover is not None:
        found.no_cover = found.collect("clutter", lambda: unknown_cover(cover, terrain, grid))
    if zones is not None:
        found.no_zone = found.collect("zones", lambda: unknown_zones(zones, terrain, grid))


def check_stations(scene: Scene, stations: Iterable[Station] | None = None) -> None:
    """Raise StudyError with every station, of all or of some, whose ground, cover or zone is not known."""
    names = None if stations is None else {station.name for station in stations}
    found = Opened(terrain=scene.terrain, cover=scene.cover, zones=scene.zones)
    for site in sites_of(scene.study, names):
        _stand(found, site)
    if found.faults:
        raise scene.study.error(found.faults)
