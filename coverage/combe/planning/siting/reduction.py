"""Drops hills that no best set needs, and puts together targets that the same hills serve; nothing is lost.

The rule: a hill goes if another serves all whom it serves, costs no more and harms no more; of two that are
the same the one that comes first stays. Any set with the dropped hill is no better than that with the
other in its place.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel, kernel_part
from combe.decibels import FloatArray
from combe.prediction import IntArray

Bits = npt.NDArray[np.uint8]
Matrix = npt.NDArray[np.bool_]


def keep_undominated(
    served: Bits, people: FloatArray, cost: FloatArray, bound: Matrix, harmed: FloatArray | None = None
) -> IntArray:
    """Return the numbers of the hills that stay, best first.

    Parameters
    ----------
    served
        Whom each hill serves, packed to bits, shape (n, bytes).
    people
        People whom each serves, (n,); hills that serve nobody go, unless bound.
    cost
        Of each hill, (n,).
    bound
        Hills (n,) that others hang on, or that hang on others: they stay, and take no other's place.
    harmed
        People whom each harms, (n,); nobody unless given.
    """
    words, harm = _words(served), np.zeros(people.size) if harmed is None else harmed
    # Who serves all of another serves no fewer people: a hill that dominates comes first, and one pass
    # does.
    order = np.lexsort((np.arange(people.size), cost, harm, -people))
    order = order[(people[order] > 0.0) | bound[order]]
    kept = np.zeros(people.size, dtype=np.bool_)
    _mark_kept(words, cost, harm, bound, order, kept)
    return order[kept[order]].astype(np.int64)


def _words(served: Bits) -> npt.NDArray[np.uint64]:
    """Return packed bits as whole words of 64, padded with zeros."""
    spare = -served.shape[1] % 8
    padded = np.ascontiguousarray(np.pad(served, ((0, 0), (0, spare))))
    return padded.view(np.uint64)


@kernel
def _mark_kept(
    words: npt.NDArray[np.uint64],
    cost: FloatArray,
    harm: FloatArray,
    bound: Matrix,
    order: IntArray,
    kept: Matrix,
) -> None:
    """Mark the hills that no earlier one dominates; ``order`` goes down in people, supersets first."""
    stay = np.empty(order.size, np.int64)
    count = 0
    for i in order:
        dominated = False
        if not bound[i]:
            for n in range(count):
                j = stay[n]
                if cost[j] <= cost[i] and harm[j] <= harm[i] and _holds(words, j, i):
                    dominated = True
                    break
        kept[i] = not dominated
        if kept[i] and not bound[i]:
            stay[count] = i
            count += 1


@kernel_part
def _holds(words: npt.NDArray[np.uint64], j: int, i: int) -> bool:
    """Tell whether j serves all whom i serves."""
    extra = 0
    for w in range(words.shape[1]):
        extra |= words[i, w] & ~words[j, w]
        if extra:
            break
    return extra == 0


def merge_targets(served: Matrix, people: FloatArray) -> tuple[Matrix, FloatArray]:
    """Return the matrix with each distinct, not empty column once, and the people of each.

    ``served`` (hills, targets), ``people`` (targets,).
    """
    reached = served.any(axis=0)
    columns = np.packbits(served[:, reached], axis=0)
    _, first, member = np.unique(columns, axis=1, return_index=True, return_inverse=True)
    merged = np.zeros(first.size)
    np.add.at(merged, np.asarray(member).ravel(), people[reached])
    return np.ascontiguousarray(served[:, reached][:, first]), merged


def keep_promising(
    served: Matrix,
    people: FloatArray,
    count: int,
    least: float,
    bound: Matrix | None = None,
    harmed: FloatArray | None = None,
) -> IntArray:
    """Return the hills that a set of ``count`` worth more than ``least`` people may hold, by number.

    A set with hill i is worth at most what i serves and the ``count`` − 1 largest amounts that others add to
    it, each less whom it harms (hills,). ``served`` (hills, targets), ``people`` (targets,); hills of
    ``bound`` (hills,) stay in any case.
    """
    weighted = served * people
    totals = weighted.sum(axis=1)
    # adds[i, j] is what j serves and i does not: totals of j less what both serve.
    adds = totals[None, :] - weighted @ served.T.astype(np.float64)
    harm = np.zeros(totals.size) if harmed is None else harmed
    adds = np.maximum(adds - harm[None, :], 0.0)
    np.fill_diagonal(adds, 0.0)
    others = min(count - 1, adds.shape[0] - 1)
    most = totals - harm
    if others > 0:
        most += np.partition(adds, -others, axis=1)[:, -others:].sum(axis=1)
    # A hill of the best set itself reaches the least exactly; rounding must not drop it.
    stays = most >= least * (1.0 - 1e-12)
    return np.flatnonzero(stays if bound is None else stays | bound).astype(np.int64)
