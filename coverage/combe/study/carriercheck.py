"""Finds carrier offsets of services that the study's television system does not have."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from combe.errors import quoted
from combe.standards.carrier_offset import CARRIER_KHZ
from combe.standards.families import SystemFamily
from combe.study.crosscheck import Fault, Table, stations_of, tables_of

_OF_LINES: Final[dict[str, tuple[str, ...]]] = {
    "analogue 625": ("offset_twelfths", "precision_offset"),
    "analogue 525": ("offset_khz",),
}
"""Which keys of a service a system takes, by its kind of signal."""

_KEYS: Final = tuple(key for keys in _OF_LINES.values() for key in keys)


def carrier_faults(family: SystemFamily, table: Table) -> Iterator[Fault]:
    """Yield each offset that the system does not have, and each that its ratios do not know."""
    for index, station in stations_of(table):
        for number, service in tables_of(station, "services"):
            for key in _KEYS:
                words = _fault(family, service, key) if key in service else ""
                if words:
                    yield (("stations", index, "services", number, key), words)


def _fault(family: SystemFamily, service: Table, key: str) -> str:
    taken, given = _OF_LINES.get(family.signal, ()), service[key]
    if key not in taken:
        instead = f"write {' and '.join(taken)}" if taken else "take it out"
        lines = "no vision carrier" if not taken else f"{family.signal.rpartition(' ')[2]} lines"
        return f"stands beside system {quoted(family.name)}, which has {lines}; {instead}"
    number = isinstance(given, int | float) and not isinstance(given, bool)
    if key == "offset_khz" and number and float(given) not in CARRIER_KHZ:
        return f"is {given:g}; allowed: {', '.join(f'{each:g}' for each in CARRIER_KHZ)}"
    return ""
