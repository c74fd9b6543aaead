"""Which stations of a study file are off the air: those that say so, and the relays that only they feed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from combe.study.crosscheck import Table, section_of, stations_of, text_of
from combe.study.fault import Fault
from combe.study.schema import StudyFile


class _Told(NamedTuple):
    """What a station says of itself: its name, whether it is off the air, and which station feeds it."""

    name: str | None
    off: bool
    fed_by: str | None


def off_air_of(content: StudyFile) -> tuple[str, ...]:
    """Return the names of the stations of a checked study that are off the air, in their order."""
    return _off_air(
        [
            _Told(each.name, not each.on_air, each.feed.from_ if each.feed else None)
            for each in content.stations
        ]
    )


def off_air_of_table(table: Table) -> tuple[str, ...]:
    """As :func:`off_air_of`, of a table with whatever faults it has."""
    return _off_air(_told(table))


def off_air_faults(table: Table) -> Iterator[Fault]:
    """Yield that no station is on the air, of which nothing could be worked out."""
    told = _told(table)
    if told and len(_off_air(told)) == len(told):
        words = "none is on the air, and nothing can be worked out; take on_air = false out at a parent"
        yield Fault(("stations",), words)


def _told(table: Table) -> list[_Told]:
    return [
        _Told(
            text_of(station, "name"),
            station.get("on_air") is False,
            text_of(section_of(station, "feed"), "from"),
        )
        for _, station in stations_of(table)
    ]


def _off_air(told: Sequence[_Told]) -> tuple[str, ...]:
    gone = {each.name for each in told if each.off and each.name}
    # A relay has one feed, so what hangs on a station that is gone is gone, and what hangs on that.
    while more := {each.name for each in told if each.name and each.fed_by in gone} - gone:
        gone |= more
    return tuple(each.name for each in told if each.name is not None and each.name in gone)
