"""What all paths of a search have in common, as kernels take it: ground, steps, model, air, frequencies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.planning.siting.straight import FloatArray, steps_between
from combe.prediction.area import Area
from combe.prediction.conditions import (
    MEDIAN_PERCENT,
    Conditions,
    median_of_time,
    mirrored,
    p1812_conditions,
)
from combe.propagation.p525 import free_space_kernel
from combe.propagation.p1812.conditions import BETA_RADIUS_KM, P1812Conditions
from combe.propagation.p1812.line_of_sight import focusing_db, free_space_slant_loss_db
from combe.propagation.p1812.zones import INLAND
from combe.terrain.blocks import Block
from combe.terrain.cover_step import COVER_STEP_M, NEAR_STEPS

FREE_SPACE: Final = 0
DELTA_BULLINGTON: Final = 1
P1812: Final = 2

_FAR_KM: Final = 1e4

_MODELS: Final = {"free-space": FREE_SPACE, "p526": DELTA_BULLINGTON, "p1812": P1812}


class Setting(NamedTuple):
    """What all paths of a search have in common.

    ``raster`` [m], ``cover`` [m] and ``zones`` (its shape, or empty); lengths of a grid cell and of the
    longest step [km]; the model, one of the numbers above. ``air``; for fields ``standing`` for more than
    half of the time that of the median, and ``rare_air`` what is mirrored about it, else the same. Whether
    ``air`` is for the median of time; whether the bound of bound.py holds, the effective radius [km] for it,
    and by how much a loss may be under free space at most [dB]; frequencies of the services (services,) in
    the forms that P.1812 asks for.
    """

    raster: Block
    cover: npt.NDArray[np.float32]
    zones: npt.NDArray[np.uint8]
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
    frequency_ghz: FloatArray
    frequency_root: FloatArray
    wavelength_m: FloatArray


class CoveredSamples(NamedTuple):
    """Room for the samples of a profile over cover, which are closer near its ends.

    Where they are, counted in steps of the plain profile; then as :class:`Scratch`; ``size`` (1,) how many.
    """

    at: FloatArray
    distance: FloatArray
    ground: FloatArray
    cover: FloatArray
    zone: npt.NDArray[np.int64]
    size: npt.NDArray[np.int64]


class Scratch(NamedTuple):
    """Room for one profile: distance [km], ground and cover [m], zones; and 1/n for n of 1 upwards."""

    distance: FloatArray
    ground: FloatArray
    cover: FloatArray
    zone: npt.NDArray[np.int64]
    inverse: FloatArray
    covered: CoveredSamples


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
        area.ground.heights,
        area.cover,
        area.zones,
        area.grid.cell_size_m / 1000.0,
        area.step_m / 1000.0,
        _MODELS[conditions.model],
        radius_km,
        float(conditions.sea_fraction),
        airs[0],
        rare_airs[0],
        rare is not None,
        median,
        median or area.zones.size == 0,
        radius_km if median else max(radius_km, BETA_RADIUS_KM),
        0.0 if median else _relief_db(airs[0]),
        np.array([air.frequency_ghz for air in airs]),
        np.array([air.frequency_root for air in airs]),
        np.array([air.wavelength_m for air in airs]),
    )


def _relief_db(air: P1812Conditions) -> float:
    """Return the greatest focusing [dB] of the time asked, and of any β0 under it (P.1812-8 eq. 9)."""
    percent = min(air.time_percent, air.least_incidence_percent)
    return -float(focusing_db(_FAR_KM, _FAR_KM, percent))


@kernel
def new_scratch(longest_km: float, step_km: float) -> Scratch:
    """Return room for profiles of up to ``longest_km``."""
    size = steps_between(longest_km, step_km) + 2
    inverse = np.empty(size)
    for n in range(1, size):
        inverse[n] = 1.0 / n
    zone = np.full(size, INLAND, np.int64)
    near = int(NEAR_STEPS * max(1000.0 * step_km / COVER_STEP_M, 1.0)) + 2
    more = size + 2 * near
    covered = CoveredSamples(
        np.empty(more),
        np.empty(more),
        np.empty(more),
        np.empty(more),
        np.full(more, INLAND, np.int64),
        np.zeros(1, np.int64),
    )
    return Scratch(np.empty(size), np.empty(size), np.zeros(size), zone, inverse, covered)


@inner_kernel
def _with_frequency(s: Setting, k: int, air: P1812Conditions) -> P1812Conditions:
    return P1812Conditions(
        s.frequency_ghz[k],
        s.frequency_root[k],
        s.wavelength_m[k],
        air.time_percent,
        air.time_inverse,
        air.median_radius_km,
        air.n0,
        air.latitude_deg,
        air.vertical,
        air.location_db,
        air.least_incidence_percent,
        air.time_floor,
    )


@inner_kernel
def service_air(s: Setting, k: int) -> P1812Conditions:
    """Return the conditions of one service."""
    return _with_frequency(s, k, s.air)


@inner_kernel
def rare_service_air(s: Setting, k: int) -> P1812Conditions:
    """Return the conditions of one service for the time that is mirrored about the median."""
    return _with_frequency(s, k, s.rare_air)


@inner_kernel
def free_loss_db(s: Setting, k: int, distance_km: float, p_m: float, q_m: float) -> float:
    """Return the loss [dB] of service k in free space, between aerials at heights above sea level [m]."""
    if s.model == P1812:
        return free_space_slant_loss_db(distance_km, p_m, q_m, s.frequency_ghz[k])
    rise_km = (p_m - q_m) / 1000.0
    slant_km = math.sqrt(distance_km * distance_km + rise_km * rise_km)
    return free_space_kernel(slant_km, 1000.0 * s.frequency_ghz[k])
