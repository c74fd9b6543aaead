"""Reads the readings of a visit from a CSV table: all of them, or none and every fault with its row.

The columns, in any order: ``date, station, service, test_point, quantity, value, unit, meter,
meter_calibrated_on, who, weather, note``, and if wanted ``visit`` (routine or commissioning),
``correction`` (yes), ``photos`` (names of files) and ``visit_note`` (of the whole visit). The blank sheet has
further columns that are not read, and its rows without a value are passed over.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, cast

from combe.errors import RangeError, TableError
from combe.planning.visits.readings import Reading, SeriesKey, Visit, key_of, row_of
from combe.planning.visits.units import CHECK_WORDS, plain_unit, units_of, way_of
from combe.standards import ROUTINE_READINGS, RoutineReading, is_at, test_points
from combe.tables import (
    CellError,
    TableRow,
    choice_in,
    date_in,
    number_in,
    raise_faults,
    read_rows,
    shown,
    text_in,
)

COLUMNS: Final = (
    "date", "station", "service", "test_point", "quantity", "value", "unit", "meter",
    "meter_calibrated_on", "who", "weather", "note",
)  # fmt: skip
OPTIONAL_COLUMNS: Final = ("visit", "correction", "photos", "visit_note")
SHEET_COLUMNS: Final = ("expected", "record", "lowest", "highest", "where")
"""Columns of the blank sheet that are for eyes only."""

_EXAMPLE: Final = "2026-05-01,STATION,SERVICE,feeder,level,-52.3,dBm,METER,2026-01-15,NAME,dry,"

Stations = Mapping[str, tuple[str, ...]]
"""Name of each station of the study, with the names of its services."""


@dataclass(frozen=True)
class ReadingFile:
    """What a file held: its readings, and how many rows of a blank sheet were left without a value."""

    readings: tuple[Reading, ...]
    rows_left_blank: int


def read_readings(
    path: Path | str,
    stations: Stations,
    *,
    today: datetime.date,
    known: Iterable[Reading] = (),
    family: str | None = None,
    off_air: Collection[str] = (),
) -> ReadingFile:
    """Read a table of readings.

    Parameters
    ----------
    path : Path or str
    stations : mapping of str to tuple of str
        Stations of the study, with their services.
    today : datetime.date
        No reading is later.
    known : iterable of Reading
        Those in the log; a reading that is there already is a fault, unless it is marked as a correction.

    family : str, optional
        Of the study's television system; a reading that it does not have is a fault.
    off_air : collection of str, optional
        Stations that are off the air, of which there is nothing to compare readings with.

    Raises
    ------
    TableError
        One line with every fault: row, what stands there, what to write.
    """
    file = Path(path)
    rows, faults = read_rows(file, COLUMNS, (*OPTIONAL_COLUMNS, *SHEET_COLUMNS), _EXAMPLE)
    blank = [row for row in rows if "expected" in row.cells and not row.cells["value"]]
    logged = {_day(reading) for reading in known}
    seen: dict[tuple[SeriesKey, datetime.date], int] = {}
    readings: list[Reading] = []
    for row in [row for row in rows if row not in blank]:
        try:
            _refuse_off_air(row.cells["station"], off_air)
            reading = _reading(row.cells, stations, today)
            _check_family(reading, family)
            _check_first(reading, row, seen, logged)
            readings.append(reading)
        except (CellError, RangeError) as error:
            faults.append(f"row {row.number}: {error}")
    faults.sort(key=lambda fault: int(fault.split(":")[0].split()[1]))
    if not readings and not faults:
        faults = ["it holds no reading; fill in the column value"]
    raise_faults(file, faults)
    return ReadingFile(tuple(readings), len(blank))


def refuse_logged(path: Path, readings: Iterable[Reading], known: Iterable[Reading]) -> None:
    """Raise :class:`TableError` where a reading came into the log since the file was read."""
    logged = {_day(reading) for reading in known}
    twice = [reading for reading in readings if _day(reading) in logged and not reading.correction]
    if twice:
        first = f"{twice[0].quantity} at {twice[0].test_point} of {twice[0].date}"
        problem = f"{len(twice)} of its readings came into the log meanwhile, the first is {first}"
        raise TableError(path, problem, "nothing was taken; has another entered the same file?")


def _day(reading: Reading) -> tuple[SeriesKey, datetime.date]:
    return key_of(reading), reading.date


def _check_first(
    reading: Reading,
    row: TableRow,
    seen: dict[tuple[SeriesKey, datetime.date], int],
    logged: set[tuple[SeriesKey, datetime.date]],
) -> None:
    """Refuse what stands in the file or in the log already."""
    day = _day(reading)
    if day in seen:
        raise CellError(f"is a duplicate of row {seen[day]} (same day, place and quantity); take one out")
    seen[day] = row.number
    if day in logged and not reading.correction:
        raise CellError(
            f"{reading.quantity} at {reading.test_point} of {reading.date} is a duplicate: it stands in the "
            "log; take it out, or write yes under correction"
        )
    if day not in logged and reading.correction:
        raise CellError(f"corrects a reading of {reading.date} that the log does not hold; take the yes out")


def _check_family(reading: Reading, family: str | None) -> None:
    """Refuse a reading that receivers of the system do not have."""
    row = row_of(reading)
    if family is not None and family not in row.families:
        has = " and ".join(row.families)
        raise CellError(
            f"{row.quantity} at {row.test_point} is a reading of {has}, not of {family}; see the blank sheet"
        )


def _reading(cells: Mapping[str, str], stations: Stations, today: datetime.date) -> Reading:
    date = date_in(cells["date"], "date", today)
    station = _name_in(cells["station"], "station", stations)
    row, test_point = _row(cells)
    return Reading(
        date=date,
        station=station,
        service=_service(cells["service"], row, station, stations),
        test_point=test_point,
        quantity=row.quantity,
        value=_value(cells["value"], row),
        unit=_unit(cells["unit"], row),
        meter=_meter(cells["meter"], row),
        meter_calibrated_on=_calibrated(cells["meter_calibrated_on"], date),
        who=_who(cells["who"]),
        weather=text_in(cells["weather"], "weather"),
        note=text_in(cells["note"], "note"),
        visit=cast(Visit, choice_in(cells.get("visit") or "routine", "visit", ("routine", "commissioning"))),
        correction=choice_in(cells.get("correction") or "no", "correction", ("yes", "no")) == "yes",
        photos=text_in(cells.get("photos") or "", "photos"),
        visit_note=text_in(cells.get("visit_note") or "", "visit_note"),
    )


def _refuse_off_air(text: str, off_air: Collection[str]) -> None:
    """Raise :class:`CellError` for a reading of a station that is off the air."""
    names = [" ".join(name.casefold().split()) for name in off_air]
    if any(" ".join(each.casefold().split()) in names for each in (text, _unquoted(text))):
        raise CellError(f"station {shown(text)} is off the air in this study; put it on the air, or take the "
                        "reading out")  # fmt: skip


def _name_in(text: str, what: str, names: Iterable[str]) -> str:
    """Return the name that a cell holds, as it stands or without the apostrophe that tables put before it."""
    try:
        return choice_in(text, what, names)
    except CellError:
        return choice_in(_unquoted(text), what, names)


def _unquoted(text: str) -> str:
    """Take off the apostrophe that tables put before what a spreadsheet would take for a formula."""
    return text[1:] if text[:1] == "'" and text[1:2] in ("=", "+", "-", "@") else text


def _row(cells: Mapping[str, str]) -> tuple[RoutineReading, str]:
    """Return the routine reading of a row, and its test point as it is written in the log."""
    given = cells["test_point"]
    at = [row for row in ROUTINE_READINGS if is_at(row, given)]
    if not at:
        numbered = {row.test_point: f"{row.test_point} 1" for row in ROUTINE_READINGS if row.numbered}
        choice_in(given, "test point", [numbered.get(name, name) for name in test_points()])
    quantity = choice_in(cells["quantity"], "quantity", [row.quantity for row in at])
    row = next(row for row in at if row.quantity == quantity)
    number = f" {int(given.split()[-1])}" if row.numbered else ""
    return row, row.test_point + number


def _service(given: str, row: RoutineReading, station: str, stations: Stations) -> str:
    if row.per_service:
        return _name_in(given, f"service of {station}", stations[station])
    if given:
        raise CellError(f"service {shown(given)} stands at {row.quantity}, which is of the whole station; "
                        "leave it empty")  # fmt: skip
    return ""


def _value(given: str, row: RoutineReading) -> float:
    if row.scale == "check":
        return CHECK_WORDS[choice_in(given, f"value of {row.quantity}", CHECK_WORDS)]
    return number_in(given, "value")


def _unit(given: str, row: RoutineReading) -> str:
    if row.scale == "check" and not given:
        return row.unit
    unit, allowed = plain_unit(given), " or ".join(units_of(row))
    if not given:
        raise CellError(f"unit is missing; write {allowed}")
    if way_of(unit, row) is None:
        impedance = "; state the impedance" if unit.casefold() == "dbuv" else ""
        raise CellError(f"unit {shown(given)} does not fit {row.quantity}{impedance}; write {allowed}")
    return unit


def _meter(given: str, row: RoutineReading) -> str:
    if row.scale != "check" and not given:
        raise CellError("meter is empty; write its type and number")
    return text_in(given, "meter")


def _calibrated(given: str, date: datetime.date) -> datetime.date | None:
    return date_in(given, "meter_calibrated_on", date) if given else None


def _who(given: str) -> str:
    if not given:
        raise CellError("who is empty; write who took the reading")
    return text_in(given, "who")
