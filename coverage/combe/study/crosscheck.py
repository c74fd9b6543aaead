"""Finds the faults of a study that no single key shows: names, files and links that do not fit together.

It reads the plain TOML table and takes nothing for granted, so that these faults are reported together with
those of single keys and not after them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeGuard

from combe.errors import did_you_mean, quoted
from combe.files import is_folder, is_regular
from combe.study.fault import Fault, missing, strange_station

Table = Mapping[str, Any]


def cross_faults(table: Table, folder: Path) -> list[Fault]:
    """Return the faults between keys; ``folder`` is where relative names count from."""
    finders = (_name_faults, _service_faults, _role_faults, _link_faults, _loop_faults)
    faults = [fault for finder in finders for fault in finder(stations_of(table))]
    return [*faults, *_area_faults(table), *_people_faults(table), *_file_faults(table, folder)]


def stations_of(table: Table) -> list[tuple[int, Table]]:
    """Return the numbered stations that are tables at all."""
    return tables_of(table, "stations")


def tables_of(table: Table, key: str) -> list[tuple[int, Table]]:
    """Return the numbered entries of a list that are tables."""
    entries = table.get(key)
    listed = entries if isinstance(entries, list) else []
    return [(index, entry) for index, entry in enumerate(listed) if isinstance(entry, dict)]


def text_of(table: Table | None, key: str) -> str | None:
    """Return the text of a key, or None where there is none."""
    value = table.get(key) if isinstance(table, Mapping) else None
    return value if isinstance(value, str) and value else None


def section_of(table: Table, key: str) -> Table:
    """Return a table inside a table, empty where there is none."""
    value = table.get(key)
    return value if isinstance(value, Mapping) else {}


def is_number(value: object) -> TypeGuard[int | float]:
    """Tell whether a value of the file is a number; true and false are none, though Python counts them so."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def is_whole(value: object) -> TypeGuard[int]:
    """Tell whether a value of the file is a whole number, as :func:`is_number` does."""
    return isinstance(value, int) and not isinstance(value, bool)


def _repeated(names: Sequence[str | None]) -> list[tuple[int, int]]:
    """Return (index, index of the first) for each name that came before, letter case and blanks aside."""
    folded = [" ".join(name.casefold().split()) if name else None for name in names]
    counts = Counter(folded)
    return [
        (index, folded.index(name))
        for index, name in enumerate(folded)
        if name is not None and counts[name] > 1 and folded.index(name) != index
    ]


def _name_faults(stations: list[tuple[int, Table]]) -> Iterator[Fault]:
    for later, first in _repeated([text_of(station, "name") for _, station in stations]):
        index, name = stations[later][0], text_of(stations[later][1], "name") or ""
        yield Fault(
            ("stations", index, "name"),
            f"two stations are called {quoted(name)} (also ",
            other=("stations", stations[first][0]),
            after="); rename one",
        )


def _service_faults(stations: list[tuple[int, Table]]) -> Iterator[Fault]:
    for index, station in stations:
        for fault in services_twice(station, "station"):
            yield replace(fault, place=("stations", index, *fault.place))


def services_twice(radiating: Table, what: str) -> Iterator[Fault]:
    """Yield names and channels that two services of one table share; ``what`` is what the table describes."""
    services = tables_of(radiating, "services")
    for later, _ in _repeated([text_of(service, "name") for _, service in services]):
        name = text_of(services[later][1], "name") or ""
        yield Fault(
            ("services", services[later][0], "name"),
            f"two services of this {what} are called {quoted(name)}; rename one",
        )
    seen: set[int] = set()
    for number, service in services:
        channel = service.get("channel")
        if isinstance(channel, int) and channel in seen:
            yield Fault(
                ("services", number, "channel"),
                f"this {what} already uses channel {channel}; write another channel",
            )
        elif isinstance(channel, int):
            seen.add(channel)


def _role_faults(stations: list[tuple[int, Table]]) -> Iterator[Fault]:
    for index, station in stations:
        role, has_feed = station.get("role"), "feed" in station
        if role == "relay" and not has_feed:
            why = "a relay receives something"
            yield missing(
                ("stations", index, "feed"),
                f'{why}: write a [stations.feed] table with from = "NAME"',
                in_row=f"{why}: name it in the column feed_from",
            )
        if role == "parent" and has_feed:
            yield Fault(
                ("stations", index, "feed"),
                'a parent receives nothing off air; take the feed out, or write role = "relay"',
            )


