"""Groups of the public's receiving aerials: which parts of the UHF bands an aerial of one kind takes in.

The division is common practice, with no source here: aerials are made for the lower, the middle or the upper
part of the UHF bands, or wide for all of it. Edges are those of channels 21 to 69 of the 8 MHz raster.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

SOURCE: Final = "common practice, no source"


class AerialGroup(NamedTuple):
    """The part of the bands that an aerial takes in [MHz]."""

    name: str
    low_mhz: float
    high_mhz: float


AERIAL_GROUPS: Final = (
    AerialGroup("lower UHF", 470.0, 606.0),
    AerialGroup("middle UHF", 582.0, 734.0),
    AerialGroup("upper UHF", 686.0, 862.0),
)


def groups_of(frequencies_mhz: Iterable[float]) -> tuple[AerialGroup, ...]:
    """Return the groups that take in all of some frequencies [MHz]; none where only a wide aerial does.

    Examples
    --------
    >>> [group.name for group in groups_of([490.0, 594.0])]
    ['lower UHF']
    """
    asked = list(frequencies_mhz)
    return tuple(
        group for group in AERIAL_GROUPS if all(group.low_mhz <= each <= group.high_mhz for each in asked)
    )


def needs_another_aerial(present_mhz: Iterable[float], frequency_mhz: float) -> bool:
    """Tell whether no aerial group that takes in the present services takes in a new frequency too [MHz].

    Where the present services need a wide aerial, or there are none, no new channel needs another one.
    """
    present = list(present_mhz)
    return bool(present and groups_of(present)) and not groups_of([*present, frequency_mhz])
