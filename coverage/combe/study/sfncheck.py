"""Finds the faults of networks on one frequency: strange members, and symbols that do not exist."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from combe.errors import RangeError, did_you_mean, quoted
from combe.standards import ofdm_standard, symbol_timing
from combe.study.crosscheck import Table, section_of, stations_of, tables_of, text_of
from combe.study.fault import Fault, strange_station
from combe.study.television_schema import USUAL_SYSTEM, laid_over

_ANY_WIDTH_MHZ = 6.0
"""Which symbols exist is the same in every channel width; all systems have this one."""


def sfn_faults(table: Table) -> list[Fault]:
    """Return the faults of the ``[[sfn]]`` sections; none where the study has none."""
    return list(_network_faults(table))


def _network_faults(table: Table) -> Iterator[Fault]:
    # A station whose own name is at fault has None for one.
    names = [text_of(station, "name") for _, station in stations_of(table)]
    systems, seen = _systems(table), set[str]()
    for index, section in tables_of(table, "sfn"):
        members = section.get("members")
        listed = [each for each in members if isinstance(each, str)] if isinstance(members, list) else []
        for number, name in enumerate(listed):
            place = ("sfn", index, "members", number)
            if name not in names and None not in names:
                yield strange_station(place, name, names)
            elif name in seen:
                yield Fault(place, f"{quoted(name)} is a member already; name a station once")
            seen.add(name)
        yield from _delay_faults(index, section, listed)
        system = next((systems[name] for name in listed if name in systems), USUAL_SYSTEM)
        yield from _symbol_faults(index, section, system)


def _systems(table: Table) -> dict[str, str]:
    """Return the television system of each station's first service, by the station's name."""
    study, found = section_of(table, "television"), {}
    for _, station in stations_of(table):
        first = next((each for _, each in tables_of(station, "services")), {})
        laid = laid_over(study, section_of(station, "television"), section_of(first, "television"))
        found[text_of(station, "name") or ""] = str(laid["system"])
    return found


def _delay_faults(index: int, section: Table, members: list[str]) -> Iterator[Fault]:
    for key in ("static_delay_us", "processing_delay_us"):
        delays = section.get(key)
        for name in delays if isinstance(delays, Mapping) else ():
            if name not in members:
                words = f"{quoted(name)} is no member of this network; {did_you_mean(name, members)}"
                yield Fault(("sfn", index, key, name), words)


def _symbol_faults(index: int, section: Table, system: str) -> Iterator[Fault]:
    """Return what of the symbols does not exist; told at the key that is wrong."""
    standard, size = ofdm_standard(system), section.get("size")
    keys = ("size", "guard_interval", "pilot_pattern")
    if standard is None:
        told = next((key for key in keys if section.get(key)), None)
        if told:
            yield Fault(("sfn", index, told), f"{system} has no such symbols; take it out")
        return
    # One key at a time, so that each fault stands at its own key.
    tried = {"size": (size, None, None), **_with_size(section, size)}
    for key, (of_size, guard, pattern) in tried.items():
        if not isinstance(section.get(key), str):
            continue
        try:
            symbol_timing(standard, _ANY_WIDTH_MHZ, of_size, guard, pattern)
        except RangeError as error:
            yield Fault(("sfn", index, key), str(error))
            return


def _with_size(section: Table, size: Any) -> dict[str, tuple[Any, Any, Any]]:
    guard, pattern = section.get("guard_interval"), section.get("pilot_pattern")
    return {"guard_interval": (size, guard, None), "pilot_pattern": (size, None, pattern)}
