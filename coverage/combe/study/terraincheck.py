"""Finds what of a study's elevation does not fit together: a fill told by half, surface models and cover."""

from __future__ import annotations

from collections.abc import Iterator

from combe.study.crosscheck import Table, section_of, tables_of
from combe.study.fault import Fault, Place, missing


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
