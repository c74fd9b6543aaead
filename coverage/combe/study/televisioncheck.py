"""Finds what does not fit the television systems that a study names: modes, rasters, carriers, a feed's C/N.

A station or a service may have a television of its own, so each is looked at with what results for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from combe.errors import did_you_mean, quoted
from combe.standards import (
    CARRIER_KHZ,
    CHANNEL_RASTERS,
    TELEVISION_SYSTEMS,
    SystemFamily,
    channel_models_of,
    modes_of,
)
from combe.study.crosscheck import Table, is_number, section_of, stations_of, tables_of, text_of
from combe.study.fault import Fault, Place, missing
from combe.study.television_schema import USUAL_SYSTEM, laid_over


class TelevisionAt(NamedTuple):
    """A table that says something of a television: its place, itself, and what results with those over it."""

    place: Place
    written: Table
    laid: dict[str, Any]


class ServiceAt(NamedTuple):
    """A service of a study: its place, its table, and the television that results for it."""

    place: Place
    service: Table
    laid: dict[str, Any]


def services_of(table: Table) -> Iterator[ServiceAt]:
    """Yield the services of all stations, then those of the siting."""
    study = section_of(table, "television")
    for index, station in stations_of(table):
        own = section_of(station, "television")
        for number, service in tables_of(station, "services"):
            laid = laid_over(study, own, section_of(service, "television"))
            yield ServiceAt(("stations", index, "services", number), service, laid)
    siting = section_of(table, "siting")
    for number, service in tables_of(siting, "services"):
        laid = laid_over(study, section_of(siting, "television"))
        yield ServiceAt(("siting", "services", number), service, laid)


def televisions_of(table: Table) -> Iterator[TelevisionAt]:
    """Yield what says something of a television: the study, then stations and services, and the siting."""
    study = section_of(table, "television")
    yield TelevisionAt(("television",), study, laid_over(study))
    for index, station in stations_of(table):
        own = section_of(station, "television")
        if own:
            yield TelevisionAt(("stations", index, "television"), own, laid_over(study, own))
        for number, service in tables_of(station, "services"):
            if one := section_of(service, "television"):
                place = ("stations", index, "services", number, "television")
                yield TelevisionAt(place, one, laid_over(study, own, one))
    siting = section_of(table, "siting")
    if own := section_of(siting, "television"):
        yield TelevisionAt(("siting", "television"), own, laid_over(study, own))


_MODE_KEYS: Final = ("modulation", "code_rate", "channel_model")


def family_of(laid: Table) -> SystemFamily | None:
    """Return the television system that results, its mode aside; None for an unknown one."""
    return TELEVISION_SYSTEMS.get(_system_name(laid))


def raster_name(laid: Table) -> str | None:
    """Return the channel raster asked for, or the system's own, or None where neither is known."""
    given = text_of(laid, "channel_raster")
    if given is not None:
        return given if given in CHANNEL_RASTERS else None
    family = family_of(laid)
    return family.channel_raster if family else None


def television_faults(table: Table) -> Iterator[Fault]:
    """Yield what is unknown, or does not fit the system, in televisions, carriers and feeds."""
    for place, written, laid in televisions_of(table):
        yield from _name_faults(place, laid)
        family = family_of(laid)
        if family is not None and family.analogue_name is None:
            yield from _mode_faults(family, place, laid)
        elif family is not None:
            yield from _no_mode_faults(family, place, written)
    yield from _feed_faults(table)
    yield from _carrier_faults(table)


def _system_name(laid: Table) -> str:
    return text_of(laid, "system") or USUAL_SYSTEM


def _name_faults(place: Place, laid: Table) -> Iterator[Fault]:
    system, raster = _system_name(laid), text_of(laid, "channel_raster")
    if system not in TELEVISION_SYSTEMS:
        words = f"{quoted(system)} is unknown; {did_you_mean(system, TELEVISION_SYSTEMS)}"
        yield Fault((*place, "system"), words)
    if raster is not None and raster not in CHANNEL_RASTERS:
        words = f"{quoted(raster)} is unknown; {did_you_mean(raster, CHANNEL_RASTERS)}"
        yield Fault((*place, "channel_raster"), words)
    elif raster is not None and (family := family_of(laid)) is not None:
        width, own = CHANNEL_RASTERS[raster].width_mhz, CHANNEL_RASTERS[family.channel_raster].width_mhz
        if width != own:
            words = f"{quoted(raster)} has channels of {width:g} MHz, and {family.name} is {own:g} MHz wide"
            yield Fault((*place, "channel_raster"), f"{words}; write {quoted(family.channel_raster)}")


