"""Diffraction over a general path: the delta-Bullington method of Recommendation ITU-R P.526-16 §4.5.2.

Ld = Lba + max(Lsph − Lbs, 0): Bullington over the real profile, and the excess of the spherical-Earth loss
over Bullington on a smooth profile with the same effective aerial heights.

The wavelength is 299.8/f(MHz), the rounding of the published reference code; with it every part of the Study
Group 3 examples is met within 0.005 dB (with the exact speed of light one part is 0.0051 dB off).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel, kernel_part
from combe.errors import ProfileError, RangeError
from combe.propagation.p526.bullington import bullington_kernel
from combe.propagation.p526.spherical import check_diffraction_conditions, spherical_kernel
from combe.propagation.summary import PathSummary, summarise

FloatArray = npt.NDArray[np.float64]

WAVELENGTH_M_MHZ: Final = 299.8
"""Wavelength [m] times frequency [MHz] as the Study Group 3 reference code of P.452 and P.1812 rounds it."""


@dataclass(frozen=True)
class DeltaBullington:
    """Parts of the delta-Bullington loss [dB] and their sum."""

    actual_db: float
    """Bullington over the real profile."""
    smooth_db: float
    """Bullington over the smooth profile."""
    spherical_db: float
    """Spherical-Earth diffraction with the same effective heights."""
    total_db: float
    """Actual plus what the spherical Earth exceeds the smooth profile by."""


@kernel
def actual_kernel(path: PathSummary, wavelength: float) -> float:
    """Return the Bullington loss [dB] over the real profile."""
    return bullington_kernel(
        path.distance_km,
        path.tx_height_m,
        path.rx_height_m,
        path.tx_slope,
        path.rx_slope,
        path.fresnel,
        wavelength,
    )


@kernel
def smooth_kernel(path: PathSummary, wavelength: float) -> float:
    """Return the Bullington loss [dB] over the smooth profile."""
    return bullington_kernel(
        path.distance_km,
        path.tx_effective_m,
        path.rx_effective_m,
        path.smooth_tx_slope,
        path.smooth_rx_slope,
        path.smooth_fresnel,
        wavelength,
    )


@kernel_part
def delta_bullington_kernel(
    path: PathSummary,
    radius_km: float,
    frequency_mhz: float,
    wavelength: float,
    vertical: bool,
    sea_fraction: float,
) -> float:
    """Return the delta-Bullington loss [dB] of a summarised path.

    The smooth profile is not priced where the spherical loss is nought: its excess is nought then too.
    """
    spherical = spherical_kernel(
        path.distance_km,
        path.tx_effective_m,
        path.rx_effective_m,
        radius_km,
        frequency_mhz,
        wavelength,
        vertical,
        sea_fraction,
    )
    actual = actual_kernel(path, wavelength)
    if spherical > 0.0:
        actual += max(0.0, spherical - smooth_kernel(path, wavelength))
    return actual


def check_profile(distance_km: npt.ArrayLike, height_m: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the profile as float64 arrays.

    Raises
    ------
    ProfileError
        Unless both have one shape (n,), n ≥ 2, all finite, distances ascending from 0.
    """
    distance = np.ascontiguousarray(distance_km, dtype=np.float64)
    height = np.ascontiguousarray(height_m, dtype=np.float64)
    if distance.ndim != 1 or distance.shape != height.shape or distance.size < 2:
        raise ProfileError(
            f"profile has shapes {distance.shape} and {height.shape}; allowed: one shape (n,), n at least 2"
        )
    if not (np.isfinite(distance).all() and np.isfinite(height).all()):
        raise ProfileError("profile has values that are not finite; fill or cut away voids first")
    if distance[0] != 0.0 or not (np.diff(distance) > 0.0).all():
        raise ProfileError("profile distances must start at 0 km and ascend without repeats")
    return distance, height


def delta_bullington(
    distance_km: npt.ArrayLike,
    height_m: npt.ArrayLike,
    *,
    tx_height_m: float,
    rx_height_m: float,
    frequency_mhz: float,
    effective_radius_km: float = 8500.0,
    polarization: str = "horizontal",
    sea_fraction: float = 0.0,
) -> DeltaBullington:
    """Return the diffraction loss of a terrain profile (ITU-R P.526-16 §4.5.2).

    Parameters
    ----------
    distance_km
        Distances [km] from the transmitter, shape (n,), ascending from 0.
    height_m
        Ground heights [m] above sea level, shape (n,).
    tx_height_m, rx_height_m
        Aerial heights [m] above ground, above 0.
    frequency_mhz
        Frequency [MHz], 10 or more.
    effective_radius_km
        Effective Earth radius [km]; ``math.inf`` gives a flat Earth without the spherical part.
    polarization
        ``"horizontal"`` or ``"vertical"``; matters for the spherical part only.
    sea_fraction
        Share of the path over sea, 0 to 1.

    Raises
    ------
    ProfileError, RangeError
        For an unusable profile, or a value outside the ranges given.

    Examples
    --------
    >>> flat = delta_bullington([0, 10, 20], [0, 60, 0], tx_height_m=10, rx_height_m=10,
    ...                         frequency_mhz=600, effective_radius_km=1e12)
    >>> round(flat.actual_db, 2)
    26.06
    """
    distance, height = check_profile(distance_km, height_m)
    for name, value in (("tx_height_m", tx_height_m), ("rx_height_m", rx_height_m)):
        if not 0.0 < value < math.inf:
            raise RangeError(name, value, "above 0 m (over ground)")
    if not effective_radius_km > 0.0:
        raise RangeError("effective_radius_km", effective_radius_km, "above 0 km")
    check_diffraction_conditions(frequency_mhz, polarization, sea_fraction)
    curvature = 500.0 / effective_radius_km
    path = summarise(distance, height, float(tx_height_m), float(rx_height_m), curvature)
    wavelength = WAVELENGTH_M_MHZ / frequency_mhz
    actual, smooth = actual_kernel(path, wavelength), smooth_kernel(path, wavelength)
    spherical = 0.0
    # A flat Earth diffracts nothing, and the formulas of the curved one have no number for it.
    if math.isfinite(effective_radius_km):
        spherical = spherical_kernel(
            path.distance_km,
            path.tx_effective_m,
            path.rx_effective_m,
            float(effective_radius_km),
            float(frequency_mhz),
            wavelength,
            polarization == "vertical",
            float(sea_fraction),
        )
    return DeltaBullington(actual, smooth, spherical, actual + max(spherical - smooth, 0.0))
