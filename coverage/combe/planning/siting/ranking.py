"""Puts hills in order, best first, and keeps those listed apart from one another."""

from __future__ import annotations

import numpy as np

from combe.prediction.straight import FloatArray, IntArray, Places


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
