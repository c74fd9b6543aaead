"""Normal propagation near the surface, the first sub-model of Recommendation ITU-R P.2001-4: §4.1.

Symbols: Lbfs free space, Ld diffraction, A1 fade in clear air and rain exceeded for q % of time, Q0ca share
of multipath, Agsur gases, Awrsur − Awsur what vapour absorbs more in rain, Fwvr its weight, Lbm1 their sum.
"""

from __future__ import annotations

from typing import NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.diffraction import Diffraction, diffraction
from combe.propagation.p2001.fade_search import NO_FADE_DB, fade_exceeded_db
from combe.propagation.p2001.fading import Fading, fading_percent
from combe.propagation.p2001.free_space import free_space_db, slant_km
from combe.propagation.p2001.gases import GasLoss, surface_path_gases, total_db
from combe.propagation.p2001.path import Path
from combe.propagation.p2001.rain import Rain, rain_on
from combe.propagation.summary import PathSummary


class Normal(NamedTuple):
    """The parts of Lbm1, and their sum."""

    free_space_db: float  # Lbfs
    diffraction: Diffraction  # Ld
    rain: Rain  # Q0ra, Fwvr
    fade_db: float  # A1
    gases: GasLoss  # Agsur
    loss_db: float  # Lbm1


@also_in_kernels
def _fade_db(multipath_percent: float, rain: Rain, exceeded_percent: float) -> float:
    """Return A1 [dB]."""
    # Without rain half of the time is that of no fade (B.4.1), which needs no search.
    if exceeded_percent == 50.0 and rain.rainy_percent == 0.0:
        return NO_FADE_DB
    return fade_exceeded_db(fading_percent, Fading(multipath_percent, rain), exceeded_percent)


@also_in_kernels
def normal(
    path: Path, drawn: PathSummary, conditions: Conditions, air: Air, multipath_percent: float
) -> Normal:
    """Return the parts of the loss near the surface; ``drawn`` is the path for the share of time."""
    length_km = slant_km(path.distance_km, path.tx_amsl_m, path.rx_amsl_m)
    low_m, high_m = min(path.tx_amsl_m, path.rx_amsl_m), max(path.tx_amsl_m, path.rx_amsl_m)
    rain = rain_on(air, conditions, low_m, high_m, path.distance_km)
    free_db = free_space_db(conditions.frequency_ghz, length_km)
    diffracted = diffraction(drawn, path.sea_fraction, conditions)
    fade_db = _fade_db(multipath_percent, rain, conditions.exceeded_percent)
    gases = surface_path_gases(
        conditions.frequency_ghz,
        path.distance_km,
        air.water_vapour_g_m3,
        path.middle_ground_m,
        0.5 * (path.tx_amsl_m + path.rx_amsl_m),
    )
    in_rain_db = rain.vapour_factor * (gases.vapour_in_rain_db - gases.vapour_db)
    return Normal(
        free_space_db=free_db,
        diffraction=diffracted,
        rain=rain,
        fade_db=fade_db,
        gases=gases,
        loss_db=free_db + diffracted.total_db + fade_db + in_rain_db + total_db(gases),  # (4.1.4)
    )
