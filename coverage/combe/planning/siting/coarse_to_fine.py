"""Finds the best hills without pricing them all, and without missing one: branch and bound over blocks.

Blocks of hills are taken in the order of the people they can serve at most (block_bound.py), and cut in four;
the smallest are priced hill by hill. Harm only takes away from a hill, so people newly served are a bound of
its score: whom it harms is priced only once the hill comes to the head with that bound. A hill enters the
list when nothing that is left can beat it, so the list is that of exhaustive search.
"""

from __future__ import annotations

import heapq
import os
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from combe.decibels import FloatArray
from combe.planning.siting.block_bound import block_people, least_heights
from combe.planning.siting.problem import Problem, score_hills, without_harm
from combe.prediction import IntArray, Places

ROOT_LEVEL: Final = 4
"""The search starts with blocks of 16 by 16 cells."""

LEAF_LEVEL: Final = 1
"""Blocks of 2 by 2 cells are priced hill by hill."""

_BATCH: Final = 16


def ranked(hills: Places, score: FloatArray, count: int, apart_cells: float = 0.0) -> IntArray:
    """Return the numbers of the best hills, at most ``count``.

    A hill nearer than ``apart_cells`` [cells of the grid] to a better one is left out, for it is the same
    hill to a planner; of equals the first counts as better. Hills that score nothing are not listed.
    """
    order = np.lexsort((np.arange(score.size), -score))
    chosen = Chosen(hills, apart_cells)
    for hill in order[: int(np.count_nonzero(score > 0.0))]:
        if len(chosen.hills) == count:
            break
        chosen.offer(int(hill))
    return np.array(chosen.hills, dtype=np.int64)


class Chosen:
    """The list so far: takes a hill if it is far enough from all before it."""

    def __init__(self, hills: Places, apart_cells: float) -> None:
        self.hills: list[int] = []
        self._places, self._apart2 = hills, apart_cells * apart_cells

    def offer(self, hill: int) -> bool:
        """Take the hill, or tell with False that a better one is too near."""
        row, column = self._places.row, self._places.column
        for other in self.hills:
            away2 = (row[hill] - row[other]) ** 2 + (column[hill] - column[other]) ** 2
            if away2 < self._apart2:
                return False
        self.hills.append(hill)
        return True


@dataclass(frozen=True)
class FineResult:
    """The best hills by number, with the people each newly serves and harms, and how much work that was.

    ``harm_priced`` is for how many hills harm was priced.
    """

    hills: IntArray
    people: FloatArray
    harmed: FloatArray
    option: IntArray
    priced_hills: int
    bounded_blocks: int
    harm_priced: int


class _Node(NamedTuple):
    """A block of hills along the curve, or one hill; sorts best first, bounds before scores.

    ``is_final`` tells a hill's score from a bound of it; ``hill`` is −1 for a block.
    """

    lost: float
    is_final: bool
    hill: int
    level: int
    first: int
    last: int


def best_hills(
    problem: Problem,
    count: int,
    *,
    apart_cells: float = 0.0,
    cost: FloatArray | None = None,
    threads: int | None = None,
) -> FineResult:
    """Return the best hills: those of :func:`ranked`, in that order.

    Parameters
    ----------
    problem
        All hills.
    count
        How many are wanted.
    apart_cells
        Least distance of two that are listed [cells].
    cost
        Of each hill (n,); then people per cost are compared.
    """
    return _Search(problem, apart_cells, cost).run(count, threads or os.cpu_count() or 1)


