"""A fault of a study file: where it is, and what is wrong there. Its place becomes words when it is told."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from combe.errors import did_you_mean, quoted

Place = tuple[str | int, ...]
"""The keys and numbers that lead to something in a study file."""


@dataclass(frozen=True)
class Fault:
    """What is wrong at a place.

    Parameters
    ----------
    place : tuple of str or int
        Where it is; empty where the words say so themselves.
    words : str
        What is wrong, and what to write instead.
    other, after : tuple of str or int, str
        Another place that stands behind the words, and the words behind that.
    in_row : str
        The words for a station that is a row of a table, where they differ.
    missing : bool
        Whether nothing stands at the place.
    meant : tuple of str or int
        Of a misspelt key: the place of the key that is meant.
    lacks : tuple of str or int
        A section that the study does not have, and without which this one cannot be.
    strange_station : bool
        Whether it names a station that the study does not have.
    """

    place: Place
    words: str
    other: Place = ()
    after: str = ""
    in_row: str = ""
    missing: bool = False
    meant: Place = ()
    lacks: Place = ()
    strange_station: bool = False


def missing(place: Place, advice: str, in_row: str = "") -> Fault:
    """Return the fault that nothing stands at a place."""
    start = "is missing; "
    return Fault(place, f"{start}{advice}", in_row=f"{start}{in_row}" if in_row else "", missing=True)


def strange_station(place: Place, name: str, stations: Iterable[str | None]) -> Fault:
    """Return the fault that a name is that of no station, with the nearest of those that have names."""
    advice = did_you_mean(name, filter(None, stations))
    return Fault(place, f"{quoted(name)} is no station of this study; {advice}", strange_station=True)


def path_text(place: Iterable[str | int]) -> str:
    """Return a place as it is read in the file, for example ``stations[1].services[0].erp_w``."""
    text = ""
    for step in place:
        name = step if isinstance(step, int) or step.isprintable() else quoted(step)
        text += f"[{name}]" if isinstance(step, int) else f".{name}" if text else str(name)
    return text


def is_within(place: Place, section: Place) -> bool:
    """Tell whether a place is a section or lies in it."""
    return place[: len(section)] == section


def without_echoes(faults: Iterable[Fault]) -> list[Fault]:
    """Leave out that a key or a table is missing where it stands there misspelt, which is told by itself."""
    told = list(faults)
    meant = [each.meant for each in told if each.meant]
    return [fault for fault in told if not any(_misses(fault, place) for place in meant)]


def _misses(fault: Fault, place: Place) -> bool:
    """Tell whether a fault says that a place, or a key in it, is missing."""
    return (fault.missing and is_within(fault.place, place)) or fault.lacks == place