def _link_faults(stations: list[tuple[int, Table]]) -> Iterator[Fault]:
    by_name = {text_of(station, "name"): station for _, station in stations}
    for index, station in stations:
        source = text_of(section_of(station, "feed"), "from")
        if source is None:
            continue
        if source not in by_name:
            if None in by_name:
                continue  # it may be the station whose own name is at fault
            others = [text_of(other, "name") for number, other in stations if number != index]
            yield strange_station(("stations", index, "feed", "from"), source, others)
        elif station.get("role") == "relay":
            yield from _missing_services(index, station, source, by_name[source])


def _missing_services(index: int, station: Table, source: str, parent: Table) -> Iterator[Fault]:
    received = [text_of(service, "name") for _, service in tables_of(parent, "services")]
    known = [name for name in received if name is not None]
    if not received or len(known) < len(received):
        return
    for number, service in tables_of(station, "services"):
        name = text_of(service, "name")
        if name and name not in known:
            yield Fault(
                ("stations", index, "services", number, "name"),
                f"{quoted(name)} is not radiated by {quoted(source)}; {did_you_mean(name, known)}",
            )


def _loop_faults(stations: list[tuple[int, Table]]) -> Iterator[Fault]:
    feeds = {text_of(s, "name"): text_of(section_of(s, "feed"), "from") for _, s in stations}
    if len(feeds) < len(stations):
        return
    for index, station in stations:
        start = text_of(station, "name")
        here, seen = feeds.get(start), {start}
        while here is not None and here not in seen:
            seen.add(here)
            here = feeds.get(here)
        if start is not None and here == start:
            yield Fault(
                ("stations", index, "feed", "from"),
                f"{quoted(start)} is fed by itself, at once or by way of others; start a chain at a parent",
            )


def _area_faults(table: Table) -> Iterator[Fault]:
    area = section_of(table, "grid").get("area_deg")
    if not isinstance(area, list) or len(area) != 4:
        return
    if all(isinstance(edge, int | float) for edge in area) and not (area[0] < area[2] and area[1] < area[3]):
        yield Fault(
            ("grid", "area_deg"),
            f"{area} has no inside; write west, south, east, north with west < east and south < north",
        )


def _people_faults(table: Table) -> Iterator[Fault]:
    if "people" not in table:
        return
    given = [key for key in ("raster", "points", "districts") if key in section_of(table, "people")]
    raster, tiles = section_of(table, "people").get("raster"), section_of(table, "terrain").get("tiles")
    if isinstance(raster, str) and isinstance(tiles, list) and raster in tiles:
        words = f"{quoted(raster)} is a tile of the terrain; name the raster that counts the people"
        yield Fault(("people", "raster"), words)
    if not given:
        words = 'write raster = "people.tif", points = "people.csv" or districts = "districts.gpkg"'
        yield missing(("people", "raster"), words)
    elif given[:2] == ["raster", "points"]:
        yield Fault(("people", "points"), "stands beside raster, and people are counted once; take one out")
    if "points" in given and section_of(table, "people").get("density_per_km2") is True:
        words = "stands beside points, which have no area to spread people over; take it out"
        yield Fault(("people", "density_per_km2"), words)


def _file_faults(table: Table, folder: Path) -> Iterator[Fault]:
    for place, name in _files(table):
        path = folder / name
        if not is_regular(path):
            kind = "is a folder" if is_folder(path) else "there is no such file"
            yield Fault(place, f"{quoted(name)}: {kind}; names count from {folder or Path()}")


def _files(table: Table) -> Iterator[tuple[tuple[str | int, ...], str]]:
    terrain = section_of(table, "terrain")
    places: list[tuple[tuple[str | int, ...], Table]] = [(("terrain",), terrain)]
    places += [(("terrain", "beyond", number), each) for number, each in tables_of(terrain, "beyond")]
    for place, elevation in places:
        tiles = elevation.get("tiles")
        for index, tile in enumerate(tiles if isinstance(tiles, list) else []):
            if isinstance(tile, str) and tile:
                yield ((*place, "tiles", index), tile)
    sea = section_of(table, "zones").get("sea")
    for index, name in enumerate(sea if isinstance(sea, list) else []):
        if isinstance(name, str) and name:
            yield (("zones", "sea", index), name)
    named = (
        ("people", "raster"),
        ("people", "points"),
        ("people", "districts"),
        ("clutter", "raster"),
        ("clutter", "heights"),
        ("zones", "raster"),
        ("zones", "lakes"),
        ("survey", "points"),
    )
    for section, key in named:
        name = text_of(section_of(table, section), key)
        if name:
            yield ((section, key), name)
