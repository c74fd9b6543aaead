"""Looks for delays that serve most people: one at a time, coarsely and then in ever smaller steps.

How many people some delays serve is known only by judging every place anew, so trials are limited. The count
jumps from place to place and has many tops; this finds one of them and proves nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.errors import RangeError, require_range

Delays = tuple[float, ...]

FINEST_US: Final = 1.0
FEWEST_PEOPLE: Final = 0.5
"""By how many people at least some delays have to be better to count as better."""

MOST_TRIALS: Final = 100_000
_ROUNDING: Final = 1e-6
_FIRST_PER_GUARD: Final = 2
_MOST_PLACES: Final = 32


class Freedom(NamedTuple):
    """Within what a delay may be changed [µs]: what it is now, least and greatest, and the first step."""

    now_us: float
    least_us: float
    greatest_us: float
    step_us: float


@dataclass(frozen=True)
class DelaysFound:
    """What a search came to.

    ``best`` are the delays [µs] in the order asked and ``people`` whom they serve; ``people_now`` are those
    of the present delays. ``trials`` counts what was judged beside these; ``exhausted`` tells that the limit
    of trials ended the search. ``beside`` are the fewest people with one of the delays a microsecond off,
    None where that was not tried.
    """

    best: Delays
    people: float
    people_now: float
    trials: int
    exhausted: bool
    beside: tuple[float | None, ...]


def freedom_of(
    now_us: float, after_us: float, guard_us: float, way_us: float, *, only_later: bool
) -> Freedom:
    """Return within what a delay is looked for.

    Parameters
    ----------
    now_us
        The delay as it is [µs].
    after_us
        How much later than the others its station radiates with it [µs].
    guard_us, way_us
        Guard interval, and the longest way to another station [µs].
    only_later
        Whether it can only wait, as one that repeats what it hears.

    Notes
    -----
    Stations that radiate farther apart than that way and a guard interval meet in no window of a receiver,
    wherever it stands. Two signals meet within a guard interval each way, so steps of half of one miss
    nothing; of a way so long that these would be too many there are fewer.

    Examples
    --------
    >>> freedom_of(5.0, 5.0, 28.0, 60.0, only_later=False)
    Freedom(now_us=5.0, least_us=-88.0, greatest_us=88.0, step_us=14.0)
    """
    middle_us, far_us = now_us - after_us, guard_us + way_us
    least_us = min(middle_us - far_us, now_us)
    greatest_us = max(middle_us + far_us, now_us)
    if only_later:
        least_us = max(least_us, 0.0)
    step_us = max(guard_us / _FIRST_PER_GUARD, (greatest_us - least_us) / _MOST_PLACES, FINEST_US)
    return Freedom(now_us, least_us, greatest_us, float(math.ceil(step_us)))


def search_delays(
    freedoms: Sequence[Freedom],
    people_of: Callable[[Delays], float],
    limit: int,
    at_most: float = math.inf,
    told: Callable[[int], None] | None = None,
) -> DelaysFound:
    """Look for the delays that serve most people; of those that serve as many, the least changed found.

    Parameters
    ----------
    freedoms
        Of each delay.
    people_of
        Judges some delays.
    limit
        Trials at most, beside the present delays.
    at_most
        How many people any delays can serve; where the present ones do, nothing is tried.
    told
        Told the number of trials so far.

    Raises
    ------
    RangeError
        Nothing to change, or a limit under 1.
    """
    require_range("limit of trials", limit, 1, MOST_TRIALS)
    if not freedoms:
        raise RangeError("number of delays", 0, "1 or more")
    search = _Search(tuple(freedoms), people_of, limit, told or (lambda _: None))
    people_now = search.people
    if people_now + FEWEST_PEOPLE <= at_most:
        search.run()
    return DelaysFound(
        best=search.best,
        people=search.people,
        people_now=people_now,
        trials=len(search.known) - 1,
        exhausted=search.exhausted,
        beside=tuple(search.beside(index) for index in range(len(freedoms))),
    )


class _Search:
    """What is known so far, and the best of it; the only thing here that changes."""

    def __init__(
        self,
        freedoms: tuple[Freedom, ...],
        people_of: Callable[[Delays], float],
        limit: int,
        told: Callable[[int], None],
    ) -> None:
        self.freedoms, self.limit, self.exhausted = freedoms, limit, False
        self._people_of, self._told = people_of, told
        self.best: Delays = tuple(each.now_us for each in freedoms)
        self.people = people_of(self.best)
        self.known: dict[Delays, float] = {self.best: self.people}

    def run(self) -> None:
        """Try every delay over all its range, those next to the present first; then halve the steps."""
        for turn in range(1, 1 + max(map(_turns, self.freedoms))):
            for index, freedom in enumerate(self.freedoms):
                for value in _at_turn(freedom, turn):
                    self._try(index, value)
        steps = [each.step_us for each in self.freedoms]
        while not self.exhausted:
            steps = [max(float(each // 2), FINEST_US) for each in steps]
            while self._round(steps):
                pass
            if max(steps) == FINEST_US:
                return

    def beside(self, index: int) -> float | None:
        """Return the fewest people with a delay of the best a microsecond off, as far as it may be."""
        found = [
            self.known.get(self._with(index, value))
            for value in (self.best[index] - FINEST_US, self.best[index] + FINEST_US)
            if self._allowed(index, value)
        ]
        known = [each for each in found if each is not None]
        return min(known) if found and len(known) == len(found) else None

    def _round(self, steps: Sequence[float]) -> bool:
        """Step with every delay in turn; return whether any got better."""
        better = [self._step(index, each) for index, each in enumerate(steps)]
        return any(better)

    def _step(self, index: int, step_us: float) -> bool:
        """Try a delay one step earlier and later; return whether either is better."""
        # Both from where it stood: the second is not tried from what the first has moved.
        here = self.best[index]
        better = [self._try(index, value) for value in (here - step_us, here + step_us)]
        return any(better)

    def _try(self, index: int, value: float) -> bool:
        """Judge the best with another value of a delay, and take it if it is better."""
        delays = self._with(index, value)
        if not self._allowed(index, value) or delays == self.best:
            return False
        if delays not in self.known:
            if len(self.known) - 1 >= self.limit:
                self.exhausted = True
                return False
            self.known[delays] = self._people_of(delays)
            self._told(len(self.known) - 1)
        if not self._better(delays, self.known[delays]):
            return False
        self.best, self.people = delays, self.known[delays]
        return True

    def _better(self, delays: Delays, people: float) -> bool:
        if people >= self.people + FEWEST_PEOPLE:
            return True
        # Not half a person less, lest many small steps back should lose what was found.
        return people >= self.people - _ROUNDING and self._change(delays) < self._change(self.best)

    def _change(self, delays: Delays) -> float:
        return sum(abs(each - of.now_us) for each, of in zip(delays, self.freedoms, strict=True))

    def _with(self, index: int, value: float) -> Delays:
        return (*self.best[:index], value, *self.best[index + 1 :])

    def _allowed(self, index: int, value: float) -> bool:
        return self.freedoms[index].least_us <= value <= self.freedoms[index].greatest_us


def _turns(freedom: Freedom) -> int:
    """Return how many steps lead from the present delay to the farther end of its range."""
    farther_us = max(freedom.now_us - freedom.least_us, freedom.greatest_us - freedom.now_us)
    return math.floor(farther_us / freedom.step_us)


def _at_turn(freedom: Freedom, turn: int) -> tuple[float, float]:
    return freedom.now_us + turn * freedom.step_us, freedom.now_us - turn * freedom.step_us
