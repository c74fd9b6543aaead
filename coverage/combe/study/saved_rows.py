"""Puts what was changed of stations into the text of their table: only the cells that changed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from combe.study.crosscheck import Table, section_of
from combe.study.station_table import StationTable
from combe.study.toml_text import Span

_MARK: Final = "\ufeff"
_PLAIN: Final = re.compile(r"[^,\r\n]*")
_QUOTED: Final = re.compile(r'"(?:[^"]|"")*"[^,\r\n]*')
_LINE_END: Final = re.compile(r"\r\n|\r|\n")
_TO_BE_QUOTED: Final = re.compile(r'^\s|[,"\r\n]|\s$')

Cells = dict[str, Any]


class _Record(NamedTuple):
    """A row of the text: its cells, and where it ends without its line end, and with it."""

    cells: list[Span]
    end: int
    whole_end: int


def saved_rows(text: str, table: StationTable, after: Sequence[Table]) -> str:
    """Return the text of a table of stations as a change of them leaves it.

    Parameters
    ----------
    text
        Of the CSV file, with its line ends and its byte order mark if it has one.
    table
        The stations that it holds.
    after
        What is to be left of them, in their order. A column that they need and the table has not comes last.
    """
    mark = _MARK if text.startswith(_MARK) else ""
    rows = _Rows(text.removeprefix(mark))
    left = {station["name"]: station for station in after}
    for index, station in enumerate(table.stations):
        numbers = [number for number, _ in _numbered(table, index, station)]
        if station["name"] in left:
            rows.put(numbers, station, left[station["name"]])
        else:
            rows.drop(numbers)
    return mark + rows.text()


def new_rows(stations: Sequence[Table]) -> str:
    """Return a new table of stations: one row for each service, columns in the order of their first use."""
    rows = [
        _station_cells(station) | _service_cells(service)
        for station in stations
        for service in station["services"]
    ]
    columns = list(dict.fromkeys(name for row in rows for name in row))
    lines = [columns, *([cell_text(row.get(name)) for name in columns] for row in rows)]
    return "".join(f"{','.join(line)}\n" for line in lines)


def cell_text(value: object) -> str:
    """Return a value as a cell; None is an empty one."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    written = repr(value).removesuffix(".0") if isinstance(value, float) else str(value)
    return '"' + written.replace('"', '""') + '"' if _TO_BE_QUOTED.search(written) else written


def _numbered(table: StationTable, index: int, station: Table) -> Iterator[tuple[int, Table]]:
    """Yield the services of a station, each with its row."""
    for number, service in enumerate(station["services"]):
        row = table.row_of(index, number)
        if row is not None:
            yield row, service


class _Rows:
    """The rows of a text, and what is to stand in which cells."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._records = list(_records(text))
        first = next(number for number, each in enumerate(self._records, 1) if self._holds(each))
        self._header = first
        self._columns = [
            text[cell.start : cell.end].strip().strip('"') for cell in self._records[first - 1].cells
        ]
        self._known = len(self._columns)
        self._cells: dict[tuple[int, int], str] = {}
        self._gone: set[int] = set()

    def put(self, numbers: Sequence[int], before: Table, after: Table) -> None:
        """Change the rows of a station."""
        for column, value in _changes(_station_cells(before), _station_cells(after)):
            at = self._column(column)
            # What describes a station may be left empty after its first row.
            filled = [number for number in numbers if self._written(number, at)] or numbers[:1]
            for number in filled:
                self._cells[number, at] = cell_text(value)
        for number, was, now in zip(numbers, before["services"], after["services"], strict=True):
            for column, value in _changes(_service_cells(was), _service_cells(now)):
                self._cells[number, self._column(column)] = cell_text(value)

    def drop(self, numbers: Sequence[int]) -> None:
        """Take rows out."""
        self._gone |= set(numbers)

    def text(self) -> str:
        """Return the text with all of it changed."""
        parts: list[str] = []
        at = 0
        for number, record in enumerate(self._records, 1):
            if number not in self._gone:
                parts.append(self._row(number, record, at))
            at = record.whole_end
        return "".join(parts)

    def _row(self, number: int, record: _Record, start: int) -> str:
        parts: list[str] = []
        at = start
        for column, cell in enumerate(record.cells):
            if (number, column) in self._cells:
                parts += [self._text[at : cell.start], self._cells[number, column]]
                at = cell.end
        parts.append(self._text[at : record.end])
        if self._holds(record):
            for column in range(self._known, len(self._columns)):
                name = self._columns[column] if number == self._header else ""
                parts.append(f",{self._cells.get((number, column), name)}")
        return "".join([*parts, self._text[record.end : record.whole_end]])

    def _holds(self, record: _Record) -> bool:
        """Tell whether a row is more than blank or a comment."""
        cells = [self._text[cell.start : cell.end].strip() for cell in record.cells]
        return any(cells) and not cells[0].startswith("#")

    def _column(self, name: str) -> int:
        """Return a column's number; a new one stands behind all."""
        if name not in self._columns:
            self._columns.append(name)
        return self._columns.index(name)

    def _written(self, number: int, column: int) -> bool:
        cells = self._records[number - 1].cells
        return column < len(cells) and self._text[cells[column].start : cells[column].end].strip() not in (
            "",
            '""',
        )


def _records(text: str) -> Iterator[_Record]:
    """Yield the rows of a CSV text, empty ones too; they count as those that are read."""
    at = 0
    while at < len(text):
        cells: list[Span] = []
        while not cells or text.startswith(",", at):
            at += bool(cells)
            found = _QUOTED.match(text, at) or _PLAIN.match(text, at)
            assert found is not None, "the plain pattern matches nothing too"
            cells.append(Span(*found.span()))
            at = found.end()
        line_end = _LINE_END.match(text, at)
        whole_end = line_end.end() if line_end else at
        yield _Record(cells, at, whole_end)
        at = whole_end


def _changes(before: Cells, after: Cells) -> Iterator[tuple[str, Any]]:
    """Yield the columns whose cells differ, with what they are to hold."""
    for column in dict.fromkeys([*before, *after]):
        if before.get(column) != after.get(column):
            yield column, after.get(column)


def _station_cells(station: Table) -> Cells:
    own = {key: value for key, value in station.items() if not isinstance(value, list | Mapping)}
    return own | {f"feed_{key}": value for key, value in section_of(station, "feed").items()}


def _service_cells(service: Table) -> Cells:
    own = {key: value for key, value in service.items() if key not in ("name", "television")}
    television = {f"television_{key}": value for key, value in section_of(service, "television").items()}
    return own | {"service": service["name"]} | television
