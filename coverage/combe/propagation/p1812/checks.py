"""What a caller may give P.1812-8: usable profile arrays and numbers inside the Recommendation's range."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from combe.errors import ProfileError, RangeError
from combe.propagation.profiles import FloatArray, ZoneArray, check_order, like_distance, zone_codes

_FEWEST_POINTS: Final = 5
_RANGES: Final[dict[str, tuple[float, float, str]]] = {
    "frequency_mhz": (30.0, 6000.0, "30 to 6000 MHz"),
    "time_percent": (1.0, 50.0, "1 to 50 % of time"),
    "tx_height_m": (1.0, 3000.0, "1 to 3000 m above ground"),
    "rx_height_m": (1.0, 3000.0, "1 to 3000 m above ground"),
    "latitude_deg": (-90.0, 90.0, "-90 to 90 degrees"),
    "n0": (100.0, 500.0, "100 to 500 N-units"),
    "location_percent": (1.0, 99.0, "1 to 99 % of locations"),
    "tx_coast_distance_km": (0.0, np.inf, "0 km or more"),
    "rx_coast_distance_km": (0.0, np.inf, "0 km or more"),
    "distance_km": (0.25, 3000.0, "a path of 0.25 to 3000 km"),
}
# P.1812-8 §1 and the input tables of its Annex 1; the bounds of N0 are only a guard against a wrong unit.


def check_number(name: str, value: float) -> None:
    """Raise RangeError unless ``value`` is in the range kept for ``name``."""
    low, high, allowed = _RANGES[name]
    if not low <= value <= high:
        raise RangeError(name, value, f"{allowed} (P.1812-8)")


def is_vertical(polarization: str) -> bool:
    """Return whether the polarization is vertical; RangeError for an unknown word."""
    if polarization not in ("horizontal", "vertical"):
        raise RangeError("polarization", repr(polarization), "'horizontal' or 'vertical'")
    return polarization == "vertical"


def profile_arrays(
    distance_km: npt.ArrayLike, height_m: npt.ArrayLike, clutter_height_m: npt.ArrayLike, zone: npt.ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, ZoneArray]:
    """Return the profile as checked contiguous arrays of shape (n,); cover and zone may be single numbers.

    Raises
    ------
    ProfileError
        For fewer than five points, shapes that differ, voids, distances that do not ascend from 0, cover
        below 0.
    RangeError
        For a zone other than 1, 3 or 4, or a path outside 0.25 to 3000 km.
    """
    distance = np.array(distance_km, dtype=np.float64)
    if distance.ndim != 1 or distance.size < _FEWEST_POINTS:
        raise ProfileError(
            f"the profile has shape {distance.shape}; allowed: (n,) with n of {_FEWEST_POINTS} or more points"
        )
    height = like_distance("height_m", height_m, distance.size, scalar=False)
    cover = like_distance("clutter_height_m", clutter_height_m, distance.size, scalar=True)
    codes = like_distance("zone", zone, distance.size, scalar=True)
    check_order(distance)
    check_number("distance_km", float(distance[-1]))
    if np.any(cover < 0.0):
        raise ProfileError(f"clutter_height_m is {cover.min():g} m at some point; allowed: 0 m or more")
    return distance, height, cover, zone_codes(codes)
