"""Finds ways of receiving that a study cannot have, for its system, channels, heights or cover."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from combe.errors import ChannelError, RangeError, quoted
from combe.reception import WayOfReceiving, terms_of
from combe.standards import PORTABLE_SIGNALS, ROOF_HEIGHT_M, TELEVISION_SYSTEMS, centre_frequency_mhz
from combe.study.crosscheck import Table, is_whole, section_of, text_of
from combe.study.fault import Fault
from combe.study.televisioncheck import family_of, raster_name, services_of

_PLACE: Final = ("reception", "ways")


def way_faults(table: Table) -> list[Fault]:
    """Return the faults of the section on reception that no key shows by itself."""
    section = section_of(table, "reception")
    given = section.get("ways")
    names = [name for name in given if isinstance(name, str)] if isinstance(given, list) else []
    faults = [
        Fault(_PLACE, f"{quoted(name)} stands more than once; take one out")
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    portable = [name for name in dict.fromkeys(names) if name.startswith("portable")]
    if portable:
        faults += [*_height_faults(table, portable[0]), *_system_faults(table, portable)]
    return faults


def _height_faults(table: Table, name: str) -> Iterator[Fault]:
    predicted = section_of(table, "reception").get("height_loss") == "predicted"
    height_m = section_of(table, "television").get("receive_height_m", ROOF_HEIGHT_M)
    if predicted and "clutter" not in table:
        words = "predicted at 1.5 m a field hangs on what stands around: add [clutter], or write published"
        yield Fault(("reception", "height_loss"), words)
    elif not predicted and height_m != ROOF_HEIGHT_M:
        words = (
            f"the published height loss of {name} counts from {ROOF_HEIGHT_M:g} m; write 10.0, or predicted"
        )
        yield Fault(("television", "receive_height_m"), words)


def _system_faults(table: Table, portable: list[str]) -> Iterator[Fault]:
    """Yield systems without a chain of portable reception, each once, and channels in bands without one."""
    building, refused = text_of(section_of(table, "reception"), "building"), set[str]()
    for place, service, laid in services_of(table):
        family, raster = family_of(laid), raster_name(laid)
        if family is not None and family.signal not in PORTABLE_SIGNALS:
            refused.add(family.name)
        elif raster and (words := _band_fault(raster, service.get("channel"), portable, building)):
            yield Fault((*place, "channel"), words)
    known = ", ".join(name for name, row in TELEVISION_SYSTEMS.items() if row.signal in PORTABLE_SIGNALS)
    for name in sorted(refused):
        words = f"no chain of portable reception is published for {name}, only for {known}"
        yield Fault(_PLACE, f"{words}; take {portable[0]} out")


def _band_fault(raster: str, channel: object, portable: list[str], building: str | None) -> str:
    """Return why a channel has no portable reception; empty where it has, or is at fault itself."""
    if not is_whole(channel):
        return ""
    try:
        frequency_mhz = centre_frequency_mhz(raster, channel)
        for name in portable:
            terms_of(WayOfReceiving(name, **({"building": building} if building else {})), frequency_mhz)  # type: ignore[arg-type]
    except ChannelError:
        return ""
    except RangeError as error:
        # An unknown name of a way or a building is told at its own key.
        return str(error) if "frequency_mhz" in error.name else ""
    return ""
