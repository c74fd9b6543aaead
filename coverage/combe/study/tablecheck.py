"""Finds what a study asks of tables that they do not hold: systems, modes, channels, aerial patterns."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from combe.errors import ChannelError, PatternError
from combe.standards.channels import centre_frequency_mhz
from combe.standards.dvbt2 import UHF_RANGE_MHZ
from combe.stations.pattern import PatternKind
from combe.stations.pattern_file import read_pattern
from combe.study.carriercheck import carrier_faults
from combe.study.crosscheck import Table, section_of, stations_of, tables_of, text_of
from combe.study.fault import Fault
from combe.study.section import OMNI
from combe.study.televisioncheck import family_of, raster_name, television_faults

_KINDS: Final[tuple[PatternKind, ...]] = ("horizontal", "vertical")


def table_faults(table: Table, folder: Path) -> list[Fault]:
    """Return one line for each thing that the tables of standards or the pattern files refuse."""
    family = family_of(table)
    carriers = carrier_faults(family, table) if family else ()
    return [*television_faults(table), *carriers, *_channel_faults(table), *_pattern_faults(table, folder)]


def _channel_faults(table: Table) -> Iterator[Fault]:
    raster = raster_name(table)
    places: list[tuple[tuple[str | int, ...], Table]] = [
        (("stations", index), station) for index, station in stations_of(table)
    ]
    places.append((("siting",), section_of(table, "siting")))
    for place, radiating in places if raster else []:
        for number, service in tables_of(radiating, "services"):
            words = _channel_fault(str(raster), service.get("channel"))
            if words:
                yield Fault((*place, "services", number, "channel"), words)


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
    for place, name, kind in _patterns(table):
        if name == OMNI:
            continue
        try:
            read_pattern(folder / name, kind)
        except (PatternError, OSError) as error:
            yield Fault(place, str(error))


def _patterns(table: Table) -> Iterator[tuple[tuple[str | int, ...], str, PatternKind]]:
    """Yield place, name and kind of each pattern file that a study names."""
    for index, station in stations_of(table):
        for kind in _KINDS:
            name = text_of(station, f"{kind}_pattern")
            if name is not None:
                yield (("stations", index, f"{kind}_pattern"), name, kind)
        received = text_of(section_of(section_of(station, "feed"), "aerial"), "pattern")
        if received is not None:
            yield (("stations", index, "feed", "aerial", "pattern"), received, "horizontal")
