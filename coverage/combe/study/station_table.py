"""Reads stations from a table, CSV or GeoPackage, as the tables that a study file would hold.

One row for each service; rows of one name are one station, and what describes it may be left empty after its
first. Cells become the keys of ``[[stations]]`` and are checked with them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from shapely.geometry import Point

from combe.errors import TableError, quoted
from combe.study.fault import Fault, Place, path_text
from combe.study.feed_schema import FeedSection
from combe.study.schema import ServiceSection, StationSection
from combe.study.section import Section
from combe.study.television_schema import KEYS, OwnTelevisionSection
from combe.tables import STATION_COLUMNS, Layout, TableRow, find_columns, layout_of, read_table, with_power
from combe.terrain import read_features, to_lonlat

Tables = list[dict[str, Any]]

_FEED: Final = "feed_"
_TELEVISION: Final = "television_"
_SERVICE: Final = "service"
_EXAMPLE: Final = "Far Hill,parent,-84.3,36.5,40,horizontal,Mux 1,27,100"
_REQUIRED: Final = STATION_COLUMNS
_MAY_BE_LEFT_OUT: Final = ("on_air", "horizontal_pattern", "bearing_deg", "vertical_pattern", "tilt_deg")
_LETTERS: Final = {"h": "horizontal", "v": "vertical"}
_PLACE: Final = ("longitude_deg", "latitude_deg")


class StationTable:
    """The stations of a table, and of which row each station and service is."""

    def __init__(self, name: str, rows: Sequence[TableRow]) -> None:
        self.name = name
        self.plain = True
        """Whether the table is written as Combe writes one, so that cells of it can be replaced."""
        self.rows = len(rows)
        self.stations: Tables = []
        self.faults: list[Fault] = []
        self._rows: list[list[int]] = []
        at: dict[str, int] = {}
        for row in rows:
            self._take(row, at)

    def _take(self, row: TableRow, at: dict[str, int]) -> None:
        name = row.cells["name"]
        if not name:
            self._fault(row, "name", "is empty; write the station's name")
            return
        if name not in at:
            at[name] = len(self.stations)
            self.stations.append({"services": []})
            self._rows.append([])
        station = self.stations[at[name]]
        for key, value in _station_cells(row.cells).items():
            if station.setdefault(key, value) != value:
                words = f"differs from an earlier row of {quoted(name)}; write the same, or leave it empty"
                self._fault(row, _column(key), words)
        station["services"].append(_service_cells(row.cells))
        self._rows[at[name]].append(row.number)

    def _fault(self, row: TableRow, column: str, words: str) -> None:
        self.faults.append(Fault((f"{self.name} row {row.number}, {column}",), words))

    def row_of(self, station: int, service: int | None) -> int | None:
        """Return the row of a service, or the first of a station; None where the table has none."""
        if not 0 <= station < len(self._rows):
            return None
        rows = self._rows[station]
        if not rows:
            return None
        return rows[service or 0] if (service or 0) < len(rows) else rows[0]

    def among(self, stations: Sequence[Mapping[str, Any]]) -> StationTable:
        """Return the table as one of all these stations, of which those that it does not name have no row."""
        found = StationTable(self.name, [])
        found.plain = self.plain
        rows = {each["name"]: rows for each, rows in zip(self.stations, self._rows, strict=True)}
        found.stations = [dict(station) for station in stations]
        found._rows = [rows.get(station.get("name"), []) for station in stations]
        return found


def read_station_table(
    path: Path,
    name: str,
    layout: Layout = Layout(),  # noqa: B008 (frozen)
    given: Mapping[str, str] = MappingProxyType({}),
) -> StationTable:
    """Read stations from a table.

    Parameters
    ----------
    path
        A CSV with a header line, or a GeoPackage with a layer of points, of which the columns are the same
        but for the place.
    name
        What the study calls the file, for faults.
    layout
        How the table is written, and what it calls its columns.
    given
        Values for all rows that leave these columns empty, or do not have them.

    Raises
    ------
    TableError
        For the file as a whole, such as a missing column.
    """
    if path.suffix.lower() == ".gpkg":
        return StationTable(name, _filled(_feature_rows(path, layout, given), given))
    table = read_table(path, _needed(given), (*given, *_optional()), _EXAMPLE, layout, numbers=_numbers())
    found = StationTable(name, _filled(table.rows(), given))
    found.plain = not table.supposed and layout == Layout()
    found.faults = [Fault((), f"{name} {fault}") for fault in table.faults] + found.faults
    return found


def _needed(given: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(name for name in _REQUIRED if name not in given)


def _filled(rows: Iterable[TableRow], given: Mapping[str, str]) -> list[TableRow]:
    """Return rows with what is given for all of them where they have nothing."""
    return [
        TableRow(
            row.number,
            {**given, **{name: cell for name, cell in row.cells.items() if cell or name not in given}},
        )
        for row in rows
    ]


def with_table(
    table: Mapping[str, Any], folder: Path
) -> tuple[dict[str, Any], StationTable | None, list[Fault]]:
    """Return a study's TOML with the stations of its table behind its own, that table, and its faults.

    Without a table the study is returned as it is.
    """
    section = table.get("network")
    name = section.get("stations") if isinstance(section, Mapping) else None
    if not (isinstance(name, str) and name):
        return dict(table), None, []
    own = table.get("stations", [])
    try:
        found = read_station_table(folder / name, name, layout_of(section or {}))
    except TableError as error:
        return dict(table), None, [Fault(("network", "stations"), str(error))]
    if not isinstance(own, list):
        return dict(table), found, found.faults
    return {**table, "stations": [*own, *found.stations]}, found, found.faults


@dataclass(frozen=True)
class Teller:
    """Tells places and faults of a study of so many stations, the last of them rows of a table, if any."""

    table: StationTable | None
    stations: int

    def place(self, place: Place) -> str:
        """Return a place as it is read in the file, or in its row of the table."""
        match place:
            case ("stations", int(station), "services", int(service), *rest):
                row = self._row(station, service)
            case ("stations", int(station), *rest):
                row = self._row(station, None)
            case _:
                row, rest = None, []
        if row is None:
            return path_text(place)
        match rest:
            case []:
                return row
            case ["feed", first, *more]:
                return f"{row}, {_FEED}{path_text((first, *more))}"
            case ["television", first, *more]:
                return f"{row}, {_TELEVISION}{path_text((first, *more))}"
            case _:
                return f"{row}, {path_text(rest)}"

    def fault(self, fault: Fault) -> str:
        """Return the line that tells a fault."""
        where = self.place(fault.place)
        in_row = fault.in_row and where != path_text(fault.place)
        words = f"{fault.in_row if in_row else fault.words}"
        words += f"{self.place(fault.other)}{fault.after}" if fault.other else ""
        return f"{where}: {words}" if fault.place else words

    def _row(self, station: int, service: int | None) -> str | None:
        if self.table is None:
            return None
        number = self.table.row_of(station - (self.stations - len(self.table.stations)), service)
        return None if number is None else f"{self.table.name} row {number}"


def _optional() -> tuple[str, ...]:
    service = [key for key in _scalars(ServiceSection) if key not in ("name", *_REQUIRED)]
    own = [f"{_TELEVISION}{key}" for key in KEYS]
    return (*_MAY_BE_LEFT_OUT, *service, *own, *(f"{_FEED}{key}" for key in _scalars(FeedSection)))


def _numbers() -> tuple[str, ...]:
    """Return the columns that hold numbers."""
    sections: tuple[tuple[str, type[Section]], ...] = (
        ("", StationSection),
        ("", ServiceSection),
        (_FEED, FeedSection),
    )
    return tuple(
        f"{start}{field.alias or key}"
        for start, section in sections
        for key, field in section.model_fields.items()
        if _holds(field.annotation, (int, float))
    )


def _scalars(section: type[Section]) -> list[str]:
    """Return the keys of a section that a cell can hold."""
    plain = (str, float, int, bool)
    fields = section.model_fields.items()
    return [field.alias or key for key, field in fields if _holds(field.annotation, plain)]


def _holds(annotation: Any, plain: tuple[type, ...]) -> bool:
    parts = getattr(annotation, "__args__", (annotation,))
    return any(part in plain for part in parts)


def _column(key: str) -> str:
    return f"{_FEED}…" if key == "feed" else key


def _station_cells(cells: Mapping[str, str]) -> dict[str, Any]:
    """Return the keys of a station that a row fills in."""
    own = {key: cells[key] for key in StationSection.model_fields if cells.get(key)}
    if "polarization" in own:
        own["polarization"] = _LETTERS.get(own["polarization"].casefold(), own["polarization"])
    feed = {key[len(_FEED) :]: value for key, value in cells.items() if key.startswith(_FEED) and value}
    found = _numbered(own, StationSection)
    return found | ({"feed": _numbered(feed, FeedSection)} if feed else {})


def _service_cells(cells: Mapping[str, str]) -> dict[str, Any]:
    own = [key for key in ServiceSection.model_fields if key != "name"]
    found = {key: cells[key] for key in own if cells.get(key) or (key in cells and key in _REQUIRED)}
    numbered = _numbered({"name": cells[_SERVICE], **found}, ServiceSection)
    television = {
        key[len(_TELEVISION) :]: value
        for key, value in cells.items()
        if key.startswith(_TELEVISION) and value
    }
    return numbered | ({"television": _numbered(television, OwnTelevisionSection)} if television else {})


def _numbered(cells: Mapping[str, str], section: type[Section]) -> dict[str, Any]:
    """Return cells with numbers in place of text where the section wants numbers; the rest is left to it."""
    fields = {field.alias or key: field.annotation for key, field in section.model_fields.items()}
    return {key: _number(text, fields[key]) if key in fields else text for key, text in cells.items()}


def _number(text: str, annotation: Any) -> Any:
    parts = getattr(annotation, "__args__", (annotation,))
    if bool in parts:
        return {"true": True, "false": False}.get(text.casefold(), text)
    try:
        if int in parts:
            # Spreadsheets and GeoPackages have whole numbers with a point.
            return int(text.removesuffix(".0"))
        return float(text) if float in parts else text
    except ValueError:
        return text


def _feature_rows(path: Path, layout: Layout, given: Mapping[str, str]) -> Iterable[TableRow]:
    """Yield the points of a GeoPackage as rows; they count from 1."""
    found = read_features(path, layout.layer)
    names = list(dict.fromkeys(name for each in found.features for name in each.properties))
    header = [name for name in names if name not in ("fid", "id") or name in layout.columns.values()]
    keys = find_columns(path, header, _needed(given), (*given, *_optional()), layout, has_points=True)
    for number, (geometry, properties) in enumerate(found.features, start=1):
        if not isinstance(geometry, Point):
            raise TableError(path, f"row {number} is a {geometry.geom_type}", "stations need points")
        lon, lat = to_lonlat(found.crs, geometry.x, geometry.y)
        values = [properties.get(name) for name in header]
        cells = with_power(keys.named(["" if each is None else str(each) for each in values]), ".")
        yield TableRow(
            number, cells | {key: repr(float(at)) for key, at in zip(_PLACE, (lon, lat), strict=True)}
        )
