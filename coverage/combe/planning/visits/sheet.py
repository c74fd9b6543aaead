"""The blank sheet for the next visit: each reading with what it should be, and between what it may lie."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.planning.visits.air import AirSpread, with_air
from combe.planning.visits.judge import Judgement
from combe.planning.visits.reading_file import COLUMNS, SHEET_COLUMNS
from combe.planning.visits.readings import Reading, SeriesKey
from combe.planning.visits.units import LEAST_POWER_W, compared, in_row_unit
from combe.standards import DIGITAL, FAMILIES, ROUTINE_READINGS, RoutineReading
from combe.stations import require_choice
from combe.words import joined, tell

_FORMULA_STARTS: Final = ("=", "+", "-", "@")


@dataclass(frozen=True)
class SheetSite:
    """What a sheet is for: a station with its services in order, their family, how its feed is divided.

    ``splitter_ports`` is 0 where there is no splitter; service number n is measured at port n.
    """

    station: str
    services: tuple[str, ...]
    family: str = DIGITAL[0]
    receives: bool = True
    splitter_ports: int = 0

    def __post_init__(self) -> None:
        require_choice("family of a sheet's system", self.family, FAMILIES)


@dataclass(frozen=True)
class SheetRow:
    """One reading to be taken; values in the unit of ``row``, None where there is none.

    ``record`` is the reading at commissioning (or the first), ``last`` that of the last visit. Between
    ``lowest`` and ``highest`` the next reading is within tolerance, ``basis`` says of what. ``air`` is what
    the air alone does to the reading, None where it does nothing.
    """

    key: SeriesKey
    row: RoutineReading
    expected: float | None
    record: Reading | None
    last: Reading | None
    lowest: float | None
    highest: float | None
    basis: str
    air: AirSpread | None = None

    @property
    def record_value(self) -> float | None:
        """Value at commissioning in the unit of the row."""
        return None if self.record is None else in_row_unit(self.record.value, self.record.unit, self.row)

    @property
    def last_value(self) -> float | None:
        """Value at the last visit in the unit of the row."""
        return None if self.last is None else in_row_unit(self.last.value, self.last.unit, self.row)


class _Span(NamedTuple):
    """Values between which a reading may lie; infinite where it may."""

    low: float = -math.inf
    high: float = math.inf


def sheet_rows(
    site: SheetSite,
    expected: Mapping[SeriesKey, float],
    judgements: Sequence[Judgement] = (),
    air: Mapping[SeriesKey, AirSpread] | None = None,
) -> tuple[SheetRow, ...]:
    """Return the readings of the next visit, in the order in which it goes through the station.

    Parameters
    ----------
    site : SheetSite
    expected : mapping of SeriesKey to float
        Predictions in the unit of the routine reading.
    judgements : sequence of Judgement
        What the log says so far.
    air : mapping of SeriesKey to AirSpread, optional
        What the air alone does to a reading.
    """
    known, spreads = {judgement.key: judgement for judgement in judgements}, air or {}
    return tuple(
        _sheet_row(key, row, expected.get(key), known.get(key), spreads.get(key))
        for row in ROUTINE_READINGS
        if _belongs(row, site)
        for key in _keys(row, site)
    )


def sheet_text(rows: Sequence[SheetRow]) -> str:
    """Return the sheet as a table whose filled-in rows :func:`read_readings` reads."""
    out = io.StringIO()
    table = csv.DictWriter(out, [*COLUMNS, *SHEET_COLUMNS], lineterminator="\n")
    table.writeheader()
    for row in rows:
        table.writerow(sheet_cells(row))
    return out.getvalue()


def sheet_cells(each: SheetRow) -> dict[str, str]:
    """Return the cells of a row of the blank sheet by their columns; those to fill in are left out."""
    cells = {
        "station": each.key.station,
        "service": each.key.service,
        "test_point": each.key.test_point,
        "quantity": each.key.quantity,
        "unit": each.row.unit,
        "expected": _number(each.expected),
        "record": _number(each.record_value),
        "lowest": _number(each.lowest),
        "highest": _number(each.highest),
        "where": each.row.where,
    }
    return {name: _cell(value) for name, value in cells.items()}


def _cell(text: str) -> str:
    """Return a cell that no spreadsheet takes for a formula; numbers stay as they are."""
    try:
        float(text)
    except ValueError:
        return "'" + text if text.startswith(_FORMULA_STARTS) else text
    return text


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"


def _belongs(row: RoutineReading, site: SheetSite) -> bool:
    if site.family not in row.families:
        return False
    if row.numbered and not site.splitter_ports:
        return False
    return site.receives or row.test_point not in ("feeder", "splitter port", "receiver")


def _keys(row: RoutineReading, site: SheetSite) -> list[SeriesKey]:
    services = site.services if row.per_service else ("",)
    return [
        SeriesKey(site.station, service, _point(row, number, site), row.quantity)
        for number, service in enumerate(services, start=1)
    ]


def _point(row: RoutineReading, number: int, site: SheetSite) -> str:
    """Return the test point's name, with the port that belongs to a service."""
    return (
        tell(
            "{test_point} {number}", test_point=row.test_point, number=(number - 1) % site.splitter_ports + 1
        )
        if row.numbered
        else row.test_point
    )


