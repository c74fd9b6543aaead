"""Which relays a network could do without: who hangs on each, and the most that can close together.

People are put together by what serves them. A person who has every service now keeps it as long as, for each
service, a station is left that serves the place; parents stay. A relay that closes takes with it the relays
that it feeds. The set that closes is found by a mixed-integer program (HiGHS through scipy.optimize.milp).

Who serves is taken with all stations on the air. One that closes disturbs nobody any more, so of those who
are counted as kept none is lost by it, and others may be served besides: the count is on the safe side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range

Flags = npt.NDArray[np.bool_]

TIME_LIMIT_S: Final = 60.0
_WHOLE: Final = 0.5
_ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class Dependence:
    """People by what serves them with every service.

    Parameters
    ----------
    people : float array (groups,)
    needs : bool array (groups, services, relays)
        Which relays serve a group with a service that no parent gives it; all False where a parent does.
    needed : bool array (groups, services)
        Whether a group has the service from relays alone.
    feeds_from : tuple of int
        For each relay the relay that it is fed by, −1 for a parent.

    Raises
    ------
    RangeError
        For shapes that do not fit, a service that is needed and that nothing serves, or relays that feed one
        another in a circle.
    """

    people: FloatArray
    needs: Flags
    needed: Flags
    feeds_from: tuple[int, ...]

    def __post_init__(self) -> None:
        groups, services, relays = self.needs.shape
        if self.people.shape != (groups,) or self.needed.shape != (groups, services):
            raise RangeError("shape of the people", self.people.shape, f"({groups},), as what serves them")
        if len(self.feeds_from) != relays:
            raise RangeError("feeds of relays", len(self.feeds_from), f"{relays}, one for each relay")
        if not np.array_equal(self.needs.any(axis=2), self.needed):
            raise RangeError("service that is needed", "served by nothing", "served by a relay")
        for relay in range(relays):
            self.followers(relay)

    @property
    def total(self) -> float:
        """People who have every service now."""
        return float(self.people.sum())

    def followers(self, relay: int) -> tuple[int, ...]:
        """Return a relay and all that hang on it by their feeds, in their order."""
        found = {relay}
        while more := {n for n, feeder in enumerate(self.feeds_from) if feeder in found} - found:
            found |= more
        at, steps = self.feeds_from[relay], 0
        while at >= 0:
            at, steps = self.feeds_from[at], steps + 1
            if steps > len(self.feeds_from):
                raise RangeError("feeds of relays", "a circle", "relays that hang on a parent in the end")
        return tuple(sorted(found))

    def kept(self, closed: Sequence[int]) -> float:
        """Return the people who keep every service with some relays closed, and those that hang on them."""
        gone = sorted({each for relay in closed for each in self.followers(relay)})
        left = np.ones(len(self.feeds_from), dtype=np.bool_)
        left[gone] = False
        still = (self.needs[:, :, left].any(axis=2) | ~self.needed).all(axis=1)
        return float(self.people[still].sum())


@dataclass(frozen=True)
class Closing:
    """The relays that can close together.

    ``closed`` by number, those that hang on others among them; ``people`` who keep every service; ``spared``
    what is spared by it, relays or running costs; ``most`` what no set can spare more than, as far as it is
    proved, and ``gap`` the difference of the two.
    """

    closed: tuple[int, ...]
    people: float
    spared: float
    most: float

    @property
    def gap(self) -> float:
        """What is left unproven, 0 where the set is the best there is."""
        return max(0.0, self.most - self.spared)


def depend_on(
    people: FloatArray, by_parents: Flags, by_relays: Flags, feeds_from: Sequence[int]
) -> Dependence:
    """Put people together by what serves them.

    Parameters
    ----------
    people
        Of each cell, shape (cells,).
    by_parents
        Whether any parent serves a cell with a service, (services, cells).
    by_relays
        Which relays do, (services, relays, cells).
    feeds_from
        For each relay the number of the relay that feeds it, −1 for a parent.
    """
    has_all = (by_parents | by_relays.any(axis=1)).all(axis=0) & (people > 0.0)
    services, relays, _ = by_relays.shape
    # With a parent's service it matters no more which relays give it too, so there are fewer groups.
    serving = by_relays[:, :, has_all] & ~by_parents[:, None, has_all]
    rows = np.ascontiguousarray(serving.reshape(services * relays, -1).T)
    patterns, group = np.unique(np.packbits(rows, axis=1), axis=0, return_inverse=True)
    needs = np.unpackbits(patterns, axis=1, count=services * relays).astype(np.bool_)
    needs = needs.reshape(-1, services, relays)
    counts = np.bincount(group.ravel(), weights=people[has_all], minlength=len(patterns)).astype(np.float64)
    needed: Flags = np.any(needs, axis=2)
    return Dependence(counts, needs, needed, tuple(feeds_from))


def most_closed(
    dependence: Dependence,
    keep_share: float,
    cost: FloatArray | None = None,
    time_limit_s: float = TIME_LIMIT_S,
) -> Closing:
    """Return the largest set of relays, or the costliest, that can close.

    Parameters
    ----------
    keep_share
        Share of the people with every service who have to keep it, 0 to 1.
    cost
        Running cost of each relay (relays,); without it each counts one.
    time_limit_s
        Of each of the two programs.

    Raises
    ------
    RangeError
        For a share out of range, costs below 0, or of another number than there are relays.

    Notes
    -----
    Columns are the relays that stay, x, and the groups that keep every service, y. The first program spares
    most; the second, of all sets that spare as much, takes one that leaves most people served.

    Examples
    --------
    >>> needs = np.array([[[True, False]], [[False, True]]])
    >>> two = Dependence(np.array([5.0, 90.0]), needs, needs.any(axis=2), (-1, -1))
    >>> most_closed(two, 0.9).closed, most_closed(two, 1.0).closed
    ((0,), ())
    """
    require_range("share of people who keep every service", keep_share, 0.0, 1.0)
    relays = len(dependence.feeds_from)
    costs = np.ones(relays) if cost is None else np.asarray(cost, dtype=np.float64)
    if costs.shape != (relays,) or not bool(np.all(np.isfinite(costs) & (costs >= 0.0))):
        raise RangeError("running costs", costs.tolist(), f"{relays} numbers of 0 or more")
    model = _Model(dependence, keep_share * dependence.total)
    first = model.solve(np.concatenate((costs, np.zeros(model.groups))), [], time_limit_s)
    stay = _stay(first, relays)
    bound = float(first.mip_dual_bound) if first.mip_dual_bound is not None else 0.0
    within = float(costs @ stay) + _ROUNDING * max(1.0, float(costs.sum()))
    objective = np.concatenate((np.zeros(relays), -dependence.people))
    row = np.concatenate((costs, np.zeros(model.groups)))
    second = model.solve(objective, [(row, 0.0, within)], time_limit_s)
    stay = _stay(second, relays) if second.x is not None else stay
    closed = tuple(int(each) for each in np.flatnonzero(~stay))
    total = float(costs.sum())
    return Closing(closed, dependence.kept(closed), float(costs[~stay].sum()), total - max(bound, 0.0))


def _stay(result: Any, relays: int) -> Flags:
    """Return which relays stay; all of them where the solver found nothing in its time."""
    if result.x is None:
        return np.ones(relays, dtype=np.bool_)
    found: Flags = result.x[:relays] > _WHOLE
    return found


class _Model:
    """The rows of the program, in columns of relays and then of groups."""

    def __init__(self, dependence: Dependence, least_people: float) -> None:
        from scipy.sparse import csr_array, eye_array, hstack, vstack

        groups, services, relays = dependence.needs.shape
        self.relays, self.groups = relays, groups
        # y(group) ≤ Σ x(relays that serve it), for each service that it has from relays alone. y need not be
        # whole: the rows let it go up to 1 or keep it at 0 once x is whole.
        rows = []
        for service in range(services):
            needed = dependence.needed[:, service]
            serving = csr_array(dependence.needs[needed, service].astype(np.float64))
            rows.append(hstack((-serving, eye_array(groups).tocsr()[np.flatnonzero(needed)])))
        # x(relay) ≤ x(its feeder): nothing stays on the air that hears nothing.
        fed = [(n, feeder) for n, feeder in enumerate(dependence.feeds_from) if feeder >= 0]
        feeding = np.zeros((len(fed), relays + groups))
        for row, (relay, feeder) in enumerate(fed):
            feeding[row, relay], feeding[row, feeder] = 1.0, -1.0
        self.rows = vstack((*rows, csr_array(feeding))).tocsr()
        self.people = np.concatenate((np.zeros(relays), dependence.people))
        self.least_people = least_people * (1.0 - _ROUNDING)

    def solve(
        self,
        objective: FloatArray,
        limits: Sequence[tuple[FloatArray, float, float]],
        time_limit_s: float,
    ) -> Any:
        """Return HiGHS' result, ``x`` None where it found none in time."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        rules = [
            LinearConstraint(self.rows, -np.inf, 0.0),
            LinearConstraint(self.people[None, :], self.least_people, np.inf),
            *(LinearConstraint(row[None, :], low, high) for row, low, high in limits),
        ]
        whole = np.concatenate((np.ones(self.relays), np.zeros(self.groups)))
        return milp(
            objective,
            constraints=rules,
            integrality=whole,
            bounds=Bounds(0.0, 1.0),
            options={"time_limit": time_limit_s, "mip_rel_gap": 0.0},
        )
