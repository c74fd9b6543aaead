"""Turns the section on coordination into what is asked, reads its points, and finds what does not fit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Final

import pyproj
import shapely

from combe.errors import RangeError, quoted
from combe.files import is_regular
from combe.project import Coordination, Given
from combe.standards import TriggerBand, trigger_table
from combe.study.coordination_schema import CoordinationSection
from combe.study.crosscheck import Table, is_number, section_of, stations_of, tables_of, text_of
from combe.study.fault import Fault, strange_station
from combe.tables import CellError, Layout, TableRow, layout_of, number_in, raise_faults, read_rows
from combe.terrain import TEXT_ENDINGS, Feature, Features, read_features

HEADER: Final = ("longitude_deg", "latitude_deg")
_EXAMPLE: Final = "-84.20123,36.60456,POINT"
_TRIGGER_KEYS: Final = ("trigger_dbuv_m", "trigger_table", "triggers")
_ALL_MHZ: Final = (0.0, 1e6)


def coordination_of(section: CoordinationSection, folder: Path) -> Coordination:
    """Return what a section asks; names of files count from the folder."""
    return Coordination(
        layers=(point_layer(folder / section.points, section.points, layout_of(section.model_dump())),),
        spacing_km=section.spacing_km,
        time_percent=section.time_percent,
        height_m=section.height_m,
        triggers=_triggers(section),
        stations=section.stations,
    )


def one_trigger(field_dbuv_m: float) -> tuple[TriggerBand, ...]:
    """Return one trigger value for all frequencies."""
    return (TriggerBand(*_ALL_MHZ, field_dbuv_m, "one value for all frequencies, as given"),)


def point_layer(path: Path, name: str, layout: Layout = Layout()) -> Given[Features]:  # noqa: B008 (frozen)
    """Return points or lines that are read when they are asked for."""
    return Given(name, partial(read_points, path, layout), str(path.resolve()))


def read_points(path: Path, layout: Layout = Layout()) -> Features:  # noqa: B008 (frozen)
    """Read points, lines and polygons of a GeoPackage or GeoJSON file, or the points of a CSV table.

    Raises
    ------
    TableError
        With every fault of a table; what no format is, or is damaged.
    """
    if path.suffix.lower() in TEXT_ENDINGS:
        return _from_table(path, layout)
    return read_features(path, layout.layer)


def coordination_faults(table: Table, folder: Path) -> list[Fault]:
    """Return what of the section does not fit the study, its files or itself; none without the section."""
    section = section_of(table, "coordination")
    finders = (_file_faults(section, folder), _station_faults(table, section), _trigger_faults(section))
    return [replace(fault, place=("coordination", *fault.place)) for found in finders for fault in found]


def _triggers(section: CoordinationSection) -> tuple[TriggerBand, ...]:
    if section.trigger_dbuv_m is not None:
        return one_trigger(section.trigger_dbuv_m)
    if section.trigger_table is not None:
        return trigger_table(section.trigger_table)
    return tuple(
        TriggerBand(each.from_mhz, each.to_mhz, each.field_dbuv_m, "values by band, as the study gives them")
        for each in section.triggers
    )


def _from_table(path: Path, layout: Layout) -> Features:
    rows, faults = read_rows(path, HEADER, ("name",), _EXAMPLE, layout, HEADER)
    found: list[Feature] = []
    for row in rows:
        try:
            found.append(_point(row))
        except CellError as error:
            faults.append(f"row {row.number}: {error}")
    raise_faults(path, faults or ([] if found else ["it holds no point"]))
    return Features(tuple(found), pyproj.CRS.from_epsg(4326), 0)


def _point(row: TableRow) -> Feature:
    place = [number_in(row.cells[name], name) for name in HEADER]
    if not (abs(place[0]) <= 180.0 and abs(place[1]) <= 90.0):
        raise CellError(f"{place[0]:g}, {place[1]:g} is outside the globe; longitude comes first")
    name = row.cells.get("name") or ""
    return Feature(shapely.Point(place), {"name": name} if name else {})


def _file_faults(section: Table, folder: Path) -> Iterator[Fault]:
    name = text_of(section, "points")
    if name and not is_regular(folder / name):
        yield Fault(
            ("points",), f"{quoted(name)}: there is no such file; names count from {folder or Path()}"
        )


def _station_faults(table: Table, section: Table) -> Iterator[Fault]:
    known = [text_of(station, "name") for _, station in stations_of(table)]
    meant = section.get("stations")
    for index, name in enumerate(meant if isinstance(meant, list) else []):
        if isinstance(name, str) and name not in known and None not in known:
            yield strange_station(("stations", index), name, known)


def _trigger_faults(section: Table) -> Iterator[Fault]:
    given = [key for key in _TRIGGER_KEYS if key in section]
    for key in given[1:]:
        yield Fault((key,), f"stands beside {given[0]}, and a field has one trigger; take one out")
    bands: list[TriggerBand] = []
    for index, entry in tables_of(section, "triggers"):
        edges = entry.get("from_mhz"), entry.get("to_mhz")
        if not all(map(is_number, edges)):
            continue  # told by its own key
        try:
            band = TriggerBand(float(edges[0]), float(edges[1]), 0.0)  # type: ignore[arg-type]
        except RangeError as error:
            yield Fault(("triggers", index), str(error))
            continue
        if _overlaps(band, bands):
            yield Fault(("triggers", index), "overlaps a band before it; give each frequency one trigger")
        bands.append(band)


def _overlaps(band: TriggerBand, others: Sequence[TriggerBand]) -> bool:
    return any(band.from_mhz < each.to_mhz and each.from_mhz < band.to_mhz for each in others)
