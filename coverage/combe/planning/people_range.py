"""How sure a number of people is: between which numbers it lies by the error of the prediction.

Margins are off by an error that is common to all places, and by one of each place. With the common error b
and places' own deviation σ, a cell of margin m is served with the chance Φ((m + b)/σ). Of the people n of the
cells Σ n Φ have the service then, with the variance Σ n² Φ (1 − Φ): cells are off independently of one
another, and their errors average out over many. So the range comes from b, and from cells
where few are counted.

The common error takes values of equal chance. Before and after a change, and in all services, it is the same,
and so is that of a place: nobody is newly served because the two were drawn apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_array, vstack
from scipy.special import ndtr, ndtri

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning.people_count import Census, people_by_district
from combe.reception import Field
from combe.terrain import spread_on_grid

LOW_PERCENT: Final = 10.0
HIGH_PERCENT: Final = 90.0
"""Ends of a range: in eight draws of ten the number lies between them."""

_COMMON_DRAWS: Final = 32
_PLACE_DRAWS: Final = 8
_SURE_DEVIATIONS: Final = 5.0
"""So many deviations from the limit a cell is sure to be served, or not: one in three million is not."""

_GOLDEN_PART: Final = 0.6180339887498949
"""Its multiples spread evenly over 0 to 1, however many there are."""

_LEAST_DEVIATION_DB: Final = 1e-9


class MarginError(NamedTuple):
    """Standard deviations [dB] of the error of a margin: common to all places, and of each place.

    Numbers, or arrays (rows, columns) where they differ from cell to cell.
    """

    common_db: float | Field
    place_db: float | Field


@dataclass(frozen=True)
class PeopleRange:
    """A number of people by its errors: expected, and at the ends of the range."""

    low: float
    expected: float
    high: float


@dataclass(frozen=True)
class CountRanges:
    """The ranges of what :class:`combe.planning.PeopleCount` counts from margins."""

    served: PeopleRange
    unserved: PeopleRange
    served_before: PeopleRange
    newly_served: PeopleRange
    lost: PeopleRange


@dataclass(frozen=True)
class Homes:
    """The people on each cell of the grid (groups, cells): of all, then of each district, then elsewhere."""

    people: csr_array


def homes_of(census: Census) -> Homes:
    """Return who lives on which cell, the groups as :func:`combe.planning.count_by_district` has them."""
    everybody = census.on_cells.ravel()
    groups = [csr_array(everybody[None])]
    if census.districts is not None:
        groups += [
            spread_on_grid(census.grid, census.people, (each.rows, each.columns), each.counts)
            for _, each in people_by_district(census.people, census.districts)
        ]
    return Homes(csr_array(vstack(groups)))


def common_errors(draws: int = _COMMON_DRAWS) -> FloatArray:
    """Return values of a standard normal error (draws,), each of equal chance."""
    drawn: FloatArray = ndtri((np.arange(draws) + 0.5) / draws)
    return drawn


def chance_served(margin_db: Field, common_db: float | Field, place_db: float | Field) -> Field:
    """Return the chance that places of some margins are served, with a common error [dB] and places' own σ.

    Without prediction it is NaN.
    """
    spread: Field = np.maximum(np.asarray(place_db, dtype=np.float64), _LEAST_DEVIATION_DB)
    chance: Field = ndtr((np.asarray(margin_db, dtype=np.float64) + common_db) / spread)
    return chance


def count_ranges(
    homes: Homes,
    margin_db: Field,
    margin_before_db: Field,
    error: MarginError,
    error_before: MarginError | None = None,
) -> tuple[CountRanges, ...]:
    """Return the ranges of each group of people.

    Parameters
    ----------
    homes
        Who lives on which cell.
    margin_db, margin_before_db : array (rows, columns)
        Margins after and before a change; NaN without prediction.
    error, error_before
        Of these margins; that before is the same unless told.
    """
    drawn = _people_drawn(homes, margin_db, margin_before_db, error, error_before or error)
    groups = range(drawn.known.size)
    return tuple(_ranges(drawn.values[:, k], drawn.expected[k], float(drawn.known[k])) for k in groups)


def newly_served_draws(
    homes: Homes, margin_db: Field, margin_before_db: Field, error: MarginError
) -> FloatArray:
    """Return how many of all people are newly served (draws,), in draws of equal chance."""
    drawn = _people_drawn(homes, margin_db, margin_before_db, error, error)
    values: FloatArray = drawn.values[:, 0, _NEW]
    return values


def range_of(draws: FloatArray) -> PeopleRange:
    """Return the range of draws of equal chance."""
    low, high = np.percentile(draws, (LOW_PERCENT, HIGH_PERCENT))
    return PeopleRange(float(low), float(draws.mean()), float(high))


def chance_of_more(draws: FloatArray, others: FloatArray) -> float:
    """Return the chance that a number is greater than another that is drawn apart from it, 0 to 1."""
    ranked = np.sort(others)
    under, up_to = (np.searchsorted(ranked, draws, side=side) for side in ("left", "right"))
    return float(np.mean(under + up_to)) / (2.0 * ranked.size)


class _Side(NamedTuple):
    """Margins and common errors of some cells (n,), in deviations of the places; NaN for unknown margins."""

    margin: FloatArray
    common: FloatArray

    @classmethod
    def of(cls, margin_db: Field, error: MarginError, cells: npt.NDArray[np.intp]) -> _Side:
        """Take the cells out of maps."""
        common, place = (
            np.broadcast_to(np.asarray(each, dtype=np.float64), margin_db.shape).ravel()[cells]
            for each in error
        )
        place = np.maximum(place, _LEAST_DEVIATION_DB)
        return cls(margin_db.ravel()[cells].astype(np.float64) / place, common / place)

    def only(self, which: npt.NDArray[np.bool_]) -> _Side:
        """Return some of the cells."""
        return _Side(self.margin[which], self.common[which])

    def at(self, drawn: float) -> FloatArray:
        """Return the chance of service (n,) under one common error; NaN for unknown margins."""
        chance: FloatArray = ndtr(self.margin + self.common * drawn)
        return chance

    @property
    def may_change(self) -> npt.NDArray[np.bool_]:
        """Where any error that is drawn may turn the verdict."""
        furthest = float(common_errors()[-1])
        near: npt.NDArray[np.bool_] = np.abs(self.margin) < self.common * furthest + _SURE_DEVIATIONS
        return near


class _Drawn(NamedTuple):
    """People by draw (draws, groups, states), expected (groups, states), and with a prediction (groups,)."""

    values: FloatArray
    expected: FloatArray
    known: FloatArray


def _people_drawn(
    homes: Homes, margin_db: Field, margin_before_db: Field, error: MarginError, error_before: MarginError
) -> _Drawn:
    if margin_db.size != homes.people.shape[1]:
        raise RangeError("cells of the margins", margin_db.size, f"{homes.people.shape[1]}, as of the people")
    everybody = np.asarray(homes.people.sum(axis=0)).ravel()
    cells = np.flatnonzero((everybody > 0.0) & ~np.isnan(margin_db.ravel()))
    after = _Side.of(margin_db, error, cells)
    before = _Side.of(margin_before_db, error_before, cells)
    people = csr_array(homes.people.tocsc()[:, cells])
    moved = after.may_change | before.may_change
    known = np.asarray(people.sum(axis=1)).ravel()
    # Most cells are served, or not, whatever the error; they are counted once.
    sure = people[:, ~moved] @ _states(after.at(0.0), before.at(0.0))[~moved]
    values, expected = _draws(csr_array(people[:, moved]), after.only(moved), before.only(moved))
    return _Drawn(np.clip(values + sure, 0.0, known[:, None]), expected + sure, known)


_SERVED, _BEFORE, _NEW, _LOST = range(4)


def _states(after: FloatArray, before: FloatArray) -> FloatArray:
    """Return the chances (n, 4) of being served, served before, newly served, and of having lost service.

    A place has one error, so whoever has the smaller margin is served only where the greater one serves too.
    """
    known = ~np.isnan(before)
    was = np.where(known, before, 0.0)
    gained, gone = np.maximum(after - was, 0.0), np.maximum(was - after, 0.0)
    return np.stack([after, was, np.where(known, gained, 0.0), gone], axis=1)


def _draws(people: csr_array, after: _Side, before: _Side) -> tuple[FloatArray, FloatArray]:
    """Return the people of cells that errors may turn, by draw, and what is expected of them."""
    squares = people.multiply(people).tocsr()
    values, means = [], []
    for number, drawn in enumerate(common_errors()):
        chance = _states(after.at(drawn), before.at(drawn))
        mean = people @ chance
        deviation = np.sqrt(squares @ (chance * (1.0 - chance)))
        values.append(mean + deviation * _scatter(number)[:, None, None])
        means.append(mean)
    return np.concatenate(values), np.mean(means, axis=0)


def _scatter(number: int) -> FloatArray:
    """Return the sums of places' errors beside a common error, by its number, in their deviations (draws,).

    Of equal chance, and other ones beside each common error: where that is small, they alone fill the range.
    """
    within = (number * _GOLDEN_PART) % 1.0
    drawn: FloatArray = ndtri((np.arange(_PLACE_DRAWS) + max(within, 0.5 / _COMMON_DRAWS)) / _PLACE_DRAWS)
    return drawn


def _ranges(values: FloatArray, expected: FloatArray, known: float) -> CountRanges:
    """Return the ranges of one group from its draws (draws, states)."""
    low, high = np.percentile(values, (LOW_PERCENT, HIGH_PERCENT), axis=0)

    def of(state: int) -> PeopleRange:
        return PeopleRange(float(low[state]), float(expected[state]), float(high[state]))

    served = of(_SERVED)
    # Whoever has a prediction is served or is not.
    unserved = PeopleRange(known - served.high, known - served.expected, known - served.low)
    return CountRanges(served, unserved, of(_BEFORE), of(_NEW), of(_LOST))
