"""Prices the straight way between two places exactly, summarised once for several services."""

from __future__ import annotations

import math

from combe.compiling import inner_kernel, kernel
from combe.planning.siting.covered import complete_covered
from combe.planning.siting.quick_summary import summarise_bare
from combe.planning.siting.setting import (
    FREE_SPACE,
    P1812,
    Scratch,
    Setting,
    free_loss_db,
    rare_service_air,
    service_air,
)
from combe.planning.siting.straight import FloatArray, IntArray, Places, nearest_to
from combe.propagation.p526.delta import WAVELENGTH_M_MHZ, delta_bullington_kernel
from combe.propagation.p1812.quick_loss import basic_loss_db
from combe.propagation.p1812.summary import P1812Summary, summarise_exact
from combe.propagation.p1812.zones import NO_COAST_KM, SEA


@kernel
def complete_profile(
    s: Setting, p: Places, i: int, q: Places, j: int, steps: int, distance_km: float, room: Scratch
) -> bool:
    """Add ends, distances, cover and zones to a profile with its ground filled.

    False where ground, cover or zone is not known on the way.
    """
    room.ground[0], room.ground[steps] = p.ground_m[i], q.ground_m[j]
    total, known, step_km = 0.0, True, distance_km / steps
    for n in range(steps + 1):
        room.distance[n] = n * step_km
        total += room.ground[n]
    if math.isnan(total):
        return False
    if s.cover.size > 0:
        return complete_covered(s, p, i, q, j, steps, step_km, room)
    if s.zones.size > 0:
        for n in range(steps + 1):
            room.zone[n] = int(nearest_to(s.zones, 1, p, i, q, j, n / steps, 0.0))
            known = known and room.zone[n] > 0
    return known


@kernel
def coasts_km(distance: FloatArray, zone: IntArray) -> tuple[float, float]:
    """Return what :func:`combe.propagation.p1812.zones.coast_distances_km` does, inside kernels."""
    first, last, end = -1, -1, zone.size - 1
    for n in range(zone.size):
        if zone[n] == SEA:
            last = n
            if first < 0:
                first = n
    if first < 0:
        return NO_COAST_KM, NO_COAST_KM
    p_km = 0.5 * (distance[first - 1] + distance[first]) if first > 0 else 0.0
    q_at_km = 0.5 * (distance[last] + distance[last + 1]) if last < end else distance[end]
    return p_km, distance[end] - q_at_km


@kernel
def summarise_profile(
    s: Setting, steps: int, p_above_m: float, q_above_m: float, room: Scratch
) -> P1812Summary:
    """Return the summary of a completed profile."""
    if s.cover.size > 0:
        return _summarise_covered(s, p_above_m, q_above_m, room)
    if s.median and not s.standing and s.bounded and s.zones.size == 0:
        distance, ground = room.distance[: steps + 1], room.ground[: steps + 1]
        return summarise_bare(distance, ground, room.inverse, p_above_m, q_above_m, s.radius_km)
    distance, zone = room.distance[: steps + 1], room.zone[: steps + 1]
    p_coast_km, q_coast_km = NO_COAST_KM, NO_COAST_KM
    if s.zones.size > 0:
        p_coast_km, q_coast_km = coasts_km(distance, zone)
    return summarise_exact(
        distance,
        room.ground[: steps + 1],
        room.cover[: steps + 1],
        zone,
        p_above_m,
        q_above_m,
        s.radius_km,
        p_coast_km,
        q_coast_km,
    )


@kernel
def _summarise_covered(s: Setting, p_above_m: float, q_above_m: float, room: Scratch) -> P1812Summary:
    """Return the summary of a completed profile over cover."""
    size = room.covered.size[0]
    distance, zone = room.covered.distance[:size], room.covered.zone[:size]
    p_coast_km, q_coast_km = NO_COAST_KM, NO_COAST_KM
    if s.zones.size > 0:
        p_coast_km, q_coast_km = coasts_km(distance, zone)
    return summarise_exact(
        distance,
        room.covered.ground[:size],
        room.covered.cover[:size],
        zone,
        p_above_m,
        q_above_m,
        s.radius_km,
        p_coast_km,
        q_coast_km,
    )


@inner_kernel
def service_loss_db(s: Setting, k: int, path: P1812Summary) -> float:
    """Return the basic transmission loss [dB] of service k over a summarised path.

    For more than half of the time it is that of :func:`combe.prediction.time.standing_loss_db`.
    """
    if s.model == P1812:
        usual = basic_loss_db(path, service_air(s, k))
        if not s.standing:
            return usual
        return max(usual, 2.0 * usual - basic_loss_db(path, rare_service_air(s, k)))
    way = path.median
    free_db = free_loss_db(s, k, way.distance_km, way.tx_height_m, way.rx_height_m)
    if s.model == FREE_SPACE:
        return free_db
    frequency_mhz = 1000.0 * s.frequency_ghz[k]
    wavelength_m = WAVELENGTH_M_MHZ / frequency_mhz
    return free_db + delta_bullington_kernel(
        way, s.radius_km, frequency_mhz, wavelength_m, s.air.vertical, s.sea_fraction
    )