class _Search:
    """The state of one search; hills are numbered along a curve on which every block is one stretch."""

    def __init__(self, problem: Problem, apart_cells: float, cost: FloatArray | None) -> None:
        # On a Z-order curve every square block of cells is one stretch, so a block is two numbers and no
        # list.
        self.curve = _interleaved(problem.hills)
        self.order = np.argsort(self.curve, kind="stable")
        self.curve = self.curve[self.order]
        self.problem = replace(problem, hills=Places(*(array[self.order] for array in problem.hills)))
        self.harmless = without_harm(self.problem)
        self.harms = problem.harm.victims.people.size > 0
        self.cost = np.ones(problem.size) if cost is None else cost[self.order]
        self.table = least_heights(problem.setting.surface.raster)
        self.chosen = Chosen(problem.hills, apart_cells)
        self.people: dict[int, float] = {}
        self.harmed: dict[int, float] = {}
        self.option: dict[int, int] = {}
        self.priced = self.bounded = self.harm_priced = 0

    def run(self, count: int, threads: int) -> FineResult:
        """Search until the list is full or nothing is left."""
        with ThreadPoolExecutor(threads) as pool:
            heap: list[_Node] = []
            roots = self._stretches(0, self.curve.size, ROOT_LEVEL)
            self._take_in(heap, pool.map(self._block, *roots))
            while heap and len(self.chosen.hills) < count:
                # The head of the heap is a score, and no bound left is above it: nothing can come before
                # this hill.
                if heap[0].is_final:
                    self.chosen.offer(heapq.heappop(heap).hill)
                    continue
                self._take_in(heap, pool.map(self._divided, _next_bounds(heap)))
        hills = np.array(self.chosen.hills, dtype=np.int64)
        people = np.array([self.people[hill] for hill in self.chosen.hills])
        harmed = np.array([self.harmed[hill] for hill in self.chosen.hills])
        option = np.array([self.option[hill] for hill in self.chosen.hills], dtype=np.int64)
        return FineResult(hills, people, harmed, option, self.priced, self.bounded, self.harm_priced)

    def _take_in(self, heap: list[_Node], parts: Iterable[list[_Node]]) -> None:
        """Put the parts of blocks on the heap, but for those that score nothing, and count the work."""
        for nodes in parts:
            for node in nodes:
                again = node.is_final and self.harms
                self.harm_priced += again
                self.priced += node.hill >= 0 and not again
                self.bounded += node.hill < 0
                # The score with its sign turned, for a heap has its least at the head.
                if node.lost < 0.0:
                    heapq.heappush(heap, node)

    def _stretches(self, first: int, last: int, level: int) -> tuple[list[int], list[int], list[int]]:
        """Return the blocks of a level on a stretch of the curve: firsts, lasts, levels."""
        # Two bits of the curve's place for each halving of rows and columns.
        block = self.curve[first:last] >> (2 * level)
        edges = [first, *(first + 1 + np.flatnonzero(np.diff(block))).tolist(), last]
        if first == last:
            return [], [], []
        return edges[:-1], edges[1:], [level] * (len(edges) - 1)

    def _divided(self, node: _Node) -> list[_Node]:
        """Return the parts of a block: smaller blocks, or its hills; of a hill's bound, the hill's score."""
        if node.hill >= 0:
            return self._hills(self.problem, node, is_final=True)
        if node.level == LEAF_LEVEL:
            return self._hills(self.harmless, node, is_final=not self.harms)
        parts = self._stretches(node.first, node.last, node.level - 1)
        return [node for part in zip(*parts, strict=True) for node in self._block(*part)]

    def _block(self, first: int, last: int, level: int) -> list[_Node]:
        """Return a block with its bound."""
        # Most people over least cost is not below the ratio of any hill of the block.
        most = block_people(self.problem, self.table, first, last) / float(self.cost[first:last].min())
        return [_Node(-most, False, -1, level, first, last)]

    def _hills(self, problem: Problem, node: _Node, *, is_final: bool) -> list[_Node]:
        """Return the hills of a block, priced."""
        scores = score_hills(problem, node.first, node.last)
        nodes = []
        for n, place in enumerate(range(node.first, node.last)):
            hill, score = int(self.order[place]), float(scores.score[n])
            self.people[hill], self.harmed[hill] = float(scores.people[n]), float(scores.harmed[n])
            self.option[hill] = int(scores.option[n])
            nodes.append(_Node(-score / float(self.cost[place]), is_final, hill, 0, place, place + 1))
        return nodes


def _next_bounds(heap: list[_Node]) -> list[_Node]:
    """Take the bounds at the head of the heap, up to a batch, none past a score."""
    taken: list[_Node] = []
    # Several bounds at once keep the threads at work; what they find needlessly costs time and changes
    # nothing.
    while heap and not heap[0].is_final and len(taken) < _BATCH:
        taken.append(heapq.heappop(heap))
    return taken


def _interleaved(hills: Places) -> IntArray:
    """Return the place of each hill on the Z-order curve: the bits of row and column in turn."""
    return z_order(hills.row.astype(np.int64), hills.column.astype(np.int64))


def z_order(row: IntArray, column: IntArray) -> IntArray:
    """Return the place of cells on the Z-order curve, along which neighbours stay together."""
    out = np.zeros(row.size, dtype=np.int64)
    # In cells of 5 m, the least allowed, so many rows go twice around the Earth.
    for bit in range(24):
        out |= ((row >> bit) & 1) << (2 * bit + 1)
        out |= ((column >> bit) & 1) << (2 * bit)
    return out
