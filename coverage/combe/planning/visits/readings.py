"""One reading of a visit, the series that readings of one kind form, and what stands after corrections."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple, get_args

from combe.errors import RangeError
from combe.planning.visits.units import way_of
from combe.standards import RoutineReading, reading_row
from combe.stations import require_choice, require_name

Visit = Literal["routine", "commissioning"]


class SeriesKey(NamedTuple):
    """What a series of readings is of; ``service`` is empty for readings of the whole station."""

    station: str
    service: str
    test_point: str
    quantity: str


@dataclass(frozen=True)
class Reading:
    """One reading as it was written down.

    Parameters
    ----------
    date : datetime.date
    station, service, test_point, quantity : str
        As in the study and in :mod:`combe.standards.visit_readings`; service empty for the whole station.
    value, unit : float, str
        As read; 1 and 0 with the unit ``check`` are "ok" and "not ok".
    meter : str
        May be empty for a check.
    meter_calibrated_on : datetime.date or None
    who, weather, note : str
    visit : {"routine", "commissioning"}
        The readings of the last commissioning are the record that later ones are compared with.
    photos : str
        Names of the files of its photographs, with semicolons between.
    visit_note : str
        What is remarked of the whole visit.
    correction : bool
        Takes the place of an earlier entry of the same day in what is judged; the log keeps both.

    Raises
    ------
    RangeError
        A test point, quantity or unit that does not exist, or a value that is not believed.
    """

    date: datetime.date
    station: str
    service: str
    test_point: str
    quantity: str
    value: float
    unit: str
    meter: str = ""
    meter_calibrated_on: datetime.date | None = None
    who: str = ""
    weather: str = ""
    note: str = ""
    visit: Visit = "routine"
    correction: bool = False
    photos: str = ""
    visit_note: str = ""

    def __post_init__(self) -> None:
        require_name("station of a reading", self.station)
        require_choice("visit of a reading", self.visit, get_args(Visit))
        row = row_of(self)
        way = way_of(self.unit, row)
        if way is None:
            raise RangeError(f"unit of {row.quantity}", repr(self.unit), row.unit)
        if not (math.isfinite(self.value) and way.lowest <= self.value <= way.highest):
            allowed = f"{way.lowest:g} to {way.highest:g} {self.unit}"
            raise RangeError(f"value of {row.quantity}", self.value, allowed)


def row_of(reading: Reading) -> RoutineReading:
    """Return the row of routine readings that a reading belongs to, or raise :class:`RangeError`."""
    row = reading_row(reading.test_point, reading.quantity)
    if row is None:
        given = f"{reading.quantity!r} at {reading.test_point!r}"
        raise RangeError("reading", given, "a routine reading", "see the blank sheet")
    return row


def key_of(reading: Reading) -> SeriesKey:
    """Return the series that a reading belongs to."""
    return SeriesKey(reading.station, reading.service, reading.test_point, reading.quantity)


def standing(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Return the readings that count, by date: of one series and day, the entry made last."""
    last: dict[tuple[SeriesKey, datetime.date], Reading] = {}
    for reading in readings:
        last[key_of(reading), reading.date] = reading
    return tuple(sorted(last.values(), key=lambda reading: reading.date))


def series_of(readings: Iterable[Reading]) -> Mapping[SeriesKey, tuple[Reading, ...]]:
    """Return the readings that count, gathered in series, each by date."""
    series: dict[SeriesKey, list[Reading]] = {}
    for reading in standing(readings):
        series.setdefault(key_of(reading), []).append(reading)
    return {key: tuple(each) for key, each in series.items()}
