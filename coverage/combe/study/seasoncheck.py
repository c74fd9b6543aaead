"""Finds what of the seasons of ground cover does not fit the rest of the section, or the terrain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from combe.errors import RangeError, TableError
from combe.standards import class_heights_m, legend_named, read_heights_m
from combe.study.crosscheck import Table, section_of, tables_of, text_of
from combe.study.fault import Fault, missing
from combe.study.terraincheck import has_surface_model


def season_faults(table: Table, folder: Path) -> list[Fault]:
    """Return the faults of season and leafless factors; none where the study has neither."""
    section = section_of(table, "clutter")
    found = [*_season_faults(table, section), *_factor_faults(section, folder)]
    return [replace(fault, place=("clutter", *fault.place)) for fault in found]


def _season_faults(table: Table, section: Table) -> Iterator[Fault]:
    leafless = section.get("season") == "leafless"
    if leafless and not section.get("leafless"):
        yield missing(
            ("leafless",),
            "no Recommendation says how high woods without leaves count; write [[clutter.leafless]] with "
            "class_number and height_factor",
        )
    if (leafless or section.get("leafless")) and has_surface_model(table):
        yield Fault(
            ("season",) if leafless else ("leafless",),
            "the terrain is a surface model, whose heights hold trees as they stood when it was measured; "
            "take it out, or give bare terrain",
        )


def _factor_faults(section: Table, folder: Path) -> Iterator[Fault]:
    canopy, known = section.get("canopy") is True, _known_classes(section, folder)
    seen: set[object] = set()
    for index, entry in tables_of(section, "leafless"):
        number, place = entry.get("class_number"), ("leafless", index, "class_number")
        if canopy and number is not None:
            yield Fault(place, "the raster holds heights and no classes; take it out")
        elif not canopy and number is None:
            yield missing(place, "write the class whose trees lose their leaves, for example 41")
        elif number in seen:
            yield Fault(
                place, f"{number} stands twice; take one out" if number is not None else "stands twice"
            )
        elif number is not None and known and number not in known:
            yield Fault(
                place, f"{number} is no class of the cover; allowed: {', '.join(map(str, sorted(known)))}"
            )
        seen.add(number)


def _known_classes(section: Table, folder: Path) -> set[int]:
    """Return the classes that have heights; none where these cannot be read, which is told elsewhere."""
    legend, heights = text_of(section, "legend"), text_of(section, "heights")
    try:
        known = set(class_heights_m(legend_named(legend))) if legend else set()
        return known | (set(read_heights_m(folder / heights)) if heights else set())
    except (RangeError, TableError):
        return set()
