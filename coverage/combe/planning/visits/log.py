"""The log of visits: readings appended to a GeoPackage beside the study, never rewritten.

A GeoPackage is a SQLite file, and each append is one of SQLite's transactions: all readings of a file land,
or none. Whoever is killed half-way leaves a journal from which the next to open the file restores it. Two
who append at once take turns. Only the standard library is used: a geospatial writer would not give the say
over transactions, and the judging of readings, which the study's runs do, needs the log below the
publishing floor.
"""

from __future__ import annotations

import contextlib
import datetime
import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from combe.errors import OutputError, TableError
from combe.planning.visits.geopackage import (
    APPLICATION_ID,
    COLUMNS,
    LATER_COLUMNS,
    LAYER,
    STATEMENTS,
    WIDENING,
    point_bytes,
)
from combe.planning.visits.readings import Reading, SeriesKey, key_of

WAIT_S: Final = 30.0
"""Wait for another's append at most this long."""

_LOOKS: Final = 20
_LOOK_S: Final = 0.05
"""How often, and how far apart, an empty file is looked at before it counts as one that stays so."""

Places = Mapping[str, tuple[float, float]]
"""Longitude and latitude [degrees] of each station."""

_FIRST_NAMES: Final = tuple(name for name, _ in COLUMNS)
_NAMES: Final = (*_FIRST_NAMES, *(name for name, _ in LATER_COLUMNS))
_INSERT: Final = (
    f"INSERT INTO {LAYER} (geom, {', '.join(_NAMES)}) VALUES ({', '.join('?' * (len(_NAMES) + 1))})"
)


def read_log(path: Path) -> tuple[Reading, ...]:
    """Return all readings in the order of their entry; none where there is no log yet.

    Raises
    ------
    TableError
        A file that is no log of visits.
    """
    if not path.exists():
        return ()
    with _opened(path) as base:
        return _readings(base, path)


def append_readings(
    path: Path,
    readings: Sequence[Reading],
    *,
    places: Places,
    expected: Mapping[SeriesKey, float],
    program: str,
    check: Callable[[tuple[Reading, ...]], None] | None = None,
) -> tuple[Reading, ...]:
    """Append readings in one transaction, and return the whole log.

    Parameters
    ----------
    path : Path
        The log; made where there is none.
    readings : sequence of Reading
    places : mapping of str to (longitude_deg, latitude_deg)
    expected : mapping of SeriesKey to float
        Predictions of today, kept with the readings.
    program : str
        What made the entry.
    check : callable, optional
        Given the log as it stands once no one else may write; what it raises leaves the log as it was.

    Raises
    ------
    TableError
        A file that is no log of visits.
    OutputError
        It cannot be written, or another held it for 30 s.
    """
    now = datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")
    rows = [_row(reading, places, expected, now, program) for reading in readings]
    with _opened(path) as base, _written(base):
        _make_layout(base)
        before = _readings(base, path)
        if check is not None:
            check(before)
        base.executemany(_INSERT, rows)
        _touch(base, now, [places[reading.station] for reading in readings])
        return (*before, *readings)


