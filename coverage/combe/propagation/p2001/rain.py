"""Fading in rain and wet snow: Recommendation ITU-R P.2001-4, Attachment C.

Symbols: Pr6 MT βrain rain of the place, Mc Ms its convective and stratiform part, hR median and hRtop highest
top of the rain, Q0ra percentage of time with rain, Qtran where two ways of rates meet, a b c their constants,
kmod αmod attenuation of a path, Gm Pm multipliers by melting and their chances, Fwvr weight of the vapour
in rain, Qrain percentage of the rainy time for which a fade is exceeded.

Under 1 GHz rain attenuates next to nothing, but it takes its share of time from multipath, so with it fades
are less deep (by up to 0.7 dB in the worst climates). Where rain is not known it is left out.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.melting_layer import DEPTH_M, mean_multiplier
from combe.propagation.p2001.rain_attenuation import rain_law

_FIRST_HALF_PPM: Final = (
    555, 802, 1139, 1594, 2196, 2978, 3976, 5227, 6764, 8617, 10808, 13346, 16225,
    19419, 22881, 26542, 30312, 34081, 37724, 41110, 44104, 46583, 48439, 49589,
)  # fmt: skip
_MIDDLE_PPM: Final = 49978
TOP_CHANCES: Final = tuple(1e-6 * ppm for ppm in (*_FIRST_HALF_PPM, _MIDDLE_PPM, *reversed(_FIRST_HALF_PPM)))
"""Πj, the chances that the top of the rain lies −2400, −2300 … 2400 m from its median (table C.2.1)."""

_TOP_STEP_M: Final = 100.0
_TOP_REACH_M: Final = 2400.0
_RATE: Final = 1.09  # a of (C.2.5)
_LONGEST_CELLS_KM: Final = 300.0
_LEAST_RAIN_PERCENT: Final = 1e-9


class Rain(NamedTuple):
    """Rain on one stretch of a path; without rain nothing but noughts."""

    rainy_percent: float  # Q0ra
    vapour_factor: float  # Fwvr
    b: float
    c: float
    attenuation_db: float  # kmod times the length in rain, for 1 mm/h
    exponent: float  # αmod
    gains: list[float]  # Gm
    shares: list[float]  # Pm of each


@also_in_kernels
def no_rain() -> Rain:
    """Return what is on a stretch without rain."""
    # Two lists, and of numbers as a kernel sees it, which cannot tell what an empty one would hold.
    return Rain(0.0, 0.0, 0.0, 0.0, 0.0, 1.0, [0.0 for _ in range(0)], [0.0 for _ in range(0)])


@also_in_kernels
def rain_chance_percent(fade_db: float, rain: Rain) -> float:
    """Return Qrain(A) [%] of the time with rain (C.3)."""
    if fade_db < 0.0:
        return 100.0
    total = 0.0
    for j in range(len(rain.gains)):
        gain = rain.gains[j]
        if gain > 0.0:  # in dry snow there is no fade to exceed
            rate = math.pow(fade_db / (gain * rain.attenuation_db), 1.0 / rain.exponent)
            total += rain.shares[j] * math.exp(-_RATE * rate * (rain.b * rate + 1.0) / (rain.c * rate + 1.0))
    return 100.0 * total


@also_in_kernels
def joined_percent(fade_db: float, rain: Rain, clear_air_percent: float) -> float:
    """Return Qiter(A) [%] of all time; ``clear_air_percent`` is that of the time without rain (4.1.3)."""
    if rain.rainy_percent == 0.0:
        return clear_air_percent
    rainy = rain.rainy_percent / 100.0
    return rain_chance_percent(fade_db, rain) * rainy + clear_air_percent * (1.0 - rainy)


@also_in_kernels
def rain_on(air: Air, conditions: Conditions, low_m: float, high_m: float, length_km: float) -> Rain:
    """Return the rain on a stretch between two heights above sea level (C.2).

    Nor is there any that falls for less than 1e-9 % of time, which no share of time here can meet.
    A stretch of no length has none: the Recommendation's slope is 0/0 there, and its own code ends at a fade
    of 5 dB by chance. Only a leg of scatter on a short path can be one, and its loss counts for nothing.
    """
    top_m = 360.0 + 1000.0 * air.rain_height_km  # (C.2.1)
    six_hours, yearly_mm = air.rain_six_hours_percent, air.rain_mm_per_year
    stratiform_mm = (1.0 - air.convective_rain_share) * yearly_mm  # (C.2.3)
    if six_hours == 0.0 or low_m >= top_m + _TOP_REACH_M or length_km <= 0.0:
        return no_rain()
    rainy = six_hours * (1.0 - math.exp(-0.0079 * stratiform_mm / six_hours))  # (C.2.4)
    if rainy < _LEAST_RAIN_PERCENT:
        return no_rain()
    b = yearly_mm / (21797.0 * rainy)
    c = 26.02 * b  # (C.2.5)
    between = _RATE * (c - 2.0 * b) / (c * c)  # ln (Q0ra/Qtran) by (C.2.6)
    attenuation_db, exponent = _path_law(conditions, 0.001 * (high_m - low_m) / length_km, length_km)
    gains, shares = _melting(low_m, high_m, top_m)
    weight = 6.0 * math.log(rainy / conditions.exceeded_percent) / between - 3.0
    mean = 0.0
    for j in range(len(gains)):
        mean += gains[j] * shares[j]
    factor = 0.5 * (1.0 + math.tanh(weight)) * mean  # (C.2.13, C.2.14)
    return Rain(rainy, factor, b, c, attenuation_db, exponent, gains, shares)


@also_in_kernels
def _path_law(conditions: Conditions, inclination_rad: float, length_km: float) -> tuple[float, float]:
    """Return kmod times the length in rain, and αmod (C.2.7 to C.2.10, C.3.1)."""
    law = rain_law(conditions.frequency_ghz, inclination_rad, conditions.vertical)
    in_rain_km = min(length_km, _LONGEST_CELLS_KM)
    d = max(in_rain_km, 1.0)
    thinning = 0.6546 * math.exp(-0.009516 * d) + 0.3499 * math.exp(-0.001182 * d)
    k = math.pow(1.763, law.alpha) * law.k * thinning
    alpha = (
        (0.753 + 0.197 / d) * law.alpha + 0.1572 * math.exp(-0.02268 * d) - 0.1594 * math.exp(-0.0003617 * d)
    )
    return max(in_rain_km, 0.001) * k, alpha


@also_in_kernels
def _melting(low_m: float, high_m: float, median_top_m: float) -> tuple[list[float], list[float]]:
    """Return the multipliers Gm with their chances Pm, all of plain rain in one (C.2.11, C.2.12).

    Tops of the rain below the stretch are left out: it is in dry snow then.
    """
    gains, shares, plain = [0.0 for _ in range(0)], [0.0 for _ in range(0)], 0.0
    for j in range(len(TOP_CHANCES)):
        top_m = median_top_m - _TOP_REACH_M + _TOP_STEP_M * j
        if low_m >= top_m:
            continue
        if high_m > top_m - DEPTH_M:
            gains.append(mean_multiplier(low_m, high_m, top_m))
            shares.append(TOP_CHANCES[j])
        else:
            plain += TOP_CHANCES[j]
    if plain > 0.0:
        gains.append(1.0)
        shares.append(plain)
    return gains, shares
