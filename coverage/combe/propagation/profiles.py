"""Profiles as arrays that a Recommendation can work on; each says itself what is too short or too long."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from combe.errors import ProfileError, RangeError
from combe.propagation.p1812.zones import COASTAL, INLAND, SEA

FloatArray = npt.NDArray[np.float64]
ZoneArray = npt.NDArray[np.int64]


def like_distance(name: str, values: npt.ArrayLike, count: int, *, scalar: bool) -> FloatArray:
    """Return ``values`` as ``count`` finite floats; with ``scalar``, one number may stand for all.

    Raises
    ------
    ProfileError
        For another shape, or a value that is not finite, with the point at which it stands.
    """
    array = np.array(values, dtype=np.float64)
    if scalar and array.ndim == 0:
        array = np.full(count, array)
    if array.shape != (count,):
        raise ProfileError(f"{name} has shape {array.shape}; allowed: ({count},), that of distance_km")
    if not np.all(np.isfinite(array)):
        where = int(np.flatnonzero(~np.isfinite(array))[0])
        raise ProfileError(
            f"{name} is {array[where]} at point {where}; allowed: finite numbers; fill the void first"
        )
    return array


def check_order(distance_km: FloatArray) -> None:
    """Raise ProfileError unless distances (n,) are finite, start at 0 and ascend."""
    if not np.all(np.isfinite(distance_km)):
        raise ProfileError("distance_km holds values that are not finite; allowed: finite km")
    if distance_km[0] != 0.0:
        raise ProfileError(f"distance_km starts at {distance_km[0]:g}; allowed: 0 at the transmitter")
    if not np.all(np.diff(distance_km) > 0.0):
        where = int(np.flatnonzero(np.diff(distance_km) <= 0.0)[0]) + 1
        raise ProfileError(
            f"distance_km does not rise at point {where} ({distance_km[where]:g}); allowed: ascending"
        )


def zone_codes(codes: FloatArray) -> ZoneArray:
    """Return radio-climatic zones (n,) as whole numbers; raises RangeError for one that there is not."""
    wrong = codes[~np.isin(codes, (SEA, COASTAL, INLAND))]
    if wrong.size:
        raise RangeError("zone", f"{wrong[0]:g}", "1 (sea), 3 (coastal land) or 4 (inland)")
    return codes.astype(np.int64)
