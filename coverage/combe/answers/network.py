"""Networks: each place takes every service from the station that gives it best."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.planning import (
    Census,
    CountRanges,
    Counts,
    MarginError,
    PeopleCount,
    Standing,
    count_by_district,
    count_ranges,
    count_standing,
    homes_of,
)
from combe.reception import Field

ALL_SERVICES = "All services"
_MOST_AT_ONCE = 2

LOWEST_MARGIN_DB = -150.0
"""What a map says in place of a service that nobody radiates, whose margin is -inf."""

ReadMap = Callable[[str], npt.NDArray[Any]]
"""Gives one map of a network by the name of its property, such as ``margin_db``; read anew each time."""


@dataclass(frozen=True)
class Network:
    """Margin [dB] of a service, or of all, with every station on the air and with the parents alone.

    Margins, not fields, are compared, since the minimum field differs from channel to channel. Arrays of
    shape (rows, columns), read when asked; NaN where no station has a prediction. ``districts`` are the
    people of each district by its name. ``draw`` draws the errors of the prediction.
    """

    name: str
    read: ReadMap = field(repr=False, compare=False)
    people: PeopleCount | None
    districts: tuple[tuple[str, PeopleCount], ...] = ()
    draw: Callable[[], tuple[CountRanges, ...]] | None = field(default=None, repr=False, compare=False)

    @cached_property
    def _drawn(self) -> tuple[CountRanges, ...]:
        """The ranges of all people and of each district, drawn when they are first asked for."""
        return self.draw() if self.draw else ()

    @property
    def ranges(self) -> CountRanges | None:
        """Between which numbers the people lie by the prediction's error; None where nobody is counted."""
        return self._drawn[0] if self._drawn else None

    @property
    def district_ranges(self) -> tuple[CountRanges, ...]:
        """Those of each district, in the order of ``districts``."""
        # Those who live in no district come last, and are left out where they are nobody.
        return self._drawn[1:][: len(self.districts)]

    @property
    def margin_db(self) -> Field:
        """Margin with every station on the air."""
        return self.read("margin_db")

    @property
    def margin_before_db(self) -> Field:
        """Margin with the parents alone; −inf where none of them radiates the service."""
        return self.read("margin_before_db")

    @property
    def noise_margin_db(self) -> Field:
        """The margin if nothing interfered."""
        return self.read("noise_margin_db")

    @property
    def serving(self) -> Counts:
        """How many stations serve the cell; of all services, the least of them."""
        return self.read("serving")

    @property
    def unknown(self) -> Counts:
        """How many interferers of the best station have no prediction; of all services, the most."""
        return self.read("unknown")


def mapped_margin_db(margin_db: Field) -> Field:
    """Return a margin as maps hold it, which have no -inf."""
    return np.maximum(margin_db, LOWEST_MARGIN_DB)


def count_network(name: str, read: ReadMap, census: Census | None, *, judged: bool = True) -> Network:
    """Count the people of a network from its maps.

    Unless interference is ``judged``, nobody is counted as limited by it, nor as free of it.
    """
    standing = Standing(
        read("margin_db"),
        read("margin_before_db"),
        read("noise_margin_db") if judged else None,
        read("serving"),
        read("unknown") if judged else None,
    )
    people, districts = count_standing(census, standing), count_by_district(census, standing)
    return Network(name, read, people, districts)


class NetworkError(NamedTuple):
    """The errors of a network's margins with every station on the air, and with the parents alone."""

    after: MarginError
    before: MarginError


def count_networks(
    readers: Mapping[str, ReadMap],
    census: Census | None,
    errors: Sequence[NetworkError],
    *,
    judged: bool = True,
) -> list[Network]:
    """Count the people of networks by their names as :func:`count_network`, with ranges by their errors."""
    counted = [count_network(name, read, census, judged=judged) for name, read in readers.items()]
    if census is None:
        return counted
    homes = homes_of(census)

    def drawn(network: Network, error: NetworkError) -> tuple[CountRanges, ...]:
        return count_ranges(homes, network.margin_db, network.margin_before_db, *error)

    pairs = zip(counted, errors, strict=True)
    return [replace(network, draw=partial(drawn, network, error)) for network, error in pairs]


def draw_ranges(networks: Sequence[Network]) -> None:
    """Draw the ranges of networks side by side; each is known then."""
    # What draws the errors lets the interpreter go; each takes a hundred bytes a cell meanwhile.
    with ThreadPoolExecutor(min(os.cpu_count() or 1, _MOST_AT_ONCE)) as pool:
        list(pool.map(lambda network: network.ranges, networks))
