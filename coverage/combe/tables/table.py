"""One reader for all tables of a study: our names of columns, plain numbers, places in degrees.

What a table does not say and its study does not tell is asked for in one line, and nothing is taken for 0.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, NamedTuple

from combe.errors import TableError
from combe.tables.angles import Axis, angle_in
from combe.tables.cells import NUMBER, CellError, Sign, decimal_sign, plain_number
from combe.tables.columns import PLACE, PROJECTED, REFERENCE, Columns, Layout, find_columns
from combe.tables.grid_letters import grid_place_m, grid_system
from combe.tables.places import crs_named, to_degrees
from combe.tables.powers import COLUMNS as POWERS
from combe.tables.powers import with_power
from combe.tables.text_file import SEPARATORS, Records, read_records

LARGEST_BYTES: Final = 4_000_000
_AT_ONCE: Final = 5_000
_AXES: Final[tuple[Axis, Axis]] = ("longitude", "latitude")
_DECIMALS: Final = {".": ".", ",": ","}


class TableRow(NamedTuple):
    """A row of the file; rows count from 1, the header's, as spreadsheets show them."""

    number: int
    cells: Mapping[str, str]


@dataclass
class ReadTable:
    """A table whose header has been read; ``rows`` reads the rest and adds to ``faults``.

    ``first_line`` is the file's, which may be a comment.
    """

    path: Path
    records: Records
    columns: Columns
    width: int
    numbers: frozenset[str]
    layout: Layout | None
    decimal: Sign
    example: str
    faults: list[str] = field(default_factory=list)

    @property
    def first_line(self) -> str:
        """The first line of the file."""
        return self.records.text.lstrip("\r\n").split("\n", 1)[0].strip()

    @property
    def supposed(self) -> tuple[str, ...]:
        """What was found of how the table is written, where it is not plain UTF-8 with commas and points."""
        found = []
        if self.records.encoding != "utf-8":
            found.append(self.records.encoding)
        if self.records.separator != ",":
            found.append(f"cells parted by {SEPARATORS[self.records.separator]}")
        if self.decimal == ",":
            found.append("decimal commas")
        return tuple(found)

    def rows(self) -> Iterator[TableRow]:
        """Yield the rows that can be read; a fault is noted for each of the others."""
        data = _data(self.records, self.layout)
        # Places are carried over many at a time: one by one that is what takes longest.
        for many in _batches(data):
            yield from self._placed([row for each in many if (row := self._row(*each)) is not None])

    def _row(self, number: int, cells: list[str]) -> TableRow | None:
        if len(cells) != self.width:
            self.faults.append(_wrong_count(number, cells, self.width, self.example))
            return None
        named = self.columns.named(cells)
        try:
            return TableRow(number, named if self.layout is None else self._plain(named))
        except CellError as error:
            self.faults.append(f"row {number}: {error}")
            return None

    def _plain(self, cells: Mapping[str, str]) -> dict[str, str]:
        """Return the cells of a row with plain numbers, and its power in watts."""
        numbers = {
            name: plain_number(cell, self.decimal)
            for name, cell in cells.items()
            if name in self.numbers and name not in POWERS
        }
        return with_power({**cells, **numbers}, self.decimal)

    def _placed(self, rows: list[TableRow]) -> list[TableRow]:
        """Return rows with their places in degrees."""
        if self.layout is None:
            return rows
        by_system: dict[str, list[tuple[int, float, float]]] = {}
        bad = set()
        for at, row in enumerate(rows):
            try:
                found = self._place(row.cells)
                if found is not None:
                    by_system.setdefault(found[0], []).append((at, found[1], found[2]))
            except CellError as error:
                bad.add(at)
                self.faults.append(f"row {row.number}: {error}")
        for system, places in by_system.items():
            numbers, x, y = zip(*places, strict=True)
            lon, lat = to_degrees(crs_named(self.path, system), x, y) if system else (x, y)
            for at, here in zip(numbers, zip(lon, lat, strict=True), strict=True):
                rows[at] = TableRow(rows[at].number, _with_place(rows[at].cells, here))
        return [row for at, row in enumerate(rows) if at not in bad]

    def _place(self, cells: Mapping[str, str]) -> tuple[str, float, float] | None:
        """Return a row's place and its system, empty for WGS 84; None for degrees that need no care."""
        assert self.layout is not None
        if cells.get(REFERENCE):
            return (grid_system(cells[REFERENCE]), *grid_place_m(cells[REFERENCE]))
        if all(cells.get(name) for name in PROJECTED):
            x, y = (_metres(cells[name], name) for name in PROJECTED)
            return self.layout.crs or "", x, y
        if not all(cells.get(name) for name in PLACE):
            return None
        if self.layout.crs is None and all(NUMBER.fullmatch(cells[name]) for name in PLACE):
            return None
        lon, lat = (angle_in(cells[name], axis) for name, axis in zip(PLACE, _AXES, strict=True))
        return self.layout.crs or "", lon, lat


