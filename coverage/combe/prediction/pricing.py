"""What the sweep and the straight way share: how a summarised path is priced for several services."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from combe.compiling import inner_kernel
from combe.decibels import FloatArray
from combe.propagation import PathSummary, free_space_kernel
from combe.propagation.p526 import WAVELENGTH_M_MHZ, delta_bullington_kernel
from combe.propagation.p1812 import P1812Conditions

SHORTEST_KM = 0.01
"""Horizontal distance below which a path is priced as if it were this long: both aerials stand on one site,
and slopes over no distance mean nothing."""


class Frequencies(NamedTuple):
    """The frequencies of some services, each in the forms that P.1812 asks for; arrays (services,).

    Roots and wavelengths are taken once here and not once a path.
    """

    ghz: FloatArray
    root: FloatArray
    wavelength_m: FloatArray


def frequencies_of(airs: Sequence[P1812Conditions]) -> Frequencies:
    """Return the frequencies of conditions that differ in nothing else."""
    return Frequencies(
        np.array([air.frequency_ghz for air in airs]),
        np.array([air.frequency_root for air in airs]),
        np.array([air.wavelength_m for air in airs]),
    )


@inner_kernel
def at_frequency(air: P1812Conditions, frequencies: Frequencies, k: int) -> P1812Conditions:
    """Return the conditions of service k."""
    return P1812Conditions(
        frequencies.ghz[k],
        frequencies.root[k],
        frequencies.wavelength_m[k],
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
def free_space_db(distance_km: float, p_m: float, q_m: float, frequency_mhz: float) -> float:
    """Return the loss [dB] of free space over the slant between aerials at heights above sea level [m]."""
    rise_km = (p_m - q_m) / 1000.0
    slant_km = math.sqrt(distance_km * distance_km + rise_km * rise_km)
    return free_space_kernel(slant_km, frequency_mhz)


@inner_kernel
def diffracted_db(
    path: PathSummary, frequency_mhz: float, radius_km: float, vertical: bool, sea_fraction: float
) -> float:
    """Return the basic loss [dB] of a path by free space and delta-Bullington."""
    free_db = free_space_db(path.distance_km, path.tx_height_m, path.rx_height_m, frequency_mhz)
    wavelength_m = WAVELENGTH_M_MHZ / frequency_mhz
    return free_db + delta_bullington_kernel(
        path, radius_km, frequency_mhz, wavelength_m, vertical, sea_fraction
    )


@inner_kernel
def standing_db(usual_db: float, rare_db: float) -> float:
    """Return :func:`combe.prediction.time.standing_loss_db` of two losses, inside kernels."""
    # A field that stands for more of the time is never taken for a greater one.
    return max(usual_db, 2.0 * usual_db - rare_db)
