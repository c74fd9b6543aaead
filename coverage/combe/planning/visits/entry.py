"""What a reading is held against while it is written down at the site, as numbers that a page can carry.

The verdict is that of :mod:`combe.planning.visits.judge` but for a drift over the years, which takes the
whole log and the day of the visit. A reading of a commissioning becomes the record itself, so there the
record does not count.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.planning.visits.air import with_air
from combe.planning.visits.sheet import SheetRow, tolerated
from combe.planning.visits.units import UNITS, units_of

_POWER_OF_DECIBELS: Final = ("dBm", "W")


class Bounds(NamedTuple):
    """Between which values a reading is within tolerance, in the unit of its row; None is no bound."""

    lowest: float | None
    highest: float | None


class WrittenUnit(NamedTuple):
    """A unit in which a reading may be written, and between which values it is believed.

    In the unit of the row a value v is times·v + plus or, for decibels of a power, 10 to the tenth of that.
    """

    name: str
    lowest: float
    highest: float
    times: float
    plus: float
    as_power: bool


@dataclass(frozen=True)
class Entry:
    """What the next reading of a row is held against.

    ``repeat`` is by how much it may differ from ``last``, the reading of the last visit in the unit of the
    row; both are None where there was no visit or no change is usual.
    """

    routine: Bounds
    commissioning: Bounds
    last: float | None
    repeat: float | None
    units: tuple[WrittenUnit, ...]


def entry_of(sheet: SheetRow) -> Entry:
    """Return what the next reading of a row of the sheet is held against."""
    repeat = with_air(sheet.row, sheet.air).repeat
    told = repeat is not None and sheet.last_value is not None
    return Entry(
        routine=Bounds(sheet.lowest, sheet.highest),
        commissioning=Bounds(*tolerated(sheet.row, None, sheet.expected, sheet.air)[:2]),
        last=sheet.last_value if told else None,
        repeat=repeat if told else None,
        units=tuple(_unit(name, sheet.row.unit) for name in units_of(sheet.row)),
    )


def _unit(name: str, into: str) -> WrittenUnit:
    way = next(way for way in UNITS[name] if way.into == into)
    if (name, into) == _POWER_OF_DECIBELS:
        return WrittenUnit(name, way.lowest, way.highest, 1.0, -30.0, as_power=True)
    # All other ways are straight lines, of which two points tell all.
    plus = way.convert(0.0)
    return WrittenUnit(name, way.lowest, way.highest, way.convert(1.0) - plus, plus, as_power=False)
