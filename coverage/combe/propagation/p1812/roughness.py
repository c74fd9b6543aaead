"""Terrain roughness between the horizons: Recommendation ITU-R P.1812-8, Attachment 1 §5.6.

Symbols: hst hsr ends of the smooth surface for ducting, ilt ilr indices of the horizons, hm roughness.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel

FloatArray = npt.NDArray[np.float64]


@kernel
def roughness_m(
    distance: FloatArray, ground: FloatArray, first: int, last: int, surface_tx_m: float, surface_rx_m: float
) -> float:
    """Return hm [m], the highest ground over the smooth surface from horizon to horizon (eq. 93)."""
    highest = -math.inf
    slope = (surface_rx_m - surface_tx_m) / distance[-1]
    for i in range(first, last + 1):
        highest = max(highest, ground[i] - (surface_tx_m + slope * distance[i]))
    return highest
