"""Takes stations of another table into a study's own: all of them checked before any is written."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from combe.errors import OutputError, StudyError, TableError, quoted
from combe.files import is_regular, replacing
from combe.geodesy import distance_km
from combe.study.claims import SPEAKS_OF, followed, mark_of
from combe.study.crosscheck import Table
from combe.study.file import Reading, Study, checked_study, checked_table, load_study, read_study
from combe.study.saved_rows import new_rows
from combe.study.saved_text import saved_text, toml_value
from combe.study.station_table import StationTable, Teller, read_station_table
from combe.study.tablecheck import place_of
from combe.tables import Layout

TABLE_NAME: Final = "stations.csv"
FAR_KM: Final = 300.0
"""A station farther than this from all others of its study is told: beyond it no field is predicted."""


@dataclass(frozen=True)
class StationsImport:
    """What an import would write, or has written.

    Attributes
    ----------
    study, source
        The study, and the table that is taken in.
    stations
        As the study will have them.
    faults
        What could not be read or does not fit, with its row; where there is any, nothing is written.
    rows
        How many rows could be read.
    far
        Names of stations that are far from all that the study had.
    target
        The study's table of stations, there or to be.
    written
        Whether it was written.
    """

    study: Study
    source: Path
    stations: tuple[Mapping[str, Any], ...]
    rows: int
    faults: tuple[str, ...]
    far: tuple[str, ...]
    target: Path
    written: bool = False


def import_stations(
    path: Path, source: Path, layout: Layout, given: Mapping[str, str], *, write: bool
) -> StationsImport:
    """Read a table for a study, and write its stations where that is asked for and nothing is at fault.

    Parameters
    ----------
    path
        A study without faults.
    source
        A table in text or a GeoPackage.
    layout
        How it is written, and what it calls its columns.
    given
        Columns that it has not, or leaves empty: one value for all rows.

    Raises
    ------
    StudyError
        A study with faults of its own.
    TableError
        A table that cannot be read at all, or one of the study to which no rows can be added.
    OutputError
        A table in the way, or a disk that is full; nothing is left half-written.
    """
    reading = read_study(path)
    study = checked_study(reading)
    found = read_station_table(source, source.name, layout, given)
    faults = tuple(_faults(reading, study, found))
    target = _target(study)
    made = StationsImport(
        study, source, tuple(found.stations), found.rows, faults, _far(reading, found), target
    )
    if not write or faults:
        return made
    _write(study, found, target)
    return replace(made, written=True)


def _faults(reading: Reading, study: Study, found: StationTable) -> Iterator[str]:
    """Yield what is wrong with the rows of a table, by itself and beside the study's own stations."""
    teller = Teller(found, len(found.stations))
    told = [teller.fault(each) for each in found.faults]
    yield from told
    own = {str(each["name"]) for each in reading.table["stations"]}
    for each in found.stations:
        if each["name"] in own:
            yield f"{quoted(each['name'])} is a station of the study already; take its rows out"
    if not found.stations:
        if not told:
            yield "it holds no station"
        return
    fresh = [each for each in found.stations if each["name"] not in own]
    try:
        checked_table(
            replace(study, rows=found), {**reading.table, "stations": [*reading.table["stations"], *fresh]}
        )
    except StudyError as error:
        yield from (each for each in error.faults if each not in told)


def _far(reading: Reading, found: StationTable) -> tuple[str, ...]:
    own = [place for each in reading.table["stations"] if (place := place_of(each)) is not None]
    return tuple(
        str(each["name"])
        for each in found.stations
        if (place := place_of(each)) is not None
        and min((distance_km(*place, *there) for there in own), default=0.0) > FAR_KM
    )


def _target(study: Study) -> Path:
    """Return the study's table of stations, or where it will be."""
    if study.rows is None:
        return study.path.parent / TABLE_NAME
    table = study.path.parent / study.rows.name
    if not study.rows.plain or table.suffix.lower() != ".csv":
        advice = "write it as CSV with commas and our names of columns first; combe desk saves it so"
        raise TableError(table, "it is no table that rows can be added to", advice)
    return table


def _write(study: Study, found: StationTable, target: Path) -> None:
    text = study.path.read_bytes().decode("utf-8")
    before = tomllib.loads(text.removeprefix("\ufeff"))
    rows = _rows_text(study, found, target)
    after, changed = _with_table(before, text, target.name)
    marks = {target.name: mark_of(rows.encode())}
    for section, entries in followed(before, after, {}, marks).items():
        new_table = section == "study" and study.rows is None
        fresh = [f"{target.name} #{marks[target.name]}"] if new_table else []
        after[section] = {**after[section], SPEAKS_OF: [*entries, *fresh]}
    changed = saved_text(changed, tomllib.loads(changed.removeprefix("\ufeff")), after)
    with _in_place(target, rows, theirs=study.rows is not None), replacing(study.path) as beside:
        beside.write_bytes(changed.encode())
        try:
            load_study(beside)
        except StudyError as error:
            raise StudyError(study.path, error.faults) from None


def _rows_text(study: Study, found: StationTable, target: Path) -> str:
    """Return the text of the study's table with the new rows behind its own."""
    if study.rows is None:
        return new_rows(found.stations)
    text = target.read_bytes().decode("utf-8")
    lines = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    header = next(
        [cell.strip() for cell in cells]
        for cells in lines
        if any(cells) and not cells[0].lstrip().startswith("#")
    )
    fresh = list(csv.reader(io.StringIO(new_rows(found.stations), newline="")))
    missing = [name for name in fresh[0] if name not in header]
    if missing:
        advice = "write that name behind its header, and a comma behind each row"
        raise TableError(target, f"it has no column {missing[0]!r}", advice)
    end = "\r\n" if "\r\n" in text else "\n"
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator=end)
    for row in fresh[1:]:
        cells = dict(zip(fresh[0], row, strict=True))
        writer.writerow([cells.get(name, "") for name in header])
    return text + ("" if text.endswith("\n") else end) + out.getvalue()


def _with_table(before: Table, text: str, name: str) -> tuple[dict[str, Any], str]:
    """Return a study's table and its text, the table of stations named in both."""
    if "network" in before:
        return dict(before), text
    end = "\r\n" if "\r\n" in text else "\n"
    unended = "" if text.endswith("\n") else end
    return (
        {**before, "network": {"stations": name}},
        f"{text}{unended}{end}[network]{end}stations = {toml_value(name)}{end}",
    )


@contextmanager
def _in_place(path: Path, text: str, *, theirs: bool) -> Iterator[None]:
    """Put a table in its place; on an error what was there before is there again."""
    old = path.read_bytes() if is_regular(path) else None
    if old is not None and not theirs:
        raise OutputError(path, "it is already there", "move it away, or name it in the study")
    with replacing(path) as beside:
        beside.write_bytes(text.encode())
    try:
        yield
    except BaseException:
        if old is None:
            path.unlink(missing_ok=True)
        else:
            with replacing(path) as beside:
                beside.write_bytes(old)
        raise
