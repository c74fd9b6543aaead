"""The vertical pattern of a relay towards places above or below it, as kernels take it."""

from __future__ import annotations

import math

import numpy as np

from combe.compiling import kernel
from combe.planning.siting.straight import FloatArray
from combe.stations.pattern import Pattern, pattern_gain_db


def tilt_table(pattern: Pattern | None) -> FloatArray:
    """Return a vertical pattern every tenth of a degree from −90 to 90, or a single 0 for none."""
    if pattern is None:
        return np.zeros(1)
    return pattern_gain_db(pattern, np.arange(-900.0, 901.0) / 10.0)


@kernel
def tilt_gain_db(tilt_db: FloatArray, p_m: float, q_m: float, distance_km: float, radius_km: float) -> float:
    """Return the vertical pattern [dB] towards the other end of a path."""
    if tilt_db.size == 1:
        return 0.0
    drop_m = 500.0 * distance_km * distance_km / radius_km
    elevation = math.degrees(math.atan2(q_m - p_m - drop_m, 1000.0 * distance_km))
    gain_db: float = tilt_db[math.floor(10.0 * (elevation + 90.0) + 0.5)]
    return gain_db
