"""An upper convex hull that grows to the right: the memory of a ray from which slopes are asked in O(log n).

The hull is a stack in the rows ``HULL_X`` and ``HULL_Y`` of a table, with ``count`` points in use, x
ascending, slopes descending. Every point is pushed once and popped at most once: a ray of n samples costs
O(n) in all. (One table, not several arrays: handing arrays on costs more than the work on them.)
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel

FloatArray = npt.NDArray[np.float64]

HULL_X, HULL_Y = 0, 1
# Rows of the table.


@inner_kernel
def push(table: FloatArray, count: int, x: float, y: float) -> int:
    """Add a point right of all others; return the new number of points on the hull."""
    while count >= 2:
        x0, y0 = table[HULL_X, count - 2], table[HULL_Y, count - 2]
        if (table[HULL_Y, count - 1] - y0) * (x - x0) > (y - y0) * (table[HULL_X, count - 1] - x0):
            break
        count -= 1
    table[HULL_X, count] = x
    table[HULL_Y, count] = y
    return count + 1


@inner_kernel
def steepest_at(table: FloatArray, count: int, x: float, y: float) -> int:
    """Return the index where (Y − y)/(x − X) is largest: the edge seen looking back from (x, y).

    The values rise and then fall along the hull, so a binary search finds the tangent point.
    """
    low, high = 0, count - 1
    while low < high:
        middle = (low + high) // 2
        here = (table[HULL_Y, middle] - y) * (x - table[HULL_X, middle + 1])
        after = (table[HULL_Y, middle + 1] - y) * (x - table[HULL_X, middle])
        if here < after:
            low = middle + 1
        else:
            high = middle
    return low


@inner_kernel
def farthest_along(table: FloatArray, count: int, slope: float) -> int:
    """Return the index of the hull point where Y + slope · X is largest."""
    low, high = 0, count - 1
    while low < high:
        middle = (low + high) // 2
        if (
            table[HULL_Y, middle] + slope * table[HULL_X, middle]
            < table[HULL_Y, middle + 1] + slope * table[HULL_X, middle + 1]
        ):
            low = middle + 1
        else:
            high = middle
    return low
