"""Turns a checked study into what the engine works with: terrain, grid, air, system, stations, feeds."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from combe.errors import RangeError
from combe.prediction.conditions import Conditions
from combe.propagation.p1812.zones import ZONE_NAMES
from combe.standards.channels import centre_frequency_mhz
from combe.standards.land_cover import class_heights_m, legend_named, read_heights_m
from combe.standards.systems import TelevisionSystem, planning_field, television_system
from combe.stations.pattern import Pattern, PatternKind
from combe.stations.pattern_file import read_pattern
from combe.stations.transmitter import Service, Station
from combe.study.faults import did_you_mean
from combe.study.feed_schema import FeedSection
from combe.study.file import Study, beside
from combe.study.people_source import PeopleSource, read_source
from combe.study.schema import ClutterSection, ServiceSection, StationSection
from combe.study.section import OMNI
from combe.terrain.clutter import GroundCover, open_cover
from combe.terrain.cover_step import COVER_STEP_M
from combe.terrain.grid import StudyGrid, make_grid, to_lonlat_deg
from combe.terrain.people_raster import People
from combe.terrain.sampling import height_at
from combe.terrain.tiles import Terrain, open_terrain
from combe.terrain.zones import ZoneRaster, open_zones


@dataclass(frozen=True)
class Scene:
    """A study as the engine sees it: everything but the grid's heights, which are read when needed.

    ``conditions`` are for the median of time; those by which service is judged are
    :func:`service_conditions`, and those of the paths that are only shown :func:`shown_conditions`.
    """

    study: Study
    terrain: Terrain
    cover: GroundCover | None
    zones: ZoneRaster | None
    conditions: Conditions
    television: TelevisionSystem
    stations: tuple[Station, ...]


def resolve(study: Study) -> Scene:
    """Open the terrain and build the domain objects of a study.

    Raises
    ------
    RasterError, TableError
        A terrain tile, ground cover or zones that cannot be used.
    PatternError, ChannelError, RangeError
        Only for files that changed since the study was loaded.
    """
    cover = resolve_cover(study)
    return Scene(
        study=study,
        terrain=resolve_terrain(study),
        cover=cover,
        zones=resolve_zones(study),
        conditions=resolve_conditions(study, cover),
        television=resolve_television(study),
        stations=resolve_stations(study),
    )


def resolve_terrain(study: Study) -> Terrain:
    """Open the study's elevation tiles as one mosaic."""
    section = study.content.terrain
    return open_terrain(
        [beside(study, tile) for tile in section.tiles],
        crs=section.crs,
        vertical_datum=section.vertical_datum,
        surface_model=section.surface_model,
        credit=section.credit,
    )


def resolve_grid(scene: Scene) -> StudyGrid:
    """Lay out the study grid; raises RangeError or TerrainGapError where the study asks the impossible."""
    return grid_over(scene.study, scene.terrain)


def grid_over(study: Study, terrain: Terrain) -> StudyGrid:
    """Lay out the grid of a study over its terrain; errors as :func:`resolve_grid`."""
    section = study.content.grid
    crs = None if section.crs == "auto" else section.crs
    return make_grid(terrain, cell_size_m=section.cell_size_m, crs=crs, area_deg=section.area_deg)


def resolve_conditions(study: Study, cover: GroundCover | None = None) -> Conditions:
    """Return the model and its air as written, for the median of time; what is not written is the model's."""
    air = study.content.air
    return Conditions(
        model=study.content.study.model,
        effective_radius_km=math.nan if air.effective_radius_km is None else air.effective_radius_km,
        delta_n=math.nan if air.delta_n is None else air.delta_n,
        n0=air.n0,
        clutter=cover.words if cover else "",
    )


def service_conditions(scene: Scene) -> Conditions:
    """Return model and air of the fields by which service is judged: for the time of the planning standard.

    ``air.time_percent`` has no part in it. A model without statistics of time gives its median, which
    :func:`combe.study.provenance.time_words` tells.
    """
    if scene.conditions.model != "p1812":
        return scene.conditions
    return replace(scene.conditions, time_percent=scene.television.wanted_time_percent)


def shown_conditions(scene: Scene) -> Conditions:
    """Return model and air of a path that is only shown: for the share of time that the study asks."""
    return replace(scene.conditions, time_percent=scene.study.content.air.time_percent)


def resolve_cover(study: Study) -> GroundCover | None:
    """Open the study's ground cover, or return None where it has none.

    Raises
    ------
    RasterError, TableError
        A raster or a table of heights that cannot be used.
    """
    section = study.content.clutter
    if section is None:
        return None
    heights = None if section.canopy else _class_heights(study, section)
    looked_at = f"looked at every {COVER_STEP_M:g} m and added between the aerials, not at them"
    words = f"{section.raster}; {_cover_words(section)}; {looked_at}"
    return open_cover([beside(study, section.raster)], class_height_m=heights, crs=section.crs, words=words)


def _class_heights(study: Study, section: ClutterSection) -> dict[int, float]:
    """Return the heights [m] of classes: the legend's, and over them those of the study's own table."""
    shipped = class_heights_m(legend_named(section.legend)) if section.legend else {}
    return shipped | (read_heights_m(beside(study, section.heights)) if section.heights else {})


def _cover_words(section: ClutterSection) -> str:
    """Say where the heights of cover are from."""
    if section.canopy:
        return "heights of the raster, interpolated"
    parts = [f"heights of {section.heights}"] if section.heights else []
    if section.legend:
        parts.append(f"shipped heights for classes of {legend_named(section.legend).title}, a rough guide")
    return ", then ".join(parts) + ", nearest cell"


