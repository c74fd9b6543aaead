"""Radiated powers in tables: watts, kilowatts, or decibels over a watt, a milliwatt or a kilowatt."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from combe.constants import DIPOLE_GAIN_DBI
from combe.tables.cells import NUMBER, CellError, Sign, plain_number, shown

UNITS: Final = ("w", "kw", "dbw", "dbm", "dbk")
COLUMNS: Final = tuple(f"{kind}_{unit}" for kind in ("erp", "eirp") for unit in UNITS)
"""Columns that tell the radiated power; of each table one."""

_OVER_A_WATT_DB: Final = {"dbw": 0.0, "dbm": -30.0, "dbk": 30.0}
_MOST_DBW: Final = 80.0
_WITH_UNIT: Final = re.compile(r"(.*?[\d.,])\s*(k?w|mw|db[wmk])", re.IGNORECASE)


def erp_in_w(cell: str, column: str, decimal: Sign = ".") -> float:
    """Return the effective radiated power over a dipole [W] of a cell of one of the :data:`COLUMNS`.

    A unit in the cell itself goes before that of its column.

    Raises
    ------
    CellError
        No number, a unit that is not known, or a power of no use.

    >>> erp_in_w("20", "erp_dbw"), erp_in_w("1.5 kW", "erp_w"), erp_in_w("2.15", "eirp_dbk")
    (100.0, 1500.0, 1000.0)
    """
    kind, unit = column.split("_")
    found = _WITH_UNIT.fullmatch(cell.strip())
    if found:
        cell, unit = found[1], found[2].casefold()
    if unit not in UNITS:
        raise CellError(
            f"{column} {shown(found[0] if found else cell)} is in milliwatts or megawatts; write watts"
        )
    number = plain_number(cell, decimal)
    if not NUMBER.fullmatch(number):
        words = "is no number; write one" if cell.strip() else "is empty; write a number"
        raise CellError(f"{column} {shown(cell)} {words} in the unit of the column")
    if unit.startswith("db"):
        return _watts(column, cell, float(number) + _OVER_A_WATT_DB[unit], kind)
    watts = float(number) * (1000.0 if unit == "kw" else 1.0)
    return watts if kind == "erp" else _rounded(watts / 10.0 ** (DIPOLE_GAIN_DBI / 10.0))


def with_power(cells: Mapping[str, str], decimal: Sign) -> dict[str, str]:
    """Return the cells of a row with its radiated power in watts, whatever column tells it.

    An empty cell, or one that is no number at all, stays for the check of its key.
    """
    named = dict(cells)
    for column in [each for each in COLUMNS if each in named]:
        cell = named.pop(column)
        plain = column == COLUMNS[0] and not _WITH_UNIT.fullmatch(cell)
        named[COLUMNS[0]] = plain_number(cell, decimal) if plain else repr(erp_in_w(cell, column, decimal))
    return named


def _watts(column: str, cell: str, over_w_db: float, kind: str) -> float:
    """Return the power of decibels over a watt."""
    if abs(over_w_db) > _MOST_DBW:
        raise CellError(f"{column} {shown(cell)} is no power of a station; is the unit another?")
    return _rounded(10.0 ** ((over_w_db - (DIPOLE_GAIN_DBI if kind == "eirp" else 0.0)) / 10.0))


def _rounded(watts: float) -> float:
    """Return a power without the digits that come from decibels alone, and that nobody measured."""
    return float(f"{watts:.6g}")