def read_table(
    path: Path,
    required: Sequence[str],
    optional: Sequence[str],
    example: str,
    layout: Layout | None,
    *,
    numbers: Sequence[str] = (),
    strict: bool = True,
    largest_bytes: int = LARGEST_BYTES,
    advice: str = "cut it to the study area",
) -> ReadTable:
    """Read the header of a table, and how it is written.

    Parameters
    ----------
    path
        Text with a header line, columns in any order. Empty rows and those that begin with ``#`` are passed
        over.
    required, optional
        Our names of columns.
    example
        A row, for advice.
    layout
        What a study says of it; None for a table that has to be as it is asked for.
    numbers
        Columns that hold numbers, whose decimal commas are read; places and powers need not be named.
    strict, largest_bytes, advice
        As :func:`find_columns` and :func:`read_records` have them.

    Raises
    ------
    TableError
        For the file as a whole: missing, unreadable, too large, in no known encoding, or a wrong header.
    """
    told = layout or Layout()
    records = read_records(path, layout, largest_bytes, advice)
    first = next(iter(records), None)
    if first is None:
        raise TableError(path, "it holds no rows", f"begin with the header {','.join(required)}")
    header = [cell.strip() for cell in first[1]]
    if layout is None and records.separator != ",":
        raise TableError(
            path, f"row 1: cells are parted by {SEPARATORS[records.separator]}",
            "save it with commas and decimal points",
        )  # fmt: skip
    columns = find_columns(path, header, required, optional, layout, strict=strict)
    _check_system(path, told, columns)
    counted = frozenset(numbers) | {*PLACE, *PROJECTED}
    decimal = _decimal(path, records, columns, counted | {*POWERS}, layout)
    return ReadTable(path, records, columns, len(header), counted, layout, decimal, example)


def _check_system(path: Path, layout: Layout, columns: Columns) -> None:
    crs = None if layout.crs is None else crs_named(path, layout.crs)
    metres = all(name in columns.of for name in PROJECTED) and REFERENCE not in columns.of
    degrees = all(name in columns.of for name in PLACE)
    if metres and not (crs and crs.is_projected):
        problem = (
            "its places are eastings and northings" if crs is None else f"crs {layout.crs!r} counts degrees"
        )
        raise TableError(path, problem, 'name the projected system they count in, crs = "EPSG:…"')
    if degrees and not metres and crs is not None and crs.is_projected:
        words = (
            "say which columns are its eastings and northings, columns = { easting_m = …, northing_m = … }"
        )
        raise TableError(path, f"crs {layout.crs!r} counts metres and the columns degrees", words)


def _decimal(
    path: Path, records: Records, columns: Columns, numbers: frozenset[str] | set[str], layout: Layout | None
) -> Sign:
    """Return the sign before decimals, as told or as the numbers show."""
    if layout is None:
        return "."
    if layout.decimal is not None:
        if layout.decimal not in _DECIMALS:
            raise TableError(path, f"decimal is {layout.decimal!r}", 'write "," or "."')
        return "," if layout.decimal == "," else "."
    at = [place for name, place in columns.of.items() if name in numbers]
    try:
        return decimal_sign(
            cells[place] for _, cells in _data(records, layout) for place in at if place < len(cells)
        )
    except CellError as error:
        advice = '--decimal "," or --decimal "."' if layout.command else 'decimal = "," or decimal = "."'
        raise TableError(path, str(error), f"write {advice}") from None


def _data(records: Records, layout: Layout | None) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows behind the header, if there is one."""
    skipped = 0 if layout is not None and layout.without_header else 1
    return itertools.islice(iter(records), skipped, None)


def _batches(rows: Iterator[tuple[int, list[str]]]) -> Iterator[list[tuple[int, list[str]]]]:
    while many := list(itertools.islice(rows, _AT_ONCE)):
        yield many


def _metres(cell: str, name: str) -> float:
    if not NUMBER.fullmatch(cell):
        raise CellError(f"{name} {cell[:40]!r} is no number; write metres")
    return float(cell)


def _with_place(cells: Mapping[str, str], lonlat: tuple[float, float]) -> dict[str, str]:
    kept = {name: cell for name, cell in cells.items() if name not in (*PROJECTED, REFERENCE)}
    return kept | {name: repr(float(at)) for name, at in zip(PLACE, lonlat, strict=True)}


def _wrong_count(number: int, cells: list[str], columns: int, example: str) -> str:
    words = f"row {number}: {len(cells)} cells where the header has {columns}"
    if len(cells) > columns:
        return f"{words}; is there a decimal comma? write {example}"
    return f"{words}; write {example}"
