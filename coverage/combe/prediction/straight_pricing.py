"""Prices the straight way between two places exactly, summarised once for several services."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from combe.compiling import inner_kernel, kernel_part
from combe.decibels import FloatArray
from combe.prediction.area import Area
from combe.prediction.conditions import (
    MEDIAN_PERCENT,
    Conditions,
    median_of_time,
    mirrored,
    p1812_conditions,
)
from combe.prediction.pricing import (
    Frequencies,
    at_frequency,
    diffracted_db,
    free_space_db,
    frequencies_of,
    standing_db,
)
from combe.prediction.quick_summary import summarise_bare
from combe.prediction.straight import Aerials, IntArray
from combe.prediction.straight_samples import Scratch, Surface
from combe.propagation.p1812 import (
    BETA_RADIUS_KM,
    NO_COAST_KM,
    SEA,
    P1812Conditions,
    P1812Summary,
    basic_loss_db,
    focusing_db,
    free_space_slant_loss_db,
    summarise_exact,
)

FREE_SPACE: Final = 0
DELTA_BULLINGTON: Final = 1
P1812: Final = 2

_FAR_KM: Final = 1e4

_MODELS: Final = {"free-space": FREE_SPACE, "p526": DELTA_BULLINGTON, "p1812": P1812}


class Setting(NamedTuple):
    """What all ways of a search have in common.

    ``surface``; lengths of a grid cell and of the longest step [km]; the model, one of the numbers above.
    ``air``; for fields ``standing`` for more than half of the time that of the median, and ``rare_air`` what
    is mirrored about it, else the same. Whether ``air`` is for the median of time; whether a bound over the
    ground alone holds (siting's bound.py), the effective radius [km] for it, and by how much a loss may be
    under free space at most [dB]; the frequencies of the services.
    """

    surface: Surface
    cell_km: float
    step_km: float
    model: int
    radius_km: float
    sea_fraction: float
    air: P1812Conditions
    rare_air: P1812Conditions
    standing: bool
    median: bool
    bounded: bool
    bound_radius_km: float
    relief_db: float
    frequencies: Frequencies


def make_setting(
    area: Area,
    conditions: Conditions,
    frequencies_mhz: Sequence[float],
    *,
    vertical: bool,
    latitude_deg: float,
) -> Setting:
    """Return the setting of a search.

    Raises
    ------
    RangeError
        For a number outside the model's range.
    """
    rare = mirrored(conditions)
    usual = conditions if rare is None else median_of_time(conditions)
    airs, rare_airs = (
        [
            p1812_conditions(each, frequency_mhz=frequency, latitude_deg=latitude_deg, vertical=vertical)
            for frequency in frequencies_mhz
        ]
        for each in (usual, rare or usual)
    )
    median = usual.time_percent == MEDIAN_PERCENT
    radius_km = float(conditions.effective_radius_km)
    return Setting(
        Surface(area.ground.heights, area.cover, area.zones),
        area.grid.cell_size_m / 1000.0,
        area.step_m / 1000.0,
        _MODELS[conditions.model],
        radius_km,
        float(conditions.sea_fraction),
        airs[0],
        rare_airs[0],
        rare is not None,
        median,
        # Beyond the median the bound holds only where all is inland: over sea Lminb0p leaves diffraction
        # out (eq. 59).
        median or area.zones.size == 0,
        # The flatter of the two Earths costs less, and a bound must not cost more than either.
        radius_km if median else max(radius_km, BETA_RADIUS_KM),
        0.0 if median else _relief_db(airs[0]),
        frequencies_of(airs),
    )


def _relief_db(air: P1812Conditions) -> float:
    """Return the greatest focusing [dB] of the time asked, and of any β0 under it (P.1812-8 eq. 9)."""
    # Focusing grows as time gets rarer, and Lb0β is asked at β0, which on this map may be the rarer of the
    # two.
    percent = min(air.time_percent, air.least_incidence_percent)
    return -float(focusing_db(_FAR_KM, _FAR_KM, percent))


@inner_kernel
def service_air(s: Setting, k: int) -> P1812Conditions:
    """Return the conditions of one service."""
    return at_frequency(s.air, s.frequencies, k)


@inner_kernel
def free_loss_db(s: Setting, k: int, distance_km: float, p_m: float, q_m: float) -> float:
    """Return the loss [dB] of service k in free space, between aerials at heights above sea level [m]."""
    if s.model == P1812:
        return free_space_slant_loss_db(distance_km, p_m, q_m, s.frequencies.ghz[k])
    return free_space_db(distance_km, p_m, q_m, 1000.0 * s.frequencies.ghz[k])


@kernel_part
def summarise_profile(s: Setting, steps: int, aerials: Aerials, room: Scratch) -> P1812Summary:
    """Return the summary of a completed profile."""
    if s.surface.cover.size > 0:
        r, n = room.covered, room.covered.size[0]
        return _summarise(s, r.distance[:n], r.ground[:n], r.cover[:n], r.zone[:n], aerials)
    n = steps + 1
    # The quick summary knows no cover, no zones and no aβ; where none is asked it gives the same numbers.
    if s.median and not s.standing and s.bounded and s.surface.zones.size == 0:
        p_m, q_m = aerials.p_above_m, aerials.q_above_m
        return summarise_bare(room.distance[:n], room.ground[:n], room.inverse, p_m, q_m, s.radius_km)
    return _summarise(s, room.distance[:n], room.ground[:n], room.cover[:n], room.zone[:n], aerials)


@kernel_part
def _summarise(
    s: Setting, distance: FloatArray, ground: FloatArray, cover: FloatArray, zone: IntArray, aerials: Aerials
) -> P1812Summary:
    p_coast_km, q_coast_km = NO_COAST_KM, NO_COAST_KM
    if s.surface.zones.size > 0:
        p_coast_km, q_coast_km = coasts_km(distance, zone)
    return summarise_exact(
        distance,
        ground,
        cover,
        zone,
        aerials.p_above_m,
        aerials.q_above_m,
        s.radius_km,
        p_coast_km,
        q_coast_km,
    )


@kernel_part
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


@inner_kernel
def service_loss_db(s: Setting, k: int, path: P1812Summary) -> float:
    """Return the basic transmission loss [dB] of service k over a summarised path."""
    if s.model == P1812:
        usual_db = basic_loss_db(path, service_air(s, k))
        if not s.standing:
            return usual_db
        return standing_db(usual_db, basic_loss_db(path, at_frequency(s.rare_air, s.frequencies, k)))
    way = path.median
    if s.model == FREE_SPACE:
        return free_loss_db(s, k, way.distance_km, way.tx_height_m, way.rx_height_m)
    # The frequency goes by way of GHz as in P.1812, so that models differ in nothing but what they model.
    return diffracted_db(way, 1000.0 * s.frequencies.ghz[k], s.radius_km, s.air.vertical, s.sea_fraction)
