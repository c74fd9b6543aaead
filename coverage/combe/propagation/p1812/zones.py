"""Sea, coast and inland along a path: shares and longest stretches for Recommendation ITU-R P.1812-8.

Zones: 1 sea, 3 coastal land, 4 inland. Each profile point stands for the ground half way to its neighbours,
so a boundary lies midway between two points of different zones. Symbols: ω share of sea, dtm longest land
stretch (coastal and inland together), dlm longest inland stretch.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel, kernel_part

SEA: Final = 1
COASTAL: Final = 3
INLAND: Final = 4

ZONE_NAMES: Final = {SEA: "sea", COASTAL: "coastal land", INLAND: "inland"}
"""What the codes mean (P.1812-8, table of radio-climatic zones)."""

NO_COAST_KM: Final = 500.0
"""Distance to the coast [km] that stands for none on the way (input tables of P.1812-8)."""

FloatArray = npt.NDArray[np.float64]
ZoneArray = npt.NDArray[np.int64]


@kernel_part
def _owned_km(distance: FloatArray, i: int) -> float:
    """Return the length [km] that point ``i`` stands for."""
    last = distance.shape[0] - 1
    return float(0.5 * (distance[min(i + 1, last)] - distance[max(i - 1, 0)]))


@kernel
def longest_stretch_km(distance: FloatArray, zone: ZoneArray, lowest_zone: int) -> float:
    """Return the longest unbroken length [km] of zones not below ``lowest_zone`` (dtm for 3, dlm for 4)."""
    longest = run = 0.0
    for i in range(distance.shape[0]):
        # A stretch ends half way to the first point of a lower zone.
        run = run + _owned_km(distance, i) if zone[i] >= lowest_zone else 0.0
        longest = max(longest, run)
    return longest


@kernel
def sea_fraction(distance: FloatArray, zone: ZoneArray) -> float:
    """Return ω, the share of the path over sea, 0 to 1."""
    sea_km = 0.0
    inland_or_coast = 0
    for i in range(distance.shape[0]):
        if zone[i] == SEA:
            sea_km += _owned_km(distance, i)
        else:
            inland_or_coast += 1
    # All at sea is 1 to the last bit, whatever the halves add up to: ω above 0.75 opens the coupling over
    # sea, and 1 - ω is a weight.
    if inland_or_coast == 0:
        return 1.0
    return float(sea_km / distance[-1])


class CoastDistances(NamedTuple):
    """Distances [km] over land from the ends of a path to the sea (dct, dcr)."""

    tx_km: float
    rx_km: float


def coast_distances_km(distance: FloatArray, zone: ZoneArray) -> CoastDistances:
    """Return dct and dcr of a path, arrays of shape (n,): 0 at sea, :data:`NO_COAST_KM` without any sea."""
    at_sea = np.flatnonzero(zone == SEA)
    if at_sea.size == 0:
        return CoastDistances(NO_COAST_KM, NO_COAST_KM)
    first, last = int(at_sea[0]), int(at_sea[-1])
    tx_km = 0.5 * (distance[first - 1] + distance[first]) if first > 0 else 0.0
    end_km = 0.5 * (distance[last] + distance[last + 1]) if last < zone.size - 1 else distance[-1]
    return CoastDistances(float(tx_km), float(distance[-1] - end_km))
