"""Counts people by how much margin they have: at each of many thresholds, from one look at the margins.

Whoever has a margin m is served at every threshold up to m. Newly served is who is served after a change at
a threshold and was not before: the thresholds over the margin before, up to the margin after. So each cell is
an interval on the line of thresholds, and people are counted by adding them where it begins and taking them
away where it ends.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning.people_range import Homes
from combe.reception import Field

IntArray = npt.NDArray[np.int64]


class Margins(NamedTuple):
    """Margins [dB] (rows, columns) after a change, before it and against noise alone; NaN for unknown."""

    after_db: Field
    before_db: Field | None = None
    noise_db: Field | None = None


class StepCounts(NamedTuple):
    """People by group and threshold (groups, thresholds), and in all and without prediction (groups,).

    ``served`` have the threshold or more after the change, ``unserved`` less; ``before``, ``newly`` and
    ``lost`` are None where nothing is compared, ``limited`` (unserved, and served if there were noise alone)
    where noise is not told apart.
    """

    total: FloatArray
    without_prediction: FloatArray
    served: FloatArray
    unserved: FloatArray
    before: FloatArray | None = None
    newly: FloatArray | None = None
    lost: FloatArray | None = None
    limited: FloatArray | None = None


def count_by_step(homes: Homes, margins: Margins, steps_db: FloatArray) -> StepCounts:
    """Count groups of people at thresholds.

    At the threshold 0 the numbers are those of :func:`combe.planning.count_standing`.

    Parameters
    ----------
    homes
        Who lives on which cell.
    margins
        Over the same cells.
    steps_db
        The thresholds [dB], rising.

    Raises
    ------
    RangeError
        Thresholds that do not rise, or margins of other cells than those of the people.
    """
    if steps_db.size == 0 or not bool(np.all(np.diff(steps_db) > 0.0)):
        raise RangeError("thresholds", steps_db.tolist(), "one or more, rising")
    if margins.after_db.size != homes.people.shape[1]:
        shape = margins.after_db.size
        raise RangeError("cells of the margins", shape, f"{homes.people.shape[1]}, as of the people")
    people = coo_array(homes.people)
    line = _Line(people, steps_db.size)
    after, known = _reached(margins.after_db, people, steps_db)
    start = np.zeros_like(after)
    total, predicted = line.sums(~np.zeros_like(known)), line.sums(known)
    served = line.between(start, after)
    before = newly = lost = limited = None
    if margins.before_db is not None:
        reached, known_before = _reached(margins.before_db, people, steps_db)
        before = line.between(start, reached)
        # Nobody knows whether it is new where nobody knows what was before.
        newly = line.between(reached, np.where(known_before, after, 0))
        lost = line.between(after, np.where(known, reached, 0))
    if margins.noise_db is not None:
        noise, _ = _reached(margins.noise_db, people, steps_db)
        limited = line.between(after, np.where(known, noise, 0))
    return StepCounts(
        total,
        np.maximum(total - predicted, 0.0),
        served,
        np.maximum(predicted[:, None] - served, 0.0),
        before,
        newly,
        lost,
        limited,
    )


def _reached(
    margin_db: Field, people: coo_array, steps_db: FloatArray
) -> tuple[IntArray, npt.NDArray[np.bool_]]:
    """Return how many thresholds the home of each entry reaches, 0 where not known, and whether it is."""
    values = np.asarray(margin_db).ravel()[people.col]
    known = ~np.isnan(values)
    # A threshold that is met to the last bit counts: from there upwards a place is served.
    reached = np.searchsorted(steps_db, values, side="right")
    return np.where(known, reached, 0).astype(np.int64), known


class _Line(NamedTuple):
    """People by entry (group, cell), and the number of thresholds."""

    people: coo_array
    steps: int

    def sums(self, which: npt.NDArray[np.bool_]) -> FloatArray:
        """Return the people of some entries by group (groups,)."""
        weights = np.where(which, self.people.data, 0.0)
        summed = np.bincount(self.people.row, weights, minlength=self.people.shape[0])
        return summed.astype(np.float64)

    def between(self, first: IntArray, end: IntArray) -> FloatArray:
        """Return by group and threshold the people of entries from their first threshold to before their end.

        Entries that end before they begin count nowhere.
        """
        some = end > first
        groups, width = self.people.shape[0], self.steps + 1
        rows, weights = self.people.row[some] * width, self.people.data[some]
        begun, ended = (
            np.bincount(rows + at[some], weights, minlength=groups * width).reshape(groups, width)
            for at in (first, end)
        )
        # The sums of what has begun and of what has ended are each exact to the last bits of all people; a
        # number that is nobody may come out a hair under 0.
        counted: FloatArray = np.maximum(np.cumsum(begun - ended, axis=1)[:, :-1], 0.0)
        return counted
