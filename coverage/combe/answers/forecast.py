"""What work lies ahead: counted before it begins, with the memory and the time that it takes about.

Counts are of the study, and the same on every machine. Time is what a unit of the work costs, by usual rates
or by rates measured on this machine (forecast_rates.py); memory is what the largest arrays take.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from combe.errors import MemoryNeedError

MEASURED_OVER_S: Final = 20.0
"""Work that usual rates put under this is not measured beforehand: that would cost more than it tells."""

TOLD_OVER_S: Final = 10.0
"""Shorter work is not told of beforehand."""

COARSE_OVER_S: Final = 60.0
"""Longer searches for sites go coarse first."""

SMALL_UNDER_S: Final = 15.0
"""By usual rates: so small a search prices every hill, however slow or busy the machine is."""

_MIB: Final = 2.0**20
_BASE_MIB: Final = 250.0
"""What the program takes with its libraries."""

_CELL_BYTES: Final = 220.0
"""What a cell of the grid takes at the most: ground, margins and masks beside one another (measured)."""

_FIELD_BYTES: Final = 4.0
"""A cell of a field that is held."""

_ONCE_US: Final = 5.0
"""A cell of the grid once: its ground, its judging, its people, its maps (measured on two processors)."""

_BLOCK_HILLS: Final = 256
_PAIR_BYTES: Final = 11.0
"""A pair of a block that is priced: headroom, bearing, whether it is served."""

_BITS_COPIES: Final = 3.0
"""Whom each hill serves, a bit a place: as read, put together, and sorted out for sets of sites."""

_START_S: Final = 3.0
"""To load libraries, read the study and write the pages (our own estimate)."""


@dataclass(frozen=True)
class Rates:
    """What a unit of work costs with all processors at it [µs].

    ``cell_us`` a cell of one station's coverage, ``feed_us`` the feed at one cell from one parent,
    ``pair_us`` a hill against a place. ``measured`` tells rates of this machine from usual ones.
    """

    cell_us: float
    feed_us: float
    pair_us: float
    measured: bool


USUAL_RATES: Final = Rates(3.0, 40.0, 0.2, measured=False)
"""On two processors, over the sample at 60 m."""


@dataclass(frozen=True)
class Forecast:
    """Work that lies ahead.

    ``cells`` of the grid, ``stations`` to be predicted there; for a search ``hills`` against ``places``, None
    elsewhere. ``seconds`` and ``memory_mib`` are of the work as it is chosen: ``coarse_first``, or all at
    once, which would take ``whole_seconds`` and ``whole_memory_mib``.
    ``most`` tells that hills and places are the most there can be, no sample of them having been looked at.
    ``measured_seconds`` is what it took, None before.
    """

    command: str
    cells: int
    stations: int
    hills: int | None
    places: int | None
    memory_mib: float
    seconds: float
    whole_seconds: float
    whole_memory_mib: float
    rates: Rates
    coarse_first: bool = False
    most: bool = False
    measured_seconds: float | None = None

    @property
    def pairs(self) -> int:
        """Pairs of a hill and a place."""
        return (self.hills or 0) * (self.places or 0)

    @property
    def worth_telling(self) -> bool:
        """Whether the work is long enough to be told of beforehand."""
        return self.seconds > TOLD_OVER_S or self.coarse_first

    def after(self, seconds: float) -> Forecast:
        """Return the forecast with what the work took."""
        return replace(self, measured_seconds=seconds)


def cover_work(
    command: str, cells: int, stations: int, sweeps: int, rates: Rates, *, held_fields: int = 0
) -> Forecast:
    """Return the forecast of predicting stations over a grid, in so many sweeps altogether.

    ``held_fields`` are those that stay in memory, where they do not go into files.
    """
    seconds = _START_S + 1e-6 * cells * (_ONCE_US + rates.cell_us * sweeps)
    memory_mib = _BASE_MIB + (_CELL_BYTES + _FIELD_BYTES * held_fields) * cells / _MIB
    return Forecast(command, cells, stations, None, None, memory_mib, seconds, seconds, memory_mib, rates)


@dataclass(frozen=True)
class SearchCounts:
    """What a search for sites is made of.

    ``cells`` of the grid, ``stations`` over it, ``parents`` that may be heard; ``allowed`` cells by the
    rules, of which the share ``heard`` hears a parent; ``inhabited`` cells, whose share ``lacking`` lacks a
    service. ``listed`` hills are wanted.
    """

    cells: int
    stations: int
    parents: int
    allowed: int
    inhabited: int
    listed: int
    heard: float = 1.0
    lacking: float = 1.0

    @property
    def hills(self) -> int:
        """Hills to be priced."""
        return round(self.allowed * self.heard)

    @property
    def places(self) -> int:
        """Places they are priced against."""
        return round(self.inhabited * self.lacking)


@dataclass(frozen=True)
class CoarseWork:
    """What a search coarse first prices: looks that cost a part of a pair, and pairs in full."""

    looks: int
    full_pairs: int
    feeds: int


def search_work(counts: SearchCounts, coarse: CoarseWork, rates: Rates, *, choose: bool) -> Forecast:
    """Return the forecast of a search for sites.

    Parameters
    ----------
    coarse
        What it would price coarse first.
    choose
        Whether the search may go coarse first, which it does if all at once takes over a minute, or more
        memory than the machine has.
    """
    before, whole_s = _covered(counts, rates), _whole_s(counts, rates)
    small = _whole_s(counts, USUAL_RATES) < SMALL_UNDER_S
    coarse_s = before.seconds + 1e-6 * (
        rates.feed_us * coarse.feeds * counts.parents
        # Ground that is coarser costs about a quarter of a pair in full (measured).
        + rates.pair_us * (0.25 * coarse.looks + coarse.full_pairs)
    )
    bits = counts.hills * counts.places / 8.0
    workers = os.cpu_count() or 1
    blocks = 2.0 * workers * _BLOCK_HILLS * counts.places * _PAIR_BYTES
    whole_mib = before.memory_mib + (_BITS_COPIES * bits + blocks) / _MIB
    coarse_mib = before.memory_mib + _PAIR_BYTES * _BLOCK_HILLS * counts.places / _MIB
    too_long = whole_s > COARSE_OVER_S and not small
    coarse_first = choose and coarse_s < whole_s and (too_long or too_much(whole_mib))
    return Forecast(
        "site",
        counts.cells,
        counts.stations,
        counts.hills,
        counts.places,
        coarse_mib if coarse_first else whole_mib,
        coarse_s if coarse_first else whole_s,
        whole_s,
        whole_mib,
        rates,
        coarse_first=coarse_first,
        most=counts.heard == 1.0 and counts.lacking == 1.0,
    )


def _covered(counts: SearchCounts, rates: Rates) -> Forecast:
    """Return the forecast of a search's coverages: of the stations before it, of listed hills after it."""
    return cover_work("site", counts.cells, counts.stations, counts.stations + counts.listed, rates)


