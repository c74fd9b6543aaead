"""Chooses sites together: the best set of k, or the cheapest for a share of the people, exactly.

A mixed-integer program (HiGHS through scipy.optimize.milp) over hills x and targets y: maximise Σ people y
less Σ harm x, with y ≤ Σ x of the hills that serve it; a hill without a parent's feed needs a chosen hill
that feeds it. Harm of several sites is added, though a person whom two of them harm then counts twice. What
the solver cannot prove in its time is told as a gap. The greedy choice, hill by hill, stands beside it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.planning.siting.reduction import (
    Bits,
    Matrix,
    keep_promising,
    keep_undominated,
    merge_targets,
)
from combe.prediction import IntArray

Feeders = Mapping[int, Sequence[int]]
"""For a hill without a parent's feed: the hills, fed by a parent themselves, any of which would feed it."""

TIME_LIMIT_S: Final = 30.0
MOST_COMPARED: Final = 3000
"""Hills up to which each is compared with each other before the program is solved."""

_WHOLE: Final = 0.5
_ROUNDING: Final = 1e-6


@dataclass(frozen=True)
class Question:
    """Whom each hill serves and harms, and what it costs.

    ``served`` packed bits (n, bytes); ``people`` of the targets (targets,); ``cost`` of each hill (n,), ones
    where sites are counted; ``feeders`` as :data:`Feeders`; ``harmed`` people whom each hill harms (n,).
    """

    served: Bits
    people: FloatArray
    cost: FloatArray
    feeders: Feeders
    harmed: FloatArray

    def __post_init__(self) -> None:
        for hill, feeders in self.feeders.items():
            again = [feeder for feeder in feeders if feeder in self.feeders]
            if again:
                raise RangeError(
                    f"feeder of hill {hill}",
                    f"hill {again[0]}, which hangs on others",
                    "hills fed by a parent",
                )


@dataclass(frozen=True)
class SiteSet:
    """A set of hills, by number in the question, in the order in which each adds most.

    ``adds`` people that each adds to those before it, less whom it harms; ``people`` served in all and
    ``harmed``; ``bound`` which the score of no set can exceed, ``gap_fraction`` what is left unproven,
    NaN where nothing is proved; ``considered`` hills after the reduction; ``method``.
    """

    hills: tuple[int, ...]
    adds: tuple[float, ...]
    people: float
    harmed: float
    cost: float
    bound: float
    gap_fraction: float
    considered: int
    method: str

    @property
    def score(self) -> float:
        """The score: people newly served less people harmed."""
        return self.people - self.harmed


def make_question(
    served: Bits,
    people: FloatArray,
    cost: FloatArray | None = None,
    feeders: Feeders | None = None,
    harmed: FloatArray | None = None,
) -> Question:
    """Return the question of a choice; without costs every site costs 1, and without harm none is done."""
    return Question(
        served,
        people,
        np.ones(len(served)) if cost is None else cost,
        feeders or {},
        np.zeros(len(served)) if harmed is None else harmed,
    )


def best_sites(question: Question, count: int, *, time_limit_s: float = TIME_LIMIT_S) -> SiteSet:
    """Return the ``count`` sites, or fewer, whose score together is best: people served less harmed.

    Where the time ends before the proof, the best set known is given, the greedy one if none is better, with
    what is left as a gap.

    Raises
    ------
    RangeError
        For a count outside 1 to 1000.
    """
    require_range("number of sites", count, 1, 1000)
    hills, matrix, people = _reduced(question)
    if hills.size == 0:
        return _nothing("exact")
    greedy = greedy_sites(question, count)
    hills, matrix, people = _promising(question, hills, matrix, people, count, greedy.score)
    model = _Model(question, hills, matrix, people)
    objective = np.concatenate((question.harmed[hills], -people))
    sites = np.concatenate((np.ones(hills.size), np.zeros(people.size)))
    solution = model.solve(objective, [(sites, 0.0, float(count))], time_limit_s)
    bound = _people_bound(solution, people)
    chosen = greedy.hills if solution.x is None else _chosen(solution, hills)
    solved = _described(question, chosen, bound, hills.size, "exact")
    return (
        solved
        if solved.score >= greedy.score
        else _described(question, greedy.hills, bound, hills.size, "exact")
    )


