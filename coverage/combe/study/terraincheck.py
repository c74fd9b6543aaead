"""Finds what of a study's elevation and sea does not fit together: a fill or a sea that is told by half."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePath
from typing import Final

from combe.study.crosscheck import Table, section_of, tables_of
from combe.study.fault import Fault, Place, missing

_VECTOR_ENDS: Final = (".gpkg", ".geojson", ".json")


def elevations_of(table: Table) -> list[tuple[Place, Table]]:
    """Return the sections of a study that name elevation, each with its place."""
    terrain = section_of(table, "terrain")
    beyond = [(("terrain", "beyond", index), each) for index, each in tables_of(terrain, "beyond")]
    return [(("terrain",), terrain), *beyond]


def has_surface_model(table: Table) -> bool:
    """Tell whether any elevation of a study holds trees and roofs."""
    return any(each.get("surface_model") is True for _, each in elevations_of(table))


def terrain_faults(table: Table) -> Iterator[Fault]:
    """Yield the faults of fills: a method without its distance, or a distance without a method."""
    for place, section in elevations_of(table):
        if "fill_voids" in section and "fill_within_m" not in section:
            yield missing(
                (*place, "fill_within_m"), "write how far known ground may be [m], for example 300.0"
            )
        elif "fill_within_m" in section and "fill_voids" not in section:
            yield missing((*place, "fill_voids"), 'write "inverse distance", or take fill_within_m out')


def is_vector(name: str) -> bool:
    """Tell whether a file of the sea has polygons and no cells, by how its name ends."""
    return PurePath(name).suffix.lower() in _VECTOR_ENDS


def zone_source_faults(table: Table) -> Iterator[Fault]:
    """Yield what of the section on zones does not fit together."""
    if "zones" not in table:
        return
    section = section_of(table, "zones")
    sea = section.get("sea")
    if "raster" not in section and sea is None:
        yield missing(
            ("zones", "raster"), 'write raster = "zones.tif", or sea = ["water.tif"] to derive zones'
        )
    for key in ("sea_codes", "polygons", "sea_at", "lakes"):
        if key in section and sea is None:
            words = "says how zones are derived, and sea is missing; write sea, or take it out"
            yield Fault(("zones", key), words)
    yield from _sea_faults(
        section, [each for each in sea if isinstance(each, str)] if isinstance(sea, list) else []
    )


def _sea_faults(section: Table, files: list[str]) -> Iterator[Fault]:
    """Yield what the files of the sea are not, and the keys that do not go with their kind."""
    vectors = [each for each in files if is_vector(each)]
    if vectors and len(files) > 1:
        yield Fault(("zones", "sea"), "polygons are one file, and rasters may be several; name one kind")
    elif vectors and "polygons" not in section:
        yield missing(("zones", "polygons"), 'write "sea" or "land", as the polygons are')
    elif vectors and "sea_codes" in section:
        yield Fault(("zones", "sea_codes"), "polygons have no classes; take it out")
    elif files and not vectors and "polygons" in section:
        yield Fault(("zones", "polygons"), "a raster has no polygons; take it out, or write sea_codes")
