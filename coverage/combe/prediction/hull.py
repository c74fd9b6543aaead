"""An upper convex hull that grows to the right: the memory of a ray from which slopes are asked in O(log n).

The hull is a stack in two arrays ``xs``, ``ys`` with ``count`` points in use, x ascending, slopes descending.
Every point is pushed once and popped at most once, so a ray of n samples costs O(n) in all.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel

FloatArray = npt.NDArray[np.float64]


@inner_kernel
def push(xs: FloatArray, ys: FloatArray, count: int, x: float, y: float) -> int:
    """Add a point right of all others; return the new number of points on the hull."""
    while count >= 2:
        x0, y0 = xs[count - 2], ys[count - 2]
        if (ys[count - 1] - y0) * (x - x0) > (y - y0) * (xs[count - 1] - x0):
            break
        count -= 1
    xs[count] = x
    ys[count] = y
    return count + 1


@inner_kernel
def steepest_towards(xs: FloatArray, ys: FloatArray, count: int, x: float, y: float) -> float:
    """Return max (ys − y)/(x − xs): how steep the hull rises, looking back from (x, y) right of it.

    The values rise and then fall along the hull, so a binary search finds the tangent point.
    """
    low, high = 0, count - 1
    while low < high:
        middle = (low + high) // 2
        here = (ys[middle] - y) * (x - xs[middle + 1])
        after = (ys[middle + 1] - y) * (x - xs[middle])
        if here < after:
            low = middle + 1
        else:
            high = middle
    slope: float = (ys[low] - y) / (x - xs[low])
    return slope


@inner_kernel
def farthest_along(xs: FloatArray, ys: FloatArray, count: int, slope: float) -> int:
    """Return the index of the hull point where ys + slope · xs is largest."""
    low, high = 0, count - 1
    while low < high:
        middle = (low + high) // 2
        if ys[middle] + slope * xs[middle] < ys[middle + 1] + slope * xs[middle + 1]:
            low = middle + 1
        else:
            high = middle
    return low
