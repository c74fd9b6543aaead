"""What a caller may give P.2001-4: usable profile arrays and numbers inside the Recommendation's range."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from combe.errors import ProfileError, RangeError
from combe.propagation.profiles import FloatArray, ZoneArray, check_order, like_distance, zone_codes

HIGHEST_AERIAL_M: Final = 8000.0
"""The greatest height [m] of an aerial above sea level (P.2001-4 §1)."""

LEAST_LOSS_DB: Final = 20.0
"""A smaller basic transmission loss [dB] is unreliable (P.2001-4 §1)."""

_FEWEST_POINTS: Final = 11
_RANGES: Final[dict[str, tuple[float, float, str]]] = {
    "frequency_mhz": (30.0, 50_000.0, "30 to 50000 MHz"),
    "time_percent": (1e-5, 99.99999, "0.00001 to 99.99999 % of an average year"),
    "tx_longitude_deg": (-180.0, 180.0, "-180 to 180 degrees, east positive"),
    "rx_longitude_deg": (-180.0, 180.0, "-180 to 180 degrees, east positive"),
    "tx_latitude_deg": (-90.0, 90.0, "-90 to 90 degrees, north positive"),
    "rx_latitude_deg": (-90.0, 90.0, "-90 to 90 degrees, north positive"),
    "tx_gain_dbi": (-100.0, 100.0, "-100 to 100 dBi"),
    "rx_gain_dbi": (-100.0, 100.0, "-100 to 100 dBi"),
    "distance_km": (0.0, 20_015.0, "a path of up to 20015 km, half the way round the Earth"),
}
# P.2001-4 §1 and §2; the Recommendation bounds neither gains nor the length of a path, so the bounds of gains
# are only a guard against a wrong unit.


def check_number(name: str, value: float) -> None:
    """Raise RangeError unless ``value`` is in the range kept for ``name``."""
    low, high, allowed = _RANGES[name]
    if not low <= value <= high:
        raise RangeError(name, value, f"{allowed} (P.2001-4)")


def check_aerial(name: str, above_ground_m: float, ground_m: float) -> None:
    """Raise RangeError unless an aerial stands above the ground and not above 8000 m over the sea."""
    if not above_ground_m > 0.0:
        raise RangeError(name, above_ground_m, "above 0 m (over ground, P.2001-4)")
    if not ground_m + above_ground_m <= HIGHEST_AERIAL_M:
        given = f"{above_ground_m} on ground at {ground_m:g} m"
        raise RangeError(name, given, "up to 8000 m above sea level (P.2001-4)")


def check_loss(loss_db: float, distance_km: float) -> None:
    """Raise RangeError for so short a path that its loss is not reliable."""
    if loss_db < LEAST_LOSS_DB:
        given = f"{distance_km:g}, with a loss of {loss_db:.1f} dB"
        raise RangeError("distance_km", given, "paths with a loss of 20 dB or more (P.2001-4)")


def profile_arrays(
    distance_km: npt.ArrayLike, height_m: npt.ArrayLike, zone: npt.ArrayLike
) -> tuple[FloatArray, FloatArray, ZoneArray]:
    """Return the profile as checked contiguous arrays of shape (n,); the zone may be a single number.

    Raises
    ------
    ProfileError
        For fewer than eleven points, shapes that differ, voids, distances that do not ascend from 0.
    RangeError
        For a zone other than 1, 3 or 4, or a path longer than half the way round the Earth.
    """
    distance = np.array(distance_km, dtype=np.float64)
    if distance.ndim != 1 or distance.size < _FEWEST_POINTS:
        allowed = f"(n,) with n of {_FEWEST_POINTS} or more points (P.2001-4)"
        raise ProfileError(f"the profile has shape {distance.shape}; allowed: {allowed}")
    height = like_distance("height_m", height_m, distance.size, scalar=False)
    codes = like_distance("zone", zone, distance.size, scalar=True)
    check_order(distance)
    check_number("distance_km", float(distance[-1]))
    return distance, height, zone_codes(codes)
