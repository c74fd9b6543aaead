"""Reads the ground under a study grid with all that lies on it, and says what of it is not known."""

from __future__ import annotations

import numpy as np

from combe.prediction.area import Area, survey_area
from combe.study.resolve import Scene
from combe.terrain.clutter import GroundCover, clutter_under
from combe.terrain.grid import StudyGrid
from combe.terrain.ground import ground_under
from combe.terrain.tiles import Terrain
from combe.terrain.zones import UNKNOWN, ZoneRaster, zones_under


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


def unknown_cover(cover: GroundCover, terrain: Terrain, grid: StudyGrid) -> float:
    """Return the share of the terrain in and around a grid, 0 to 1, whose ground cover is not known.

    Raises
    ------
    RangeError, RasterError
        A class without a height; a raster that cannot be read.
    """
    return float(np.isnan(clutter_under(cover, terrain, grid)).mean())


def unknown_zones(zones: ZoneRaster, terrain: Terrain, grid: StudyGrid) -> float:
    """Return the share of the terrain in and around a grid, 0 to 1, whose zone is not known.

    Raises
    ------
    RangeError, RasterError
        A code that is no zone; a raster that cannot be read.
    """
    return float((zones_under(zones, terrain, grid) == UNKNOWN).mean())