def _people_bound(solution: Any, people: FloatArray) -> float:
    """Return the score that no set can exceed, as far as the solver proved it."""
    proved = solution.mip_dual_bound
    total = float(people.sum())
    # The solver minimises harm less people, so its dual bound is the least of that; where it has proved
    # nothing, all people are a bound.
    return total if proved is None or not np.isfinite(proved) else min(float(-proved), total)


def _promising(
    question: Question, hills: IntArray, matrix: Matrix, people: FloatArray, count: int, least: float
) -> tuple[IntArray, Matrix, FloatArray]:
    """Return the hills that a set better than ``least`` may hold, where there are not too many to tell."""
    if hills.size > MOST_COMPARED:
        return hills, matrix, people
    # Who feeds another adds more than its own people: the bound on what a hill adds does not hold for it.
    bound = np.isin(hills, [each for hill, feeders in question.feeders.items() for each in (hill, *feeders)])
    kept = keep_promising(matrix, people, count, least, bound, question.harmed[hills])
    matrix, people = merge_targets(matrix[kept], people)
    return hills[kept], matrix, people


def cheapest_sites(question: Question, share: float, *, time_limit_s: float = TIME_LIMIT_S) -> SiteSet:
    """Return the cheapest set that serves a share (0 to 1) of all that any set could serve.

    Harm is told and not weighed. The bound and the gap are those of its cost. Where all cost 1 it is the
    fewest sites. As with :func:`best_sites`, the greedy set stands in where nothing better is found in time.

    Raises
    ------
    RangeError
        For a share outside 0.01 to 1.
    """
    require_range("share of people", share, 0.01, 1.0)
    hills, matrix, people = _reduced(question)
    if hills.size == 0:
        return _nothing("exact")
    model = _Model(question, hills, matrix, people)
    objective = np.concatenate((question.cost[hills], np.zeros(people.size)))
    reached = np.concatenate((np.zeros(hills.size), people))
    # The solver adds people up in an order of its own, and may miss the share by the last digit.
    wanted = share * float(people.sum()) - _ROUNDING
    solution = model.solve(objective, [(reached, wanted, np.inf)], time_limit_s)
    proved = solution.mip_dual_bound
    least = float(proved) if proved is not None and np.isfinite(proved) else float(question.cost[hills].min())
    greedy = greedy_sites(replace(question, harmed=np.zeros_like(question.harmed)), hills.size, wanted)
    sets = [_described(question, greedy.hills, math.inf, hills.size, "greedy")]
    if solution.x is not None:
        sets.append(_described(question, _chosen(solution, hills), least, hills.size, "exact"))
    best = min((each for each in sets if each.people >= wanted), key=lambda each: each.cost)
    gap = (best.cost - least) / best.cost if best.cost else 0.0
    return replace(
        best,
        bound=least,
        gap_fraction=gap if gap > _ROUNDING else 0.0,
        considered=hills.size,
        method="exact",
    )


def greedy_sites(question: Question, count: int, enough: float = math.inf) -> SiteSet:
    """Return up to ``count`` sites, each the one that adds most to the score (per cost, where costs differ).

    It stops once ``enough`` people are served.
    """
    served = unpacked(question.served, question.people.size)
    left = question.people.copy()
    chosen: list[int] = []
    total = float(left.sum())
    while len(chosen) < count and total - float(left.sum()) < enough:
        # People whom a chosen hill serves count for nobody after it: their numbers are 0 in what is left.
        gains = (served @ left - question.harmed) / question.cost
        for hill, feeders in question.feeders.items():
            if not set(feeders) & set(chosen):
                gains[hill] = 0.0
        best = int(np.argmax(gains))
        if gains[best] <= 0.0:
            break
        chosen.append(best)
        left[served[best]] = 0.0
    return _described(question, chosen, math.inf, served.shape[0], "greedy")


def unpacked(served: Bits, targets: int) -> Matrix:
    """Return packed bits as a matrix (n, targets)."""
    return np.unpackbits(served, axis=1, count=targets).astype(np.bool_)


