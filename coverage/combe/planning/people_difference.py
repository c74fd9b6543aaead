"""How sure it is that one plan serves more people than another over the same ground.

Where the same mast serves a place in both plans, whatever the prediction is off there is off in both: one
error, common and of the place, which takes nothing from the difference. Where the masts differ, their errors
are drawn apart, the common ones too. So an error that both share is counted once, and one that they do not
share is never taken to cancel.

Each count is an interval of a place's error: who is served has an error over minus the margin, who is newly
served one between minus the two margins. With one error the counts of both plans are two intervals on one
line, and overlap; drawn apart, the chance of both is the product.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_array
from scipy.special import ndtr, ndtri

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning.people_count import Mask
from combe.planning.people_range import Homes, MarginError, PeopleRange, range_of
from combe.reception import Field

_DRAWS: Final = 128
_DIMENSIONS: Final = 4
"""Common errors of masts in both plans, of those of the first alone, of the second alone; the scatter."""

_SURE_DEVIATIONS: Final = 5.0
"""As in :mod:`combe.planning.people_range`: so far from the limit a cell is sure, whatever is drawn."""

_LEAST_DEVIATION_DB: Final = 1e-9
_NO_CHANCE: Final = 1e-9


class Judged(NamedTuple):
    """A plan: margins [dB] (rows, columns) with all stations and with the parents alone, and their errors."""

    margin_db: Field
    margin_before_db: Field
    error: MarginError
    error_before: MarginError


@dataclass(frozen=True)
class Difference:
    """By how many people the second plan has more than the first, and the chance that it is more at all."""

    range: PeopleRange
    chance_of_more: float


@dataclass(frozen=True)
class CountDifferences:
    """The differences of a group of people, and who is served by one plan and not by the other."""

    served: Difference
    newly_served: Difference
    lost: Difference
    unserved: Difference
    only_second: PeopleRange
    only_first: PeopleRange


COUNTS: Final = ("served", "newly_served", "lost", "unserved")
_SERVED, _NEW, _LOST = range(3)


def count_differences(
    homes: Homes, first: Judged, second: Judged, alike: Mask
) -> tuple[CountDifferences, ...]:
    """Return by how much each group of people fares better with a second plan than with a first.

    Parameters
    ----------
    homes
        Who lives on which cell.
    first, second
        The plans over the same cells.
    alike : bool array (rows, columns)
        Where both are served from the same mast, and so share their error.
    """
    if first.margin_db.shape != second.margin_db.shape or alike.size != homes.people.shape[1]:
        shapes = f"{first.margin_db.shape}, {second.margin_db.shape}, {alike.shape}"
        raise RangeError("shapes of two plans", shapes, f"alike, {homes.people.shape[1]} cells")
    cells = np.flatnonzero((np.asarray(homes.people.sum(axis=0)).ravel() > 0.0) & _known(first, second))
    one, two = _Cells.of(first, cells), _Cells.of(second, cells)
    shared, people = alike.ravel()[cells], csr_array(homes.people.tocsc()[:, cells])
    draws = _normal_draws()
    moved = one.may_change(draws) | two.may_change(draws)
    gain, loss = _chances(one.only(~moved), two.only(~moved), shared[~moved], np.zeros(_DIMENSIONS))
    sure = np.stack([people[:, ~moved] @ part for part in (gain, loss)])
    values = _values(csr_array(people[:, moved]), one.only(moved), two.only(moved), shared[moved], draws)
    values += _added(sure)
    if np.array_equal(first.margin_before_db, second.margin_before_db, equal_nan=True):
        # With the same parents as many were served before, whatever the error: newly less lost is served.
        values[:, _NEW] = values[:, _SERVED] + values[:, _LOST]
    return tuple(_of_group(values[:, :, group]) for group in range(people.shape[0]))


def _known(first: Judged, second: Judged) -> Mask:
    unknown: Mask = np.isnan(first.margin_db) | np.isnan(second.margin_db)
    return ~unknown.ravel()


class _Cells(NamedTuple):
    """Margins of some cells (n,) after and before, in deviations of the places, and their common errors."""

    after: FloatArray
    before: FloatArray
    common: FloatArray
    common_before: FloatArray

    @classmethod
    def of(cls, plan: Judged, cells: npt.NDArray[np.intp]) -> _Cells:
        """Take the cells out of maps."""
        shape = plan.margin_db.shape

        def parts(margin_db: Field, error: MarginError) -> tuple[FloatArray, FloatArray]:
            common, place = (np.broadcast_to(np.asarray(each), shape).ravel()[cells] for each in error)
            spread = np.maximum(np.asarray(place, dtype=np.float64), _LEAST_DEVIATION_DB)
            return margin_db.ravel()[cells].astype(np.float64) / spread, common / spread

        after, common = parts(plan.margin_db, plan.error)
        before, common_before = parts(plan.margin_before_db, plan.error_before)
        return cls(after, before, common, common_before)

    def only(self, which: Mask) -> _Cells:
        """Return some of the cells."""
        return _Cells(*(each[which] for each in self))

    def may_change(self, draws: FloatArray) -> Mask:
        """Return where any error that is drawn may turn a verdict."""
        furthest = float(np.abs(draws[:, :-1]).max())
        near: Mask = np.abs(self.after) < self.common * furthest + _SURE_DEVIATIONS
        near |= np.abs(self.before) < self.common_before * furthest + _SURE_DEVIATIONS
        return near

    def intervals(self, drawn: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return between which shares of a place's errors each count has it, (counts, n) and (counts, n)."""
        after = ndtr(self.after + self.common * drawn)
        known = ~np.isnan(self.before)
        before = np.where(known, ndtr(self.before + self.common_before * drawn), 0.0)
        nobody, everybody = np.zeros_like(after), np.ones_like(after)
        # Nobody is new, and nobody lost, where it is not known who was served before.
        low = [nobody, np.where(known, before, 1.0), np.where(known, after, 1.0), after]
        return np.stack(low), np.stack([after, after, before, everybody])


