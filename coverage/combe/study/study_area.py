"""Reads the ground under a study grid with all that lies on it, and says what of it is not known."""

from __future__ import annotations

import numpy as np

from combe.prediction.area import Area, survey_area
from combe.study.resolve import Scene, cover_height_m, ground_height_m, zone_at
from combe.terrain.clutter import clutter_under
from combe.terrain.grid import StudyGrid
from combe.terrain.ground import ground_under
from combe.terrain.zones import UNKNOWN, zones_under


def study_area(scene: Scene, grid: StudyGrid) -> Area:
    """Return the grid with terrain, cover and zones, read once for all stations, those beyond the grid too.

    Raises
    ------
    RasterError, RangeError
        Rasters that cannot be read, a class of cover without a height, a code that is no zone.
    """
    places = [(station.longitude_deg, station.latitude_deg) for station in scene.stations]
    ground = ground_under(scene.terrain, grid, places)
    cover = clutter_under(scene.cover, scene.terrain, grid, ground) if scene.cover else None
    zones = zones_under(scene.zones, scene.terrain, grid, ground) if scene.zones else None
    return survey_area(scene.terrain, grid, cover=cover, zones=zones, ground=ground)


def check_stations(scene: Scene) -> None:
    """Raise TerrainGapError, RasterError or RangeError where the place of a station is not known."""
    for station in scene.stations:
        ground_height_m(scene, station)
        cover_height_m(scene, station)
        zone_at(scene, station)


def unknown_cover(scene: Scene, grid: StudyGrid) -> float:
    """Return the share of the terrain in and around a grid, 0 to 1, whose ground cover is not known.

    Raises
    ------
    RangeError, RasterError
        A class without a height; no cover around a station.
    """
    if scene.cover is None:
        return 0.0
    for station in scene.stations:
        cover_height_m(scene, station)
    return float(np.isnan(clutter_under(scene.cover, scene.terrain, grid)).mean())


def unknown_zones(scene: Scene, grid: StudyGrid) -> float:
    """Return the share of the terrain in and around a grid, 0 to 1, whose zone is not known.

    Raises
    ------
    RangeError, RasterError
        A code that is no zone; no zone around a station.
    """
    if scene.zones is None:
        return 0.0
    for station in scene.stations:
        zone_at(scene, station)
    return float((zones_under(scene.zones, scene.terrain, grid) == UNKNOWN).mean())
