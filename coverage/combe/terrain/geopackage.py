"""Reads a layer of a GeoPackage that a stranger may have made: plain tables, bounded in rows, bytes, steps.

A GeoPackage (OGC 12-128, from memory; a writer of the format is tested) is a SQLite file, and SQLite runs
whatever query hides behind a name: a view without end in place of a table, even in place of the register of
layers, would be read for ever. So what is read must be a table, columns that are worked out are left alone,
and a number of steps ends whatever else there is.

Its geometries are well-known binary of OGC 06-103, with the type numbers of ISO 13249-3 (from memory too).
Libraries read a collection within a collection by calling themselves, so that some hundred kilobytes of
nothing but beginnings end the process. So each is looked through first: how deep it nests, and whether it is
whole.
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any, Final, NamedTuple

import pyproj

from combe.errors import TableError

DEEPEST: Final = 3
"""How many collections may lie within one another; those of districts are one deep."""

_POINT, _LINE, _POLYGON, _COLLECTION = 1, 2, 3, 7
_ENVELOPE_BYTES: Final = (0, 32, 48, 48, 64)
"""Length of the frame in the header of a geometry, by its code."""

_HEADER_BYTES: Final = 8
_EXTENDED: Final = 0x20


MOST_STEPS: Final = 500_000_000
"""Steps of SQLite after which a reading ends; two million rows of ten columns take a tenth of it."""

MOST_LAYERS: Final = 1_000
_LOOK_AT_STEPS: Final = 100_000
_MOST_BYTES_A_BYTE: Final = 2
"""How much larger than its file the content of a table may be: UTF-16 becomes longer, nothing doubles."""

_LONGEST_CRS: Final = 100_000
_REGISTER: Final = "gpkg_geometry_columns"
_SYSTEMS: Final = "gpkg_spatial_ref_sys"


def binary_of(cell: object) -> bytes | None:
    """Return the well-known binary in a cell of a GeoPackage, None where the cell is empty.

    Raises
    ------
    ValueError
        The cell holds anything else, is cut short, nests too deep, or has curves.
    """
    if cell is None:
        return None
    if not isinstance(cell, bytes) or len(cell) < _HEADER_BYTES or cell[:2] != b"GP":
        raise ValueError("no geometry of a GeoPackage")
    code = cell[3] >> 1 & 7
    if code >= len(_ENVELOPE_BYTES) or cell[3] & _EXTENDED:
        raise ValueError("a geometry of another layout")
    binary = cell[_HEADER_BYTES + _ENVELOPE_BYTES[code] :]
    try:
        _look_through(binary)
    except (struct.error, IndexError):
        raise ValueError("a geometry that is cut short") from None
    return binary


def _look_through(binary: bytes) -> None:
    """Walk over all parts; what is still to come of each collection that is open is kept in a list."""
    at, to_come = 0, [1]
    while to_come:
        if to_come[-1] == 0:
            to_come.pop()
            continue
        to_come[-1] -= 1
        # Each part states its own order of bytes.
        order = "<" if binary[at] else ">"
        kind, dimensions = _kind(*struct.unpack_from(order + "I", binary, at + 1))
        at = _behind(binary, at + 5, order, kind, 8 * dimensions)
        if kind > _POLYGON:
            to_come.append(*struct.unpack_from(order + "I", binary, at - 4))
        if len(to_come) > DEEPEST + 1:
            raise ValueError("collections within collections")
    if at > len(binary):
        raise ValueError("a geometry that is cut short")


def _kind(number: int) -> tuple[int, int]:
    """Return the plain type of a geometry, 1 to 7, and how many numbers a place of it has."""
    with_height_or_measure, kind = divmod(number, 1000)
    if not (_POINT <= kind <= _COLLECTION and with_height_or_measure <= 3):
        raise ValueError(f"geometries of type {number}; take plain ones, without curves")
    return kind, (2, 3, 3, 4)[with_height_or_measure]


def _behind(binary: bytes, at: int, order: str, kind: int, place_bytes: int) -> int:
    """Return where a point, line or polygon ends, or the count of a collection's parts."""
    if kind == _POINT:
        return at + place_bytes
    (count,) = struct.unpack_from(order + "I", binary, at)
    at += 4
    if kind == _LINE:
        return at + int(count) * place_bytes
    if kind == _POLYGON:
        for _ in range(count):
            at += 4 + int(struct.unpack_from(order + "I", binary, at)[0]) * place_bytes
    return at


