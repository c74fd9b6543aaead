"""Propagation by troposcatter, the third sub-model of Recommendation ITU-R P.2001-4: §4.3.

Symbols: Lbs loss by scatter, A2 fade of both legs, from each aerial to the common volume, Ags gases of both
legs, Fwvr weight of the vapour in rain, Lbm3 their sum.
"""

from __future__ import annotations

from typing import NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.fade_search import NO_FADE_DB, fade_exceeded_db
from combe.propagation.p2001.fading import NO_MULTIPATH, Fading, fading_percent
from combe.propagation.p2001.gases import GasLoss, both_legs, scatter_leg_gases, total_db
from combe.propagation.p2001.horizons import least_angle_rad
from combe.propagation.p2001.path import Path
from combe.propagation.p2001.rain import Rain, rain_on
from combe.propagation.p2001.troposcatter import Troposcatter

_LEG_WEIGHT_PER_KM = 0.018


class Scatter(NamedTuple):
    """The parts of Lbm3, and their sum."""

    scatter: Troposcatter
    basic_db: float  # Lbs, not under free space
    fade_db: float  # A2
    vapour_factor: float  # mean Fwvr of the legs
    gases: GasLoss  # Ags
    loss_db: float  # Lbm3


@also_in_kernels
def scatter(
    path: Path, conditions: Conditions, air: Air, found: Troposcatter, free_space_loss_db: float
) -> Scatter:
    """Return the parts of the loss by way of the troposphere, of what Attachment E found."""
    volume = path.volume
    tx_rain = rain_on(air, conditions, path.tx_amsl_m, volume.amsl_m, volume.tx_km)
    rx_rain = rain_on(air, conditions, path.rx_amsl_m, volume.amsl_m, volume.rx_km)
    basic_db = max(found.loss_db, free_space_loss_db)
    fade_db = _both_fades_db(path, conditions, tx_rain, rx_rain)
    vapour_factor = 0.5 * (tx_rain.vapour_factor + rx_rain.vapour_factor)
    gases = _both_gases(path, conditions, air)
    in_rain_db = vapour_factor * (gases.vapour_in_rain_db - gases.vapour_db)
    return Scatter(
        scatter=found,
        basic_db=basic_db,
        fade_db=fade_db,
        vapour_factor=vapour_factor,
        gases=gases,
        loss_db=basic_db + fade_db + in_rain_db + total_db(gases),  # (4.3.8)
    )


@also_in_kernels
def _both_fades_db(path: Path, conditions: Conditions, tx_rain: Rain, rx_rain: Rain) -> float:
    """Return A2 [dB], each leg weighted by its length (4.3.6)."""
    exceeded = conditions.exceeded_percent
    tx_db, rx_db = _leg_fade_db(tx_rain, exceeded), _leg_fade_db(rx_rain, exceeded)
    tx_weight = 1.0 + _LEG_WEIGHT_PER_KM * path.volume.tx_km
    rx_weight = 1.0 + _LEG_WEIGHT_PER_KM * path.volume.rx_km
    return (tx_db * tx_weight + rx_db * rx_weight) / (1.0 + _LEG_WEIGHT_PER_KM * path.distance_km)


@also_in_kernels
def _leg_fade_db(rain: Rain, exceeded_percent: float) -> float:
    """Return A2t or A2r [dB]; a leg without rain has no fade, which needs no search."""
    if rain.rainy_percent == 0.0:
        return -NO_FADE_DB
    return fade_exceeded_db(fading_percent, Fading(NO_MULTIPATH, rain), exceeded_percent)


@also_in_kernels
def _both_gases(path: Path, conditions: Conditions, air: Air) -> GasLoss:
    """Return the absorption along both legs (F.3)."""
    frequency_ghz, vapour = conditions.frequency_ghz, air.water_vapour_g_m3
    tx_rad, rx_rad = least_angle_rad(path.horizon.tx_mrad), least_angle_rad(path.horizon.rx_mrad)
    tx = scatter_leg_gases(frequency_ghz, path.volume.tx_km, vapour, path.tx_ground_m, tx_rad)
    rx = scatter_leg_gases(frequency_ghz, path.volume.rx_km, vapour, path.rx_ground_m, rx_rad)
    return both_legs(tx, rx)
