"""Finds a good list of hills where every hill against every place would take hours: coarse first.

Hills and places are both thinned out, and what is left is priced by the kernels of the whole search. Of each
block of cells the highest that may bear a mast stands for all; people are read at some places of about as
many people each; the ground between is that of coarser cells. The leading blocks are looked at more finely,
in stages, and at the end the leading hills are priced against every place, as the whole search does it, until
no other can overtake by its estimate, or until enough was done.

An estimate is no bound. How far estimates err is seen on the hills that the next stage prices again, and what
is told of the hills that are left counts the largest error seen against them.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.planning.siting.coarse_to_fine import ranked
from combe.planning.siting.problem import Problem, score_hills
from combe.planning.siting.thinning import (
    Mask,
    block_tops,
    coarsened,
    grid_places,
    in_blocks,
    spread_out,
    thinned,
)
from combe.planning.siting.unserved import Unserved
from combe.prediction import IntArray, Places


class Stage(NamedTuple):
    """One look at the hills.

    Blocks of ``side`` by ``side`` cells, at so many ``places``, over ground of ``coarser`` by ``coarser``
    cells of the raster. Of each neighbourhood that leads, ``crowd`` blocks are looked at in the next stage.
    """

    side: int
    places: int
    coarser: int
    crowd: int


STAGES: Final = (Stage(8, 256, 8, 8), Stage(2, 1024, 4, 4), Stage(1, 2048, 1, 2))
"""What a look costs falls with the places and the ground, so more hills can have it (our own choice)."""

NEIGHBOURHOODS: Final = 2
"""For each hill of the list so many neighbourhoods are looked at closely, for the coarse order errs."""

ROUND: Final = 8
"""Hills that are priced against every place between two looks at the list."""

ENOUGH_PAIRS: Final = 1_500_000
"""Pairs that are priced in full unless asked otherwise: some ten seconds on two processors (our choice)."""

LEAST_EXACT: Final = 2
"""For each hill of the list so many are priced in full before anything is enough."""

_BLOCK_HILLS: Final = 4
_WIDE_BLOCK: Final = 64


class Fed(NamedTuple):
    """Cells (n,) of those asked that hear a parent well enough, and the cost of a site on each."""

    cells: IntArray
    cost: FloatArray


@dataclass(frozen=True)
class WideQuestion:
    """A search over a wide area.

    ``allowed`` (rows, columns) where a mast may stand, by the rules; ``heights_m`` of the same shape. ``fed``
    tells which of some cells hear a parent; ``problem`` asks some cells of some people. ``count`` hills are
    wanted, ``apart_cells`` from each other.
    """

    allowed: Mask
    heights_m: FloatArray
    unserved: Unserved
    fed: Callable[[IntArray], Fed]
    problem: Callable[[IntArray, Unserved], Problem]
    count: int
    apart_cells: float


@dataclass(frozen=True)
class WideResult:
    """What was found of the hills looked at that hear a parent (n,), by cell, lowest first.

    ``estimate`` people newly served, by the finest look; ``people``, ``harmed`` priced against every place,
    NaN where a hill was not, with ``option``. ``listed`` the best of those priced, by number. ``looked_at``
    cells were asked whether they hear a parent. ``could_overtake`` hills that were not priced and might come
    before one of the list by their estimate and the errors seen; ``error`` is how far over its estimate a
    priced hill came at most, as a share. ``pairs`` of hill and place were priced in full. ``served`` has by
    number whom hills priced in this run serve, packed to bits.
    """

    cells: IntArray
    cost: FloatArray
    estimate: FloatArray
    people: FloatArray
    harmed: FloatArray
    option: IntArray
    listed: IntArray
    looked_at: int
    could_overtake: int
    error: float
    pairs: int
    estimated_pairs: int
    served: dict[int, npt.NDArray[np.uint8]] = field(repr=False, compare=False)

    @property
    def exact(self) -> int:
        """How many hills were priced against every place."""
        return int(np.count_nonzero(~np.isnan(self.people)))


class Kept(NamedTuple):
    """What an earlier search priced against every place, by cell."""

    cells: IntArray
    people: FloatArray
    harmed: FloatArray
    option: IntArray


NOTHING_KEPT: Final = Kept(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.int64))

Enough = Callable[[int], bool]
"""Whether so many pairs priced in full are enough."""

Told = Callable[[float], None]
"""Called with the share of the work that is behind, as far as it can be known."""


def usual_enough(pairs: int) -> bool:
    """Return whether enough was priced, by counted work: two runs end alike."""
    return pairs >= ENOUGH_PAIRS


def leading_hills(
    question: WideQuestion,
    *,
    enough: Enough = usual_enough,
    kept: Kept = NOTHING_KEPT,
    told: Told | None = None,
    stages: tuple[Stage, ...] = STAGES,
    threads: int | None = None,
) -> WideResult:
    """Return the best hills found coarse first.

    Parameters
    ----------
    enough
        Asked after each round of exact pricing, once the list has been filled.
    kept
        Exact results of an earlier search of the same question; they count as work, so that the list is the
        same with and without them.
    """
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        search = _Search(question, pool, told or (lambda _: None))
        search.look(stages)
        return search.judge(stages, enough, kept)


@dataclass
class _Search:
    """The state of one search: hills by cell, with estimates of the finest stage that looked at them."""

    question: WideQuestion
    pool: ThreadPoolExecutor
    told: Told
    cells: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    cost: FloatArray = field(default_factory=lambda: np.zeros(0))
    estimate: FloatArray = field(default_factory=lambda: np.zeros(0))
    stage: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    errors: list[float] = field(default_factory=list)
    served: dict[int, npt.NDArray[np.uint8]] = field(default_factory=dict)
    looked_at: int = 0
    pairs: int = 0

    def look(self, stages: tuple[Stage, ...]) -> None:
        """Go through the stages; each looks into the blocks that the one before it leaves."""
        allowed = self.question.allowed
        for number, stage in enumerate(stages):
            tops = block_tops(allowed, self.question.heights_m, stage.side)
            self.looked_at += int(np.count_nonzero(~np.isin(tops, self.cells)))
            fed = self.question.fed(tops)
            self._take_in(fed, self._estimated(fed.cells, stage, number, len(stages)), number)
            if number + 1 < len(stages):
                seen = np.flatnonzero(self.stage == number)
                leading = self._leading(seen, NEIGHBOURHOODS * self.question.count * stage.crowd, stage.crowd)
                allowed = self.question.allowed & in_blocks(self.cells[leading], allowed.shape, stage.side)

    def _estimated(self, cells: IntArray, stage: Stage, number: int, stages: int) -> FloatArray:
        """Return the people that each of some hills would newly serve, by one stage."""
        some = thinned(self.question.unserved, self.question.allowed.shape[1], stage.places)
        if cells.size == 0:
            return np.zeros(0)
        problem = coarsened(self.question.problem(cells, some), stage.coarser)
        self.pairs += problem.size * some.cells.size
        found, blocks = [], list(_blocks(problem.size, _WIDE_BLOCK))
        scores = self.pool.map(lambda block: score_hills(problem, *block).people, blocks)
        for done, people in enumerate(scores, 1):
            found.append(people)
            # Looking takes about half of the time, each stage about as long as another.
            self.told(0.5 * (number + done / len(blocks)) / stages)
        return np.concatenate(found)

    def _take_in(self, fed: Fed, estimate: FloatArray, number: int) -> None:
        """Put what a stage found beside what was known; hills seen again tell the error of the last."""
        at = np.searchsorted(self.cells, fed.cells)
        again = np.zeros(fed.cells.size, dtype=np.bool_)
        inside = at < self.cells.size
        again[inside] = self.cells[at[inside]] == fed.cells[inside]
        if number:
            self.errors.append(_most_over(estimate[again], self.estimate[at[again]]))
        self.estimate[at[again]], self.stage[at[again]] = estimate[again], number
        new = ~again
        cells = np.concatenate([self.cells, fed.cells[new]])
        order = np.argsort(cells)
        self.cells = cells[order]
        self.cost = np.concatenate([self.cost, fed.cost[new]])[order]
        self.estimate = np.concatenate([self.estimate, estimate[new]])[order]
        self.stage = np.concatenate([self.stage, np.full(int(new.sum()), number)])[order]

    def _leading(self, hills: IntArray, count: int, crowd: int) -> IntArray:
        """Return up to ``count`` of some hills that are worth a closer look, best first."""
        value = self.estimate[hills] / self.cost[hills]
        places = grid_places(self.cells[hills], self.question.allowed.shape[1])
        return hills[spread_out(places, value, count, self.question.apart_cells, crowd)]

    def _queue(self, stages: tuple[Stage, ...]) -> IntArray:
        """Return all hills that score anything, in the order in which they are priced in full.

        First those that could fill the list, seen in the last stage; then all by their estimate.
        """
        seen = np.flatnonzero(self.stage == len(stages) - 1)
        first = self._leading(seen, LEAST_EXACT * self.question.count, stages[-1].crowd)
        value = self.estimate / self.cost
        order = np.lexsort((self.cells, -value))
        rest = order[(value[order] > 0.0) & ~np.isin(order, first)]
        return np.concatenate([first, rest])

    def judge(self, stages: tuple[Stage, ...], enough: Enough, kept: Kept) -> WideResult:
        """Price leading hills against every place, round by round, until no other can overtake."""
        size, question = self.cells.size, self.question
        people, harmed = np.full(size, np.nan), np.full(size, np.nan)
        option = np.zeros(size, dtype=np.int64)
        places = grid_places(self.cells, question.allowed.shape[1])
        problem = question.problem(self.cells, question.unserved) if size else None
        queue = self._queue(stages)
        listed, pairs, could = np.zeros(0, dtype=np.int64), 0, np.zeros(0, dtype=np.int64)
        least = LEAST_EXACT * question.count
        for first in range(0, queue.size, ROUND):
            batch = queue[first : first + ROUND]
            assert problem is not None, "whoever is in the queue is a hill"
            people[batch], harmed[batch], option[batch] = self._exact(problem, batch, kept)
            pairs += batch.size * question.unserved.cells.size
            score = np.nan_to_num((people - harmed) / self.cost, nan=-1.0)
            listed = ranked(places, score, question.count, question.apart_cells)
            could = self._could_overtake(people, harmed, listed)
            if could.size == 0:
                break
            if first + ROUND >= least and enough(pairs):
                break
            self.told(0.5 + 0.5 * min(pairs / ENOUGH_PAIRS, 1.0))
        priced = np.flatnonzero(~np.isnan(people))
        return WideResult(
            self.cells, self.cost, self.estimate, people, harmed, option, listed, self.looked_at,
            int(could.size), _most_over(people[priced], self.estimate[priced]), pairs, self.pairs,
            self.served,
        )  # fmt: skip

    def _exact(
        self, problem: Problem, batch: IntArray, kept: Kept
    ) -> tuple[FloatArray, FloatArray, IntArray]:
        """Return people, harmed and option of some hills, taken from what is kept or priced."""
        people, harmed = np.empty(batch.size), np.empty(batch.size)
        option = np.zeros(batch.size, dtype=np.int64)
        at = np.searchsorted(kept.cells, self.cells[batch])
        found = np.array(
            [
                n < kept.cells.size and kept.cells[n] == cell
                for n, cell in zip(at, self.cells[batch], strict=True)
            ],
            dtype=np.bool_,
        )
        people[found], harmed[found] = kept.people[at[found]], kept.harmed[at[found]]
        option[found] = kept.option[at[found]]
        left = np.flatnonzero(~found)
        if left.size:
            asked = replace(problem, hills=Places(*(each[batch[left]] for each in problem.hills)))
            for scores in self.pool.map(
                lambda block: score_hills(asked, *block), _blocks(left.size, _BLOCK_HILLS)
            ):
                here = left[scores.first : scores.last]
                people[here], harmed[here], option[here] = scores.people, scores.harmed, scores.option
                self.served.update(zip(batch[here].tolist(), scores.served, strict=True))
        return people, harmed, option

    def _could_overtake(self, people: FloatArray, harmed: FloatArray, listed: IntArray) -> IntArray:
        """Return the hills not priced that might come before one of the list, by estimate and errors seen."""
        priced = ~np.isnan(people)
        last = _most_over(people[priced], self.estimate[priced])
        # A hill that only the first stage looked at may err by all that the later ones found.
        errors = np.array([*self.errors, last])
        wider = np.cumprod((1.0 + errors)[::-1])[::-1]
        value = self.estimate * wider[self.stage] / self.cost
        asked = listed.size == self.question.count
        least = float(((people - harmed) / self.cost)[listed[-1]]) if asked else 0.0
        return np.flatnonzero(~priced & (value > least))


def _most_over(found: FloatArray, estimate: FloatArray) -> float:
    """Return by what share the found came over the estimate at most, 0 where nothing did."""
    told = estimate > 0.0
    if not told.any():
        return 0.0
    return max(float(np.max(found[told] / estimate[told])) - 1.0, 0.0)


def _blocks(size: int, most: int) -> Iterator[tuple[int, int]]:
    for first in range(0, size, most):
        yield first, min(first + most, size)
