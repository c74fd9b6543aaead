"""Units in which readings may be written, and the way from each to the unit of its row."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from combe.decibels import dbm_from_dbuv
from combe.standards import RoutineReading, Scale
from combe.words import joined, tell

LEAST_POWER_W: Final = 1e-3
"""Taken in place of less where powers are compared in dB."""


class Unit(NamedTuple):
    """A unit as written, the unit it turns into, how, and between which values it is believed."""

    into: str
    convert: Callable[[float], float]
    lowest: float
    highest: float


def _same(value: float) -> float:
    return value


def _dbm_to_w(value: float) -> float:
    return float(10.0 ** (value / 10.0 - 3.0))


def _dbuv_75(value: float) -> float:
    return dbm_from_dbuv(value, 75.0)


def _dbuv_50(value: float) -> float:
    return dbm_from_dbuv(value, 50.0)


def _kilo(value: float) -> float:
    return 1000.0 * value


def _milli(value: float) -> float:
    return value / 1000.0


UNITS: Final[Mapping[str, tuple[Unit, ...]]] = MappingProxyType(
    {
        "dBm": (Unit("dBm", _same, -200.0, 100.0), Unit("W", _dbm_to_w, -60.0, 70.0)),
        "dBuV 75 ohm": (Unit("dBm", _dbuv_75, -60.0, 200.0),),
        "dBuV 50 ohm": (Unit("dBm", _dbuv_50, -60.0, 200.0),),
        "dB": (Unit("dB", _same, -120.0, 120.0),),
        "W": (Unit("W", _same, 0.0, 1e7),),
        "mW": (Unit("W", _milli, 0.0, 1e7),),
        "kW": (Unit("W", _kilo, 0.0, 1e4),),
        "V": (Unit("V", _same, -1e4, 1e4),),
        "mV": (Unit("V", _milli, -1e7, 1e7),),
        "Hz": (Unit("Hz", _same, -1e7, 1e7),),
        "kHz": (Unit("Hz", _kilo, -1e4, 1e4),),
        "ratio": (Unit("ratio", _same, 0.0, 1.0),),
        "count": (Unit("count", _same, 0.0, 1e12),),
        "degC": (Unit("degC", _same, -60.0, 150.0),),
        "check": (Unit("check", _same, 0.0, 1.0),),
    }
)

_MILLI_OR_MEGA: Final = ("mw", "mv")

CHECK_WORDS: Final[Mapping[str, float]] = MappingProxyType({"ok": 1.0, "not ok": 0.0})
"""Words that stand for the value of a visual check."""


def plain_unit(text: str) -> str:
    """Return a unit with its micro sign written u and its ohm sign written ohm, single spaces between."""
    swapped = text.replace("µ", "u").replace("μ", "u").replace("Ω", "ohm").replace("Ω", "ohm")
    words = joined(" ", swapped.split())
    if words in UNITS or words.casefold() in _MILLI_OR_MEGA:
        return words
    return {unit.casefold(): unit for unit in UNITS}.get(words.casefold(), words)


def units_of(row: RoutineReading) -> tuple[str, ...]:
    """Return the units in which a row's reading may be written, its own first."""
    fitting = [name for name, ways in UNITS.items() if any(way.into == row.unit for way in ways)]
    return tuple(sorted(fitting, key=lambda name: name != row.unit))


def way_of(unit: str, row: RoutineReading) -> Unit | None:
    """Return how a unit as written turns into the row's, or None where it does not."""
    return next((way for way in UNITS.get(plain_unit(unit), ()) if way.into == row.unit), None)


def in_row_unit(value: float, unit: str, row: RoutineReading) -> float:
    """Return a value in the row's own unit, NaN where the unit does not fit."""
    way = way_of(unit, row)
    return way.convert(value) if way else math.nan


def compared(value: float, scale: Scale) -> float:
    """Return what differences are taken of: 10 log of a power, else the value itself."""
    return 10.0 * math.log10(max(value, LEAST_POWER_W)) if scale == "power" else value


def shown(value: float, row: RoutineReading, *, with_unit: bool = True) -> str:
    """Return a value of a row in words, for example ``-52.3 dBm``, or ``ok`` for a check."""
    if row.scale == "check":
        return "ok" if value == 1.0 else "not ok"
    if row.unit == "count":
        return tell("{value:g}", value=value)
    digits = _digits(value, row.unit)
    if row.unit == "ratio" or not with_unit:
        return digits
    return tell("{digits} {unit}", digits=digits, unit=row.unit)


def shown_beyond(value: float, limit: float, row: RoutineReading) -> str:
    """Return a value outside a limit in words, with as many digits as show that it is outside."""
    usual = shown(value, row)
    if usual != shown(limit, row) or row.scale == "check":
        return usual
    exact = tell("{value:.12g}", value=value)
    return exact if row.unit in ("count", "ratio") else tell("{exact} {unit}", exact=exact, unit=row.unit)


def _digits(value: float, unit: str) -> str:
    """Return a number as meters show it: a decimal of dB, whole hertz, else four figures."""
    if unit in ("dBm", "dB", "degC"):
        return tell("{value:.1f}", value=value)
    if unit == "ratio":
        return tell("{value:.2g}", value=value)
    return (
        tell("{value:.0f}", value=value)
        if unit == "Hz" or abs(value) >= 1000.0
        else tell("{value:.4g}", value=value)
    )
