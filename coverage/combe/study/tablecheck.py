"""Finds what a study asks of tables that they do not hold: systems, modes, channels, aerial patterns."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from combe.errors import ChannelError, PatternError, RangeError
from combe.standards.channels import CHANNEL_RASTERS, centre_frequency_mhz
from combe.standards.dvbt2 import REQUIRED_CN, UHF_RANGE_MHZ
from combe.standards.systems import TELEVISION_SYSTEMS, television_system
from combe.stations.pattern import PatternKind
from combe.stations.pattern_file import read_pattern
from combe.study.crosscheck import Fault, Table, section_of, stations_of, tables_of, text_of
from combe.study.faults import did_you_mean, path_text, quoted
from combe.study.schema import OMNI, TelevisionSection

_KINDS: Final[tuple[PatternKind, ...]] = ("horizontal", "vertical")


def table_faults(table: Table, folder: Path) -> list[str]:
    """Return one line for each thing that the tables of standards or the pattern files refuse."""
    faults = [*_system_faults(table), *_channel_faults(table), *_pattern_faults(table, folder)]
    return [f"{path_text(place)}: {words}" for place, words in faults]


def _television(table: Table, key: str) -> str:
    given = text_of(section_of(table, "television"), key)
    return given or str(TelevisionSection.model_fields[key].default)


def _raster_name(table: Table) -> str | None:
    """Return the channel raster asked for, or the system's own, or None where neither is known."""
    given = text_of(section_of(table, "television"), "channel_raster")
    if given is not None:
        return given if given in CHANNEL_RASTERS else None
    try:
        return television_system(_television(table, "system"), "QPSK", "1/2").channel_raster
    except RangeError:
        return None


def _system_faults(table: Table) -> Iterator[Fault]:
    system = _television(table, "system")
    if system not in TELEVISION_SYSTEMS:
        words = f"{quoted(system)} is unknown; {did_you_mean(system, TELEVISION_SYSTEMS)}"
        yield (("television", "system"), words)
    raster = text_of(section_of(table, "television"), "channel_raster")
    if raster is not None and raster not in CHANNEL_RASTERS:
        words = f"{quoted(raster)} is unknown; {did_you_mean(raster, CHANNEL_RASTERS)}"
        yield (("television", "channel_raster"), words)
    for key in ("modulation", "code_rate"):
        given, known = _television(table, key), list(dict.fromkeys(getattr(row, key) for row in REQUIRED_CN))
        if given not in known:
            yield (("television", key), f"{quoted(given)} is unknown; {did_you_mean(given, known)}")


def _channel_faults(table: Table) -> Iterator[Fault]:
    raster = _raster_name(table)
    for index, station in stations_of(table) if raster else []:
        for number, service in tables_of(station, "services"):
            words = _channel_fault(str(raster), service.get("channel"))
            if words:
                yield (("stations", index, "services", number, "channel"), words)


def _channel_fault(raster: str, channel: object) -> str | None:
    if not isinstance(channel, int) or isinstance(channel, bool):
        return None
    try:
        frequency_mhz = centre_frequency_mhz(raster, channel)
    except ChannelError as error:
        return str(error)
    low, high = UHF_RANGE_MHZ
    if not low <= frequency_mhz <= high:
        return (
            f"channel {channel} is {frequency_mhz:g} MHz; planning values hold from {low:g} to {high:g} MHz"
        )
    return None


def _pattern_faults(table: Table, folder: Path) -> Iterator[Fault]:
    for index, station in stations_of(table):
        for kind in _KINDS:
            name = text_of(station, f"{kind}_pattern")
            if name is None or name == OMNI:
                continue
            try:
                read_pattern(folder / name, kind)
            except (PatternError, OSError) as error:
                yield (("stations", index, f"{kind}_pattern"), str(error))
