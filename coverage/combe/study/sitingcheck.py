"""Finds what the section on siting asks that the rest of the study, its tables or its files do not give."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from combe.errors import PatternError, quoted
from combe.files import is_regular
from combe.stations import PatternKind, read_pattern
from combe.study.crosscheck import Table, section_of, services_twice, stations_of, tables_of, text_of
from combe.study.fault import Fault, strange_station
from combe.study.section import OMNI

LAYER_KEYS: Final = ("inside", "outside", "border", "access")
"""Keys of the section that name vector files."""


def siting_faults(table: Table, folder: Path) -> list[Fault]:
    """Return the faults of the section; none where the study has no such section."""
    siting = section_of(table, "siting")
    if not siting:
        return []
    finders = (services_twice(siting, "relay"), _parent_faults(table, siting), _people_faults(table),
               _access_faults(siting), _file_faults(siting, folder),
               _pattern_faults(siting, folder))  # fmt: skip
    return [replace(fault, place=("siting", *fault.place)) for found in finders for fault in found]


def _parent_faults(table: Table, siting: Table) -> Iterator[Fault]:
    """Yield names of stations that are not there, or do not radiate what is asked."""
    radiated = {
        text_of(station, "name"): [text_of(each, "name") for _, each in tables_of(station, "services")]
        for _, station in stations_of(table)
    }
    wanted = [text_of(each, "name") for _, each in tables_of(siting, "services")]
    named = section_of(siting, "feed").get("from")
    for index, name in enumerate(named if isinstance(named, list) else []):
        if not isinstance(name, str):
            continue
        if name not in radiated:
            if None in radiated:
                continue  # it may be the station whose own name is at fault
            yield strange_station(("feed", "from", index), name, radiated)
            continue
        for missing in [each for each in wanted if each and each not in radiated[name]]:
            yield Fault(
                ("feed", "from", index),
                f"{quoted(name)} does not radiate {quoted(missing)}; take one out",
            )
    if not named:
        yield from _nobody_radiates(table, wanted)


def _nobody_radiates(table: Table, wanted: list[str | None]) -> Iterator[Fault]:
    parents = [station for _, station in stations_of(table) if station.get("role") == "parent"]
    services = [{text_of(each, "name") for _, each in tables_of(station, "services")} for station in parents]
    if services and all(wanted) and not any(set(wanted) <= each for each in services):
        names = ", ".join(quoted(str(each)) for each in wanted)
        yield Fault(
            ("services",), f"no parent radiates all of {names}; write names of the services of one parent"
        )


def _people_faults(table: Table) -> Iterator[Fault]:
    if "people" not in table:
        words = "asks whom a relay would serve, but the study has no [people]; add that section"
        yield Fault((), words, lacks=("people",))


def _access_faults(siting: Table) -> Iterator[Fault]:
    if "access" in siting:
        return
    for key in ("access_within_m", "cost_per_access_km"):
        if siting.get(key):
            yield Fault((key,), 'needs roads or lines; write access = "roads.gpkg", or take the key out')


def _file_faults(siting: Table, folder: Path) -> Iterator[Fault]:
    for key in LAYER_KEYS:
        name = text_of(siting, key)
        if name and not is_regular(folder / name):
            yield Fault((key,), f"{quoted(name)}: there is no such file; names count from {folder or Path()}")


def _pattern_faults(siting: Table, folder: Path) -> Iterator[Fault]:
    names = siting.get("patterns")
    listed = names if isinstance(names, list) else []
    found: list[tuple[tuple[str | int, ...], object, PatternKind]] = [
        (("patterns", index), name, "horizontal") for index, name in enumerate(listed)
    ]
    found.append((("vertical_pattern",), siting.get("vertical_pattern"), "vertical"))
    for place, name, kind in found:
        if not isinstance(name, str) or not name or name == OMNI:
            continue
        try:
            read_pattern(folder / name, kind)
        except (PatternError, OSError) as error:
            yield Fault(place, str(error))