class Layer(NamedTuple):
    """A layer in the file's order: well-known binary or None, and what the file says of each feature."""

    geometries: tuple[bytes | None, ...]
    properties: tuple[Mapping[str, Any], ...]
    crs: pyproj.CRS


class _Place(NamedTuple):
    """Where the geometries of a layer lie: table, column, number of the CRS."""

    table: str
    column: str
    crs_number: int


def read_layer(file: Path, layer: str | None, most_rows: int) -> Layer:
    """Return one layer, with one row more than ``most_rows`` where it has more.

    Parameters
    ----------
    file
        A GeoPackage.
    layer
        Its name; None where the file has but one.
    most_rows
        How many features are wanted at most.

    Raises
    ------
    TableError
        Damaged, not one layer, without CRS, a query in place of a table, or without end.
    """
    try:
        with closing(_opened(file)) as base:
            place = _chosen(file, list(_places(file, base)), layer)
            crs = _crs(file, base, place.crs_number)
            return _read(file, base, place, crs, most_rows)
    except sqlite3.Error as fault:
        if getattr(fault, "sqlite_errorname", "") == "SQLITE_INTERRUPT":
            raise TableError(file, "reading it takes no end", "write its layer into a new file") from None
        raise TableError(file, f"cannot be read ({' '.join(str(fault).split())[:120]})") from None
    except ValueError as fault:
        raise TableError(file, f"cannot be read ({fault})") from None


