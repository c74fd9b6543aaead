"""Stations that radiate their services as one network on one frequency, as a project declares them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final, get_args

from combe.errors import RangeError, require_range
from combe.reception import Window
from combe.words import Name

LONGEST_DELAY_US: Final = 1e6
USUAL_PROCESSING_US: Final = 8.0
"""What a relay takes from input to output that filters or cancels echoes digitally [µs] (5 to 10; from
memory, no source)."""


@dataclass(frozen=True)
class SingleFrequencyNetwork:
    """Stations whose services of one name on one channel are one signal for a receiver.

    Parameters
    ----------
    name : str
    members : tuple of str
        Names of two stations or more.
    size, guard_interval, pilot_pattern : str or None
        Of the symbols, see :func:`combe.standards.symbol_timing`; the usual ones unless given.
    window : {"best C/I", "first signal", "strongest signal"}
        Where receivers put their window.
    static_delay_us : mapping by station's name
        By how much each waits before it radiates [µs], 0 unless given.
    processing_delay_us : mapping by station's name
        What a relay that repeats a member on its channel takes from input to output [µs]; 8 unless given.

    Raises
    ------
    RangeError
        Naming what is too few, too large or nobody's.
    """

    name: str
    members: tuple[str, ...]
    size: str | None = None
    guard_interval: str | None = None
    pilot_pattern: str | None = None
    window: Window = "best C/I"
    static_delay_us: Mapping[str, float] = field(default_factory=dict)
    processing_delay_us: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", Name(self.name))
        object.__setattr__(self, "members", tuple(map(Name, self.members)))
        what = f"of {self.name}"
        if len(self.members) < 2 or len(set(self.members)) < len(self.members):
            raise RangeError(
                f"members {what}", ", ".join(self.members) or "none", "two stations or more, each once"
            )
        if self.window not in get_args(Window):
            raise RangeError(f"window {what}", repr(self.window), ", ".join(get_args(Window)))
        for key, lowest in (("static_delay_us", -LONGEST_DELAY_US), ("processing_delay_us", 0.0)):
            delays = dict(getattr(self, key))
            for name, delay_us in delays.items():
                if name not in self.members:
                    raise RangeError(f"station of {key} {what}", f'"{name}"', ", ".join(self.members))
                require_range(f"{key} of {name}", delay_us, lowest, LONGEST_DELAY_US)
            object.__setattr__(self, key, MappingProxyType(delays))

    def delayed(self, name: str, static_delay_us: float) -> SingleFrequencyNetwork:
        """Return the network with another static delay of a member [µs]."""
        return replace(self, static_delay_us={**self.static_delay_us, name: static_delay_us})


def networks_among(
    networks: Sequence[SingleFrequencyNetwork], names: Sequence[str]
) -> tuple[SingleFrequencyNetwork, ...]:
    """Return the networks of the stations that are left; one of fewer than two is none."""
    left = []
    for network in networks:
        members = tuple(each for each in network.members if each in names)
        if len(members) < 2:
            continue
        static, processing = (
            {name: each for name, each in delays.items() if name in members}
            for delays in (network.static_delay_us, network.processing_delay_us)
        )
        left.append(replace(network, members=members, static_delay_us=static, processing_delay_us=processing))
    return tuple(left)


def check_networks(networks: Sequence[SingleFrequencyNetwork], stations: Sequence[str]) -> None:
    """Raise RangeError for a member that is no station of the project, or of two networks."""
    members = [(network.name, each) for network in networks for each in network.members]
    for network, name in members:
        if name not in stations:
            raise RangeError(f"member of {network}", f'"{name}"', ", ".join(stations))
        if [each for _, each in members].count(name) > 1:
            raise RangeError("network of a station", f'two or more of "{name}"', "one")
