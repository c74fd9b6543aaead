"""The search of hills over a wide area: coarse first, the leading hills exactly, and what is kept of those.

Parents are heard at the cells that are looked at, and at no others: there are too many of them.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from combe.decibels import FloatArray
from combe.files import ensure_folder, replacing
from combe.planning.siting import (
    NOTHING_KEPT,
    Enough,
    Fed,
    FedCells,
    FeedMap,
    Funnel,
    Kept,
    Problem,
    Rule,
    Unserved,
    WideQuestion,
    WideResult,
    apply_rules,
    digest,
    keep_fed,
    leading_hills,
    usual_enough,
)
from combe.prediction import IntArray


@dataclass(frozen=True)
class CoarseFirst:
    """That a search is made coarse first, and for how many minutes leading hills are priced in full.

    Without minutes so long as counted work asks, so that two runs end alike; with them by the clock.
    """

    minutes: float | None = None

    def enough(self) -> Enough:
        """Return what tells that enough was done, from now."""
        if self.minutes is None:
            return usual_enough
        until_s = time.monotonic() + 60.0 * self.minutes
        return lambda _: time.monotonic() >= until_s


@dataclass(frozen=True)
class WideSearch:
    """What a wide search found, what the rules left, and the feeds where it looked (cells, n)."""

    funnel: Funnel
    result: WideResult
    feeds: tuple[FeedMap, ...]
    fed: FedCells
    problem: Problem


@dataclass(frozen=True)
class WideTerms:
    """What a wide search is made of.

    ``rules`` for masts; ``feeds_at`` gives the feeds of all parents at some cells, ``cost_at`` what a site
    costs there, ``problem`` asks some cells of some people. ``margin_db`` is asked of a feed.
    """

    heights_m: FloatArray
    rules: tuple[Rule, ...]
    unserved: Unserved
    feeds_at: Callable[[IntArray], tuple[FeedMap, ...]]
    cost_at: Callable[[IntArray], FloatArray]
    problem: Callable[[IntArray, Unserved], Problem]
    margin_db: float
    count: int
    apart_cells: float


def wide_search(
    terms: WideTerms, asked: CoarseFirst, folder: Path, told: Callable[[float], None]
) -> WideSearch:
    """Search the hills coarse first; results of leading hills are kept in the folder and found again.

    Raises
    ------
    OutputError
        A folder that cannot be written.
    """
    funnel = apply_rules(~np.isnan(terms.heights_m), terms.rules)
    feeds: list[tuple[FeedMap, ...]] = []

    def fed(cells: IntArray) -> Fed:
        found = terms.feeds_at(cells)
        feeds.append(found)
        kept = keep_fed(found, terms.margin_db).cells
        return Fed(kept, terms.cost_at(kept))

    question = WideQuestion(
        funnel.allowed, terms.heights_m, terms.unserved, fed, terms.problem, terms.count, terms.apart_cells
    )
    place = ensure_folder(folder) / f"leading-{_name(terms, funnel)}.npz"
    before = _read(place)
    result = leading_hills(question, enough=asked.enough(), kept=before, told=told)
    _keep(place, before, result)
    every = tuple(_joined(each) for each in zip(*feeds, strict=True))
    here = keep_fed(every, terms.margin_db)
    return WideSearch(funnel, result, every, here, terms.problem(result.cells, terms.unserved))


def _name(terms: WideTerms, funnel: Funnel) -> str:
    """Return the hash of all that the score of any hill depends on."""
    first = np.flatnonzero(funnel.allowed.ravel())[:1].astype(np.int64)
    return digest(terms.problem(first, terms.unserved))


def _joined(parts: Sequence[FeedMap]) -> FeedMap:
    """Return the feed of one parent at all cells that were looked at, each once, lowest first."""
    cells, at = np.unique(np.concatenate([each.cells for each in parts]), return_index=True)

    def sorted_out(name: str) -> FloatArray:
        values: FloatArray = np.concatenate([getattr(each, name) for each in parts], axis=-1)[..., at]
        return values

    return replace(
        parts[0],
        cells=cells,
        distance_km=sorted_out("distance_km"),
        input_dbm=sorted_out("input_dbm"),
        carrier_to_noise_db=sorted_out("carrier_to_noise_db"),
        margin_db=sorted_out("margin_db"),
    )


def _read(place: Path) -> Kept:
    """Return what an earlier search kept; nothing where there is none, or none that can be read."""
    try:
        with place.open("rb") as file, np.load(file, allow_pickle=False) as kept:
            return Kept(kept["cells"], kept["people"], kept["harmed"], kept["option"])
    except (OSError, ValueError, KeyError, EOFError):
        return NOTHING_KEPT


def _keep(place: Path, before: Kept, result: WideResult) -> None:
    """Keep what was priced against every place, now and before."""
    priced = ~np.isnan(result.people)
    now = (result.cells[priced], result.people[priced], result.harmed[priced], result.option[priced])
    cells, at = np.unique(np.concatenate([before.cells, now[0]]), return_index=True)
    people, harmed, option = (np.concatenate(each)[at] for each in zip(before[1:], now[1:], strict=True))
    with replacing(place) as beside, beside.open("wb") as file:
        np.savez(file, cells=cells, people=people, harmed=harmed, option=option)