def _sheet_row(
    key: SeriesKey,
    row: RoutineReading,
    expected: float | None,
    judged: Judgement | None,
    air: AirSpread | None,
) -> SheetRow:
    centre = judged.values[judged.record] if judged else None
    low, high, basis = tolerated(row, centre, expected, air)
    return SheetRow(
        key=key,
        row=row,
        expected=expected,
        record=judged.readings[judged.record] if judged else None,
        last=judged.latest if judged else None,
        lowest=low,
        highest=high,
        basis=basis,
        air=air,
    )


def tolerated(
    row: RoutineReading, record: float | None, expected: float | None, air: AirSpread | None = None
) -> tuple[float | None, float | None, str]:
    """Return between which values a reading is within tolerance, None for no bound, and of what.

    Parameters
    ----------
    row : RoutineReading
    record : float or None
        Value at commissioning, in the unit of the row.
    expected : float or None
        Prediction, which counts while there is no record, and as the limit of a licensed power.
    air : AirSpread or None
        What the air alone does to the reading.
    """
    row = with_air(row, air)
    spans = [("limits", _Span(_or(row.lowest, -math.inf), _or(row.highest, math.inf)))]
    if record is not None and row.tolerance is not None:
        spans.append(("record", _around(row, record, row.tolerance, row.tolerance)))
    elif expected is not None and row.prediction_tolerance is not None:
        sides = (row.prediction_tolerance,) * 2
        if air is not None:
            sides = (max(sides[0], air.fall_db), max(sides[1], air.rise_db))
        spans.append(("prediction", _around(row, expected, *sides)))
    if row.expected_is_limit and expected is not None and row.prediction_tolerance is not None:
        sides = (row.prediction_tolerance,) * 2
        spans.append(("licence", _Span(high=_around(row, expected, *sides).high)))
    known = [name for name, span in spans if span != _Span()]
    low, high = max(span.low for _, span in spans), min(span.high for _, span in spans)
    bounds = (low if math.isfinite(low) else None, high if math.isfinite(high) else None)
    return (*bounds, joined(" and ", known))


def _around(row: RoutineReading, centre: float, below: float, above: float) -> _Span:
    """Return the span of tolerances around a value, on the side on which it counts."""
    level = compared(centre, row.scale)
    low = -math.inf if row.side == "rise" else _back(level - below, row)
    high = math.inf if row.side == "fall" else _back(level + above, row)
    return _Span(low, high)


def _back(level: float, row: RoutineReading) -> float:
    """Return the value whose compared form is given."""
    if row.scale != "power":
        return level
    value = float(10.0 ** (level / 10.0))
    return value if value > LEAST_POWER_W else 0.0


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value