class _Model:
    """The program's columns: hills, then merged targets."""

    def __init__(self, question: Question, hills: IntArray, matrix: Matrix, people: FloatArray) -> None:
        from scipy.sparse import csr_array, eye_array, hstack, vstack

        self.hills, self.targets = hills.size, people.size
        served = csr_array(matrix.T.astype(np.float64))
        # y(target) ≤ Σ x(hills that serve it): a target is served if one of its hills is chosen. y need not
        # be whole, for its people pull it to 1 as soon as it may be.
        rows = [hstack((-served, eye_array(self.targets)))]
        rows += [
            _feeder_row(hills, hill, feeders, self.targets) for hill, feeders in question.feeders.items()
        ]
        self.rows = vstack(rows).tocsr()

    def solve(
        self,
        objective: FloatArray,
        limits: Sequence[tuple[FloatArray, float, float]],
        time_limit_s: float,
    ) -> Any:
        """Return HiGHS' result, ``x`` None where it found none in time; hills are whole, targets follow."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        rules = [LinearConstraint(self.rows, -np.inf, 0.0)]
        rules += [LinearConstraint(row[None, :], low, high) for row, low, high in limits]
        whole = np.concatenate((np.ones(self.hills), np.zeros(self.targets)))
        return milp(
            objective,
            constraints=rules,
            integrality=whole,
            bounds=Bounds(0.0, 1.0),
            # The solver's own idea of close enough (a ten-thousandth) would end short of the best set.
            options={"time_limit": time_limit_s, "mip_rel_gap": 0.0},
        )


def _feeder_row(hills: IntArray, hill: int, feeders: Sequence[int], targets: int) -> Any:
    """Return the row x(hill) − Σ x(feeders) ≤ 0."""
    from scipy.sparse import csr_array

    row = np.zeros((1, hills.size + targets))
    row[0, : hills.size][np.isin(hills, np.asarray(feeders, dtype=np.int64))] = -1.0
    row[0, : hills.size][hills == hill] = 1.0
    return csr_array(row)


def _reduced(question: Question) -> tuple[IntArray, Matrix, FloatArray]:
    """Return the hills that count, whom they serve with equal targets merged, and the merged people."""
    served = unpacked(question.served, question.people.size)
    bound = np.zeros(served.shape[0], dtype=np.bool_)
    for hill, feeders in question.feeders.items():
        bound[[hill, *feeders]] = True
    totals = served @ question.people
    hills = keep_undominated(question.served, totals, question.cost, bound, question.harmed)
    if hills.size == 0:
        return hills, served[:0], question.people[:0]
    matrix, people = merge_targets(served[hills], question.people)
    return hills, matrix, people


def _chosen(solution: Any, hills: IntArray) -> list[int]:
    # Whole numbers come back from the solver as nearly whole.
    picked: npt.NDArray[np.bool_] = solution.x[: hills.size] > _WHOLE
    return [int(hill) for hill in hills[picked]]


def _described(
    question: Question, chosen: Sequence[int], bound: float, considered: int, method: str
) -> SiteSet:
    """Return a set with its hills in the order in which each adds most, those who feed before the fed."""
    served = unpacked(question.served[list(chosen)], question.people.size)
    left, waiting = question.people.copy(), list(range(len(chosen)))
    order: list[int] = []
    adds: list[float] = []
    while waiting:
        done = {chosen[n] for n in order}
        # A site that hangs on another adds nothing before that one stands.
        ready = [n for n in waiting if _fed(question, chosen[n], done)] or waiting
        gains = [float(np.sum(left[served[n]]) - question.harmed[chosen[n]]) for n in ready]
        best = ready[int(np.argmax(gains))]
        adds.append(max(gains))
        left[served[best]] = 0.0
        waiting.remove(best)
        order.append(best)
    people = float(np.sum(question.people[served.any(axis=0)]))
    hills = tuple(chosen[n] for n in order)
    harmed = float(np.sum(question.harmed[list(hills)]))
    score = people - harmed
    return SiteSet(
        hills,
        tuple(adds),
        people,
        harmed,
        float(np.sum(question.cost[list(hills)])),
        bound,
        _gap_fraction(score, bound),
        considered,
        method,
    )


def _gap_fraction(score: float, bound: float) -> float:
    """Return by what share of a score another set might exceed it; NaN where no bound is known."""
    if not np.isfinite(bound):
        return math.nan
    if bound - score <= _ROUNDING * max(abs(score), 1.0):
        return 0.0
    return (bound - score) / score if score > 0.0 else math.inf


def _fed(question: Question, hill: int, done: set[int]) -> bool:
    feeders = question.feeders.get(hill)
    return feeders is None or bool(done & set(feeders))


def _nothing(method: str) -> SiteSet:
    return SiteSet((), (), 0.0, 0.0, 0.0, 0.0, 0.0, 0, method)