def _whole_s(counts: SearchCounts, rates: Rates) -> float:
    """Return the seconds of a search of every hill."""
    feeds, pairs = counts.cells * counts.parents, counts.hills * counts.places
    return _covered(counts, rates).seconds + 1e-6 * (rates.feed_us * feeds + rates.pair_us * pairs)


def machine_memory_mib() -> float | None:
    """Return the memory that the machine, or what holds this process, has [MiB]; None where not known."""
    found = []
    with suppress(ValueError, OSError, AttributeError):
        found.append(os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / _MIB)
    for limit in ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory/memory.limit_in_bytes"):
        with suppress(ValueError, OSError):
            found.append(int(Path(limit).read_text(encoding="ascii")) / _MIB)
    return min(found, default=None)


def too_much(memory_mib: float) -> bool:
    """Return whether so much memory is more than the machine has; no where that is not known."""
    has_mib = machine_memory_mib()
    return has_mib is not None and memory_mib > has_mib


def require_memory(forecast: Forecast) -> Forecast:
    """Return the forecast if the machine has the memory for it.

    Raises
    ------
    MemoryNeedError
        Work that takes more memory than there is.
    """
    has_mib = machine_memory_mib()
    if has_mib is None or forecast.memory_mib <= has_mib:
        return forecast
    if forecast.hills is not None:
        what = f"{forecast.hills} hills × {forecast.places} places"
        advice = (
            "search coarse first, in larger cells (cell_size_m of [siting]), or with stricter rules for masts"
        )
    else:
        what = f"a grid of {forecast.cells} cells"
        advice = "take larger cells (cell_size_m of [grid]) or a smaller area"
    raise MemoryNeedError(what, forecast.memory_mib, has_mib, advice)