def _mode_faults(family: SystemFamily, place: Place, laid: Table) -> Iterator[Fault]:
    modulations, rates = (list(dict.fromkeys(names)) for names in zip(*modes_of(family), strict=True))
    known = dict(zip(_MODE_KEYS, (modulations, rates, list(channel_models_of(family))), strict=True))
    mode = dict(zip(_MODE_KEYS, family.usual_mode, strict=True))
    mode |= {key: given for key in _MODE_KEYS if (given := text_of(laid, key)) is not None}
    wrong = [key for key in _MODE_KEYS if mode[key] not in known[key]]
    for key in wrong:
        advice = did_you_mean(mode[key], known[key])
        yield Fault((*place, key), f"{quoted(mode[key])} is unknown to {family.name}; {advice}")
    if not wrong and (mode["modulation"], mode["code_rate"]) not in family.modes:
        allowed = ", ".join(rate for modulation, rate in modes_of(family) if modulation == mode["modulation"])
        words = f"{quoted(mode['code_rate'])} is no code rate of {mode['modulation']}; allowed: {allowed}"
        yield Fault((*place, "code_rate"), words)


def _no_mode_faults(family: SystemFamily, place: Place, written: Table) -> Iterator[Fault]:
    for key in _MODE_KEYS:
        if key in written:
            words = f"stands beside system {quoted(family.name)}, which is analogue and has no modes"
            yield Fault((*place, key), f"{words}; take it out")


def _feed_faults(table: Table) -> Iterator[Fault]:
    """Say where a feed lacks the C/N that an analogue system's planning does not state."""
    analogue: dict[Place, str] = {}
    for place, _, laid in services_of(table):
        family = family_of(laid)
        if family is not None and family.analogue_name is not None:
            analogue.setdefault(place[:-2], family.name)
    for place, feed in _feeds(table):
        name = analogue.get(place[:-1])
        if name is not None and "required_cn_db" not in feed:
            asked = "write the C/N [dB] that the relay's picture needs"
            words = f"planning of {name} states a field and no C/N: {asked}"
            yield missing((*place, "required_cn_db"), words)


def _feeds(table: Table) -> Iterator[tuple[Place, Table]]:
    for index, station in stations_of(table):
        if "feed" in station:
            yield ("stations", index, "feed"), section_of(station, "feed")
    if siting := section_of(table, "siting"):
        # Without the table a siting has a feed all the same, of usual values.
        yield ("siting", "feed"), section_of(siting, "feed")


_OF_LINES: Final[dict[str, tuple[str, ...]]] = {
    "analogue 625": ("offset_twelfths", "precision_offset"),
    "analogue 525": ("offset_khz",),
}
"""Which keys of a service a system takes, by its kind of signal."""

_KEYS: Final = tuple(key for keys in _OF_LINES.values() for key in keys)


def _carrier_faults(table: Table) -> Iterator[Fault]:
    """Yield each offset that the system does not have, and each that its ratios do not know."""
    for place, service, laid in services_of(table):
        family = family_of(laid)
        for key in _KEYS if family and place[0] == "stations" else ():
            words = _carrier_fault(family, service, key) if family and key in service else ""
            if words:
                yield Fault((*place, key), words)


def _carrier_fault(family: SystemFamily, service: Table, key: str) -> str:
    taken, given = _OF_LINES.get(family.signal, ()), service[key]
    if key not in taken:
        instead = f"write {' and '.join(taken)}" if taken else "take it out"
        lines = "no vision carrier" if not taken else f"{family.signal.rpartition(' ')[2]} lines"
        return f"stands beside system {quoted(family.name)}, which has {lines}; {instead}"
    if key == "offset_khz" and is_number(given) and float(given) not in CARRIER_KHZ:
        return f"is {given:g}; allowed: {', '.join(f'{each:g}' for each in CARRIER_KHZ)}"
    return ""