def _normal_draws() -> FloatArray:
    """Return draws of equal chance (draws, dimensions), the same each time, evenly spread in all dimensions.

    Multiples of powers of the root of x^(d+1) = x + 1: the golden section carried on to d dimensions.
    """
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (_DIMENSIONS + 1.0))
    steps = root ** -np.arange(1.0, _DIMENSIONS + 1.0)
    even = (0.5 + np.outer(np.arange(1, _DRAWS + 1), steps)) % 1.0
    drawn: FloatArray = ndtri(np.clip(even, 0.25 / _DRAWS, 1.0 - 0.25 / _DRAWS))
    return drawn


def _chances(first: _Cells, second: _Cells, shared: Mask, drawn: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the chances (n, counts) that a place is counted by the second plan alone, by the first alone."""
    low_1, high_1 = first.intervals(np.where(shared, drawn[0], drawn[1]))
    low_2, high_2 = second.intervals(np.where(shared, drawn[0], drawn[2]))
    in_1, in_2 = np.maximum(high_1 - low_1, 0.0), np.maximum(high_2 - low_2, 0.0)
    on_one_line = np.maximum(np.minimum(high_1, high_2) - np.maximum(low_1, low_2), 0.0)
    both = np.where(shared, on_one_line, in_1 * in_2)
    return (in_2 - both).T, (in_1 - both).T


def _values(people: csr_array, first: _Cells, second: _Cells, shared: Mask, draws: FloatArray) -> FloatArray:
    """Return by draw (draws, counts and 2, groups) the differences, and who is served by one plan alone."""
    squares = people.multiply(people).tocsr()
    values = []
    for drawn in draws:
        gain, loss = _chances(first, second, shared, drawn)
        # The difference of a place is 1, −1 or 0.
        more = gain - loss
        alone = np.concatenate([gain[:, :1], loss[:, :1]], axis=1)
        variances = np.concatenate([gain + loss - more**2, alone * (1.0 - alone)], axis=1)
        deviation = np.sqrt(np.maximum(squares @ variances, 0.0))
        value = people @ np.concatenate([more, alone], axis=1) + deviation * drawn[-1]
        # A scatter takes nobody away where nobody can be lost: where one error lowers one margin alone.
        most, least = (people @ (each > _NO_CHANCE) for each in (gain, loss))
        nobody = np.zeros_like(most[:, :1])
        most, least = np.hstack([most, most[:, :1], least[:, :1]]), np.hstack([least, nobody, nobody])
        values.append(np.clip(value, -least, most).T)
    found: FloatArray = np.stack(values)
    return found


def _added(sure: FloatArray) -> FloatArray:
    """Return what cells that no error turns add to each value, from who is counted by one plan alone.

    Of (2, groups, counts) it makes (counts and 2, groups).
    """
    gain, loss = sure
    added: FloatArray = np.hstack([gain - loss, gain[:, :1], loss[:, :1]]).T
    return added


def _of_group(values: FloatArray) -> CountDifferences:
    served, new, gone, unserved = (
        Difference(range_of(each), _chance_over_0(each)) for each in values.T[: len(COUNTS)]
    )
    only_second, only_first = (range_of(each) for each in values.T[len(COUNTS) :])
    return CountDifferences(served, new, gone, unserved, only_second, only_first)


def _chance_over_0(draws: FloatArray) -> float:
    """Return the chance that draws of equal chance are over 0; those at 0 count by half."""
    return float(np.mean(draws > 0.0) + 0.5 * np.mean(draws == 0.0))