def resolve_zones(study: Study) -> ZoneRaster | None:
    """Open the study's zones of sea and land, or return None where it has none; raises RasterError."""
    section = study.content.zones
    if section is None:
        return None
    codes = ", ".join(f"{code} {name}" for code, name in ZONE_NAMES.items())
    words = f"{section.raster}; {codes}; nearest cell"
    return open_zones([beside(study, section.raster)], names=ZONE_NAMES, crs=section.crs, words=words)


def resolve_television(study: Study) -> TelevisionSystem:
    """Return the television system in the study's mode."""
    section = study.content.television
    return television_system(section.system, section.modulation, section.code_rate, section.channel_model)


def resolve_stations(study: Study) -> tuple[Station, ...]:
    """Return the stations in the order of the file."""
    return tuple(_station(study, section) for section in study.content.stations)


def resolve_people(study: Study, grid: StudyGrid) -> People | None:
    """Read the people in and around the grid, or return None where the study has no people.

    Raises
    ------
    RasterError, TableError
        A file of people or districts that cannot be used or lies elsewhere.
    """
    found = resolve_source(study, grid)
    return None if found is None else found.people


def resolve_source(study: Study, grid: StudyGrid) -> PeopleSource | None:
    """Read the people with their districts and points; None and errors as :func:`resolve_people`."""
    return read_source(study, grid, grid_bounds_deg(grid))


def feeds(scene: Scene) -> list[tuple[Station, FeedSection]]:
    """Return each relay with its feed, in the order of the file."""
    sections = zip(scene.stations, scene.study.content.stations, strict=True)
    return [(station, section.feed) for station, section in sections if section.feed is not None]


def station_named(scene: Scene, name: str) -> Station:
    """Return the station of a name, letter case aside; raises RangeError with the nearest name."""
    for station in scene.stations:
        if station.name.casefold() == name.casefold():
            return station
    names = [station.name for station in scene.stations]
    advice = did_you_mean(name, names)
    raise RangeError(
        "station", f'"{name}"', ", ".join(names), advice if advice.startswith("did") else "see combe check"
    )


def ground_height_m(scene: Scene, station: Station) -> float:
    """Return the ground height [m] under a station; raises TerrainGapError naming the station and tile."""
    what = f'station "{station.name}"'
    return height_at(scene.terrain, station.longitude_deg, station.latitude_deg, what)


def raster_name(scene: Scene) -> str:
    """Return the name of the channel raster: the study's, or that of the system."""
    return scene.study.content.television.channel_raster or scene.television.channel_raster


def location_percent(scene: Scene) -> float:
    """Return the share of places to be served [%]: the study's, or that of the system's planning."""
    percent = scene.study.content.television.location_percent
    return scene.television.location_percent if percent is None else percent


class MinimumField(NamedTuple):
    """Field of the planning standard: the least median, and the least at one place [dB(µV/m)]; σ [dB]."""

    median_dbuv_m: float
    at_a_place_dbuv_m: float
    location_deviation_db: float


def minimum_field(scene: Scene, frequency_mhz: float) -> MinimumField:
    """Return the planning standard's minimum field at a frequency [MHz]."""
    found = planning_field(scene.television, frequency_mhz, location_percent(scene))
    median_dbuv_m = found.median_field_dbuv_m
    return MinimumField(
        median_dbuv_m, median_dbuv_m - found.location_correction_db, found.location_deviation_db
    )


def minimum_field_dbuv_m(scene: Scene, frequency_mhz: float) -> float:
    """Return the planning standard's minimum median field [dB(µV/m)] at a frequency [MHz]."""
    return minimum_field(scene, frequency_mhz).median_dbuv_m


def grid_bounds_deg(grid: StudyGrid) -> tuple[float, float, float, float]:
    """Return (west, south, east, north) [degrees] of the grid's outer edge.

    West is below east always, so one of them is beyond 180° where the grid crosses the antimeridian.
    """
    along = np.linspace(0.0, 1.0, 21)
    x = grid.west_m + along * grid.columns * grid.cell_size_m
    y = grid.north_m - along * grid.rows * grid.cell_size_m
    across, down = np.meshgrid(x, y)
    lon, lat = to_lonlat_deg(grid, across, down)
    lon = lon.flat[0] + (lon - lon.flat[0] + 180.0) % 360.0 - 180.0
    return float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max())


def _station(study: Study, section: StationSection) -> Station:
    return Station(
        name=section.name,
        role=section.role,
        longitude_deg=section.longitude_deg,
        latitude_deg=section.latitude_deg,
        aerial_height_m=section.aerial_height_m,
        polarization=section.polarization,
        services=tuple(_service(study, service) for service in section.services),
        horizontal_pattern=resolve_pattern(study, section.horizontal_pattern, "horizontal"),
        vertical_pattern=resolve_pattern(study, section.vertical_pattern, "vertical"),
        parent=section.feed.from_ if section.feed else None,
    )


def _service(study: Study, section: ServiceSection) -> Service:
    raster = study.content.television.channel_raster or resolve_television(study).channel_raster
    frequency_mhz = centre_frequency_mhz(raster, section.channel)
    return Service(
        section.name,
        section.channel,
        frequency_mhz,
        section.erp_w,
        offset_twelfths=section.offset_twelfths or 0,
        precision_offset=bool(section.precision_offset),
        offset_khz=section.offset_khz or 0.0,
    )


def resolve_pattern(study: Study, name: str, kind: PatternKind) -> Pattern | None:
    """Read a pattern that the study names; None for an aerial that radiates alike in all directions."""
    return None if name == OMNI else read_pattern(beside(study, name), kind)
