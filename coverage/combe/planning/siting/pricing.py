"""Prices the straight way between two places exactly, summarised once for several services."""

from __future__ import annotations

import math

from combe.compiling import inner_kernel, kernel
from combe.planning.siting.setting import (
    FAR_FROM_SEA_KM,
    FREE_SPACE,
    P1812,
    Scratch,
    Setting,
    free_loss_db,
    service_air,
)
from combe.planning.siting.straight import Places, fill_nearest
from combe.propagation.p526.delta import WAVELENGTH_M_MHZ, delta_bullington_kernel
from combe.propagation.p1812.quick_loss import basic_loss_db
from combe.propagation.p1812.summary import P1812Summary, summarise_exact


@kernel
def complete_profile(
    s: Setting, p: Places, i: int, q: Places, j: int, steps: int, distance_km: float, room: Scratch
) -> bool:
    """Add ends, distances and cover to a profile with its ground filled; False if it has a void."""
    room.ground[0], room.ground[steps] = p.ground_m[i], q.ground_m[j]
    if s.cover.size > 0:
        fill_nearest(s.cover, p, i, q, j, steps, room.cover)
    total = 0.0
    for n in range(steps + 1):
        room.distance[n] = distance_km * n / steps
        total += room.ground[n] + room.cover[n]
    return not math.isnan(total)


@kernel
def summarise_profile(
    s: Setting, steps: int, p_above_m: float, q_above_m: float, room: Scratch
) -> P1812Summary:
    """Return the summary of a completed profile."""
    return summarise_exact(
        room.distance[: steps + 1],
        room.ground[: steps + 1],
        room.cover[: steps + 1],
        room.zone[: steps + 1],
        p_above_m,
        q_above_m,
        s.radius_km,
        FAR_FROM_SEA_KM,
        FAR_FROM_SEA_KM,
    )


@inner_kernel
def service_loss_db(s: Setting, k: int, path: P1812Summary) -> float:
    """Return the basic transmission loss [dB] of service k over a summarised path."""
    if s.model == P1812:
        return basic_loss_db(path, service_air(s, k))
    way = path.median
    free_db = free_loss_db(s, k, way.distance_km, way.tx_height_m, way.rx_height_m)
    if s.model == FREE_SPACE:
        return free_db
    frequency_mhz = 1000.0 * s.frequency_ghz[k]
    wavelength_m = WAVELENGTH_M_MHZ / frequency_mhz
    return free_db + delta_bullington_kernel(
        way, s.radius_km, frequency_mhz, wavelength_m, s.air.vertical, s.sea_fraction
    )