def _opened(file: Path) -> sqlite3.Connection:
    """Open for reading, with bounds; no lock where nobody's unfinished writing lies beside the file."""
    # "immutable" spares locks and the files that go with them, for which a folder that may not be written has
    # no room. But it also passes over a journal, and pages of an unfinished writing would be read for good
    # ones.
    alone = not any(file.with_name(file.name + end).exists() for end in ("-wal", "-journal"))
    more = "&immutable=1" if alone else ""
    base = sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro{more}", uri=True)
    try:
        # What the file itself defines may then call no function with effects.
        base.execute("PRAGMA trusted_schema = OFF")
        # No cell is larger than its file.
        base.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, max(file.stat().st_size, 1_000_000))
    except BaseException:
        base.close()
        raise
    looks = iter(range(MOST_STEPS // _LOOK_AT_STEPS))
    base.set_progress_handler(lambda: next(looks, None) is None, _LOOK_AT_STEPS)
    return base


def _places(file: Path, base: sqlite3.Connection) -> Iterator[_Place]:
    """Yield the layers that the file registers."""
    _check_table(file, base, _REGISTER)
    _check_table(file, base, _SYSTEMS)
    query = f"SELECT table_name, column_name, srs_id FROM {_REGISTER} LIMIT {MOST_LAYERS}"
    for table, column, number in base.execute(query):
        yield _Place(str(table), str(column), number if isinstance(number, int) else 0)


def _chosen(file: Path, places: Sequence[_Place], layer: str | None) -> _Place:
    """Return the layer that is asked for."""
    if not places:
        raise TableError(file, "it has no layer of geometries")
    if layer is None and len(places) == 1:
        return places[0]
    for place in places:
        if place.table == layer:
            return place
    asked = "it has several layers" if layer is None else f"it has no layer {layer!r}"
    raise TableError(file, asked, f"name one of {', '.join(place.table for place in places)}")


def _check_table(file: Path, base: sqlite3.Connection, name: str) -> None:
    """Raise TableError unless a name, whose letters SQLite takes small or large, is that of a plain table."""
    query = "SELECT type, sql LIKE 'CREATE VIRTUAL%' FROM sqlite_master WHERE name = ? COLLATE NOCASE"
    kinds = base.execute(f"{query} AND type IN ('table', 'view')", (name,)).fetchall()
    if kinds == [("table", 0)]:
        return
    wrong = "is not there" if not kinds else "is a view" if kinds[0][0] == "view" else "is no plain table"
    if name in (_REGISTER, _SYSTEMS):
        raise TableError(file, f"its table {name} {wrong}", "write its layer into a new file")
    raise TableError(file, f"its layer {name!r} {wrong}", "write what it shows into a table of the file")


def _read(file: Path, base: sqlite3.Connection, place: _Place, crs: pyproj.CRS, most_rows: int) -> Layer:
    """Read the rows of a layer, but for its key and columns that are worked out."""
    _check_table(file, base, place.table)
    columns = [row[1:6] for row in base.execute(f"PRAGMA table_info({_quoted(place.table)})")]
    kept = [
        (name, str(kind).upper() == "BOOLEAN")
        for name, kind, _, _, key in columns
        if not key and name.casefold() != place.column.casefold()
    ]
    names = ", ".join(map(_quoted, [place.column, *(name for name, _ in kept)]))
    rows = base.execute(f"SELECT {names} FROM {_quoted(place.table)} LIMIT {most_rows + 1}")
    geometries, properties = [], []
    for geometry, *cells in _as_large_as(rows, _MOST_BYTES_A_BYTE * file.stat().st_size):
        geometries.append(binary_of(geometry))
        properties.append({name: _value(cell, yes) for (name, yes), cell in zip(kept, cells, strict=True)})
    return Layer(tuple(geometries), tuple(properties), crs)


def _as_large_as(rows: Iterator[tuple[Any, ...]], most_bytes: int) -> Iterator[tuple[Any, ...]]:
    """Yield rows as long as they hold no more than their file can: damaged pages may lead in a circle."""
    for row in rows:
        most_bytes -= sum(len(cell) for cell in row if isinstance(cell, str | bytes))
        if most_bytes < 0:
            raise ValueError("it holds more than its bytes can")
        yield row


def _value(cell: Any, is_yes_or_no: bool) -> Any:
    """Return a cell as it is kept, but yes and no, which SQLite keeps as numbers."""
    return bool(cell) if is_yes_or_no and isinstance(cell, int) else cell


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _crs(file: Path, base: sqlite3.Connection, number: int) -> pyproj.CRS:
    """Return a CRS of the file by its number; 0 and -1 are those that nobody defined."""
    rows = base.execute(f"SELECT * FROM {_SYSTEMS} WHERE srs_id = ? LIMIT 1", (number,))
    names = [each[0].lower() for each in rows.description]
    row = dict(zip(names, rows.fetchone() or (), strict=False))
    if number > 0 and row:
        words = [row.get("definition_12_063"), row.get("definition")]
        if str(row.get("organization")).upper() == "EPSG":
            words.insert(0, f"EPSG:{row.get('organization_coordsys_id')}")
        for crs in map(_crs_of, words):
            if crs is not None:
                return crs
    raise TableError(file, "its layer has no CRS that is known", "write the CRS into the file")


def _crs_of(words: object) -> pyproj.CRS | None:
    """Return the CRS of a number or of its well-known text, None where it is neither."""
    if not isinstance(words, str) or len(words) > _LONGEST_CRS:
        return None
    try:
        number = words.removeprefix("EPSG:")
        return pyproj.CRS.from_epsg(number) if number != words else pyproj.CRS.from_wkt(words)
    except pyproj.exceptions.CRSError:
        return None