def _touch(base: sqlite3.Connection, now: str, places: Sequence[tuple[float, float]]) -> None:
    """Tell the table of contents of the append: its time, and the corners of all places."""
    query = f"SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = '{LAYER}'"
    corners = base.execute(query).fetchone()
    known = [*places, *([] if corners[0] is None else [corners[:2], corners[2:]])]
    lon, lat = [place[0] for place in known], [place[1] for place in known]
    base.execute(
        "UPDATE gpkg_contents SET last_change = ?, min_x = ?, min_y = ?, max_x = ?, max_y = ? "
        f"WHERE table_name = '{LAYER}'",
        (now, min(lon), min(lat), max(lon), max(lat)),
    )


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a log, restoring it first if a writer was killed; errors of SQLite become ours."""
    if path.is_dir() or not path.parent.is_dir():
        raise OutputError(path, "it is a folder, or its folder is not there", "name a file beside the study")
    if path.exists() and _stays_empty(path):
        raise TableError(
            path,
            "it is an empty file: its readings are lost, or a first visit was cut off",
            "put a copy back, or remove the file to begin a new log",
        )
    try:
        base = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
    except sqlite3.Error as error:
        raise OutputError(path, str(error), "choose a folder that you may write to") from error
    try:
        base.execute("PRAGMA trusted_schema = OFF")
        base.execute("PRAGMA synchronous = FULL")
        _refuse_others(base, path)
        yield base
    except sqlite3.OperationalError as error:
        raise OutputError(path, str(error), "is another writing to it, or is it read-only?") from error
    except sqlite3.DatabaseError as error:
        raise TableError(path, f"it is no log of visits ({error})", "name another log") from error
    finally:
        base.close()


def _stays_empty(path: Path) -> bool:
    """Tell whether a file has no bytes, nobody is about to write them, and nobody was killed doing so."""
    journal = path.with_name(f"{path.name}-journal")
    for _ in range(_LOOKS):
        if path.stat().st_size or journal.exists():
            return False
        time.sleep(_LOOK_S)
    return True


@contextlib.contextmanager
def _written(base: sqlite3.Connection) -> Iterator[None]:
    """Hold the log alone meanwhile; all or nothing is kept."""
    base.execute("BEGIN IMMEDIATE")
    try:
        yield
        base.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            base.execute("ROLLBACK")
        raise


def _make_layout(base: sqlite3.Connection) -> None:
    """Make the tables of an empty file, and the later columns of a log of the first layout."""
    if not base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
        for statement in STATEMENTS:
            base.execute(statement)
    elif _columns(base) == _FIRST_NAMES:
        for statement in WIDENING:
            base.execute(statement)


def _columns(base: sqlite3.Connection) -> tuple[str, ...]:
    """Return the columns of the layer behind its key and place."""
    return tuple(row[1] for row in base.execute(f"PRAGMA table_info({LAYER})"))[2:]


def _refuse_others(base: sqlite3.Connection, path: Path) -> None:
    """Raise TableError unless the file is empty or a log of visits."""
    if not base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
        return
    kind = base.execute("PRAGMA application_id").fetchone()[0]
    columns = [row[1] for row in base.execute(f"PRAGMA table_info({LAYER})")]
    layouts = [["fid", "geom", *names] for names in (_NAMES, _FIRST_NAMES)]
    query = "SELECT name FROM sqlite_master WHERE type = 'view' AND lower(name) IN (?, 'gpkg_contents')"
    view = base.execute(query, (LAYER,)).fetchone()
    if view:
        raise TableError(path, f"it is no log of visits: its {view[0]} is a query", "name another log")
    if kind != APPLICATION_ID or columns not in layouts:
        raise TableError(path, f"it is no log of visits, without the layer {LAYER}", "name another log")


def _row(
    reading: Reading, places: Places, expected: Mapping[SeriesKey, float], now: str, program: str
) -> tuple[Any, ...]:
    calibrated = reading.meter_calibrated_on
    return (
        point_bytes(*places[reading.station]),
        reading.date.isoformat(),
        *key_of(reading),
        reading.value,
        reading.unit,
        reading.meter,
        calibrated.isoformat() if calibrated else None,
        reading.who,
        reading.weather,
        reading.note,
        reading.visit,
        int(reading.correction),
        expected.get(key_of(reading)),
        now,
        program,
        reading.photos,
        reading.visit_note,
    )


def _readings(base: sqlite3.Connection, path: Path) -> tuple[Reading, ...]:
    if not base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
        return ()
    names = _columns(base)
    rows = base.execute(f"SELECT fid, {', '.join(names)} FROM {LAYER} ORDER BY fid")
    return tuple(_reading(dict(zip(("fid", *names), row, strict=True)), path) for row in rows)


def _reading(cells: Mapping[str, Any], path: Path) -> Reading:
    """Return a row as a reading; raises TableError for one that another program spoilt."""
    day = cells["meter_calibrated_on"]
    try:
        return Reading(
            date=datetime.date.fromisoformat(cells["date"]),
            value=float(cells["value"]),
            meter_calibrated_on=datetime.date.fromisoformat(day) if day else None,
            correction=bool(cells["correction"]),
            **{name: cells[name] for name in _TEXTS if name in cells},
        )
    except (ValueError, TypeError) as error:
        raise TableError(
            path, f"entry {cells['fid']} cannot be used: {error}", "enter it anew in a new log"
        ) from error


_TEXTS: Final = (
    "station", "service", "test_point", "quantity", "unit", "meter", "who", "weather", "note", "visit",
    "photos", "visit_note",
)  # fmt: skip
