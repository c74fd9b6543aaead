"""Opens the zones of a study: its raster of them, or what is derived from the sea and the terrain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from combe.project import Given, grid_over
from combe.propagation.p1812 import COASTAL, INLAND, SEA, ZONE_NAMES
from combe.study.file import Study, beside
from combe.study.terrain_of import grid_wish, open_study_terrain
from combe.study.terraincheck import is_vector
from combe.study.zones_schema import ZonesSection
from combe.terrain import (
    COAST_KM,
    COAST_M,
    CoastQuestion,
    Features,
    SeaSource,
    Terrain,
    ZoneCodes,
    ZoneRaster,
    coast_window,
    derived_zones,
    open_terrains,
    open_zones,
    read_features,
)

_SEA_CODES: Final = (1,)


def open_study_zones(study: Study, terrain: Terrain | None = None) -> ZoneRaster | None:
    """Open the zones of a study, None where it has none; its raster of them goes before what is derived.

    Parameters
    ----------
    terrain
        The study's elevation, where it is open; zones may be derived from it.

    Raises
    ------
    RasterError, RangeError, TerrainGapError
        A raster or an area that cannot be used.
    """
    section = study.content.zones
    if section is None:
        return None
    derived = _derived(study, section, terrain or open_study_terrain(study)) if section.sea else None
    if section.raster is None:
        return derived
    codes = ", ".join(f"{code} {name}" for code, name in ZONE_NAMES.items())
    words = f"{section.raster}; {codes}; nearest cell"
    given = open_zones([beside(study, section.raster)], names=ZONE_NAMES, crs=section.crs, words=words)
    return replace(given, against=derived)


def _derived(study: Study, section: ZonesSection, terrain: Terrain) -> ZoneRaster:
    """Return zones that are worked out of the sea and the terrain when they are first asked for."""
    places = tuple((each.longitude_deg, each.latitude_deg) for each in study.content.stations)
    window = coast_window(grid_over(grid_wish(study.content.grid), terrain), places)
    numbers = ZoneCodes(SEA, COASTAL, INLAND)
    question = CoastQuestion(terrain, _source(study, section), numbers, window)
    name = f"zones derived from {', '.join(section.sea)}"
    words = "; ".join([name, *_source_words(section), _rule_words(window.cell_size_m)])
    return ZoneRaster(derived_zones(question, name), ZONE_NAMES, words)


def _source(study: Study, section: ZonesSection) -> SeaSource:
    lakes = None if section.lakes is None else _layer(study, section.lakes)
    places = tuple((lon, lat) for lon, lat in section.sea_at)
    if is_vector(section.sea[0]):
        layer, are_land = _layer(study, section.sea[0]), section.polygons == "land"
        return SeaSource(polygons=layer, are_land=are_land, places=places, lakes=lakes)
    paths = [beside(study, each) for each in section.sea]
    masks = open_terrains(paths, crs=section.crs, codes=True)
    return SeaSource(masks, section.sea_codes or _SEA_CODES, places=places, lakes=lakes)


def _layer(study: Study, name: str) -> Given[Features]:
    return Given(name, partial(read_features, beside(study, name)))


def _source_words(section: ZonesSection) -> Iterator[str]:
    if is_vector(section.sea[0]):
        yield f"polygons of the {section.polygons}"
    else:
        yield f"sea is class {', '.join(str(each) for each in section.sea_codes or _SEA_CODES)}"
    if section.sea_at:
        places = "; ".join(f"{lon:g}, {lat:g}" for lon, lat in section.sea_at)
        yield f"of that what hangs together with {places}"
    if section.lakes:
        yield f"lakes of {section.lakes} count as sea"


def _rule_words(cell_m: float) -> str:
    return (
        f"coastal land lies up to {COAST_M:g} m, up to {COAST_KM:g} km from the sea, and hangs together with "
        f"it over such land (ITU-R P.1812); cells of {cell_m:g} m"
    )
