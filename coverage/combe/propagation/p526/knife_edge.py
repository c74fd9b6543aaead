"""A single knife edge: Recommendation ITU-R P.526-16 §4.1, printed approximation and exact Fresnel form.

Symbols: ν diffraction parameter, J(ν) knife-edge loss, h height of the edge over the line between the
terminals (negative when the line clears it), d1 and d2 distances from them to the edge, λ wavelength.
"""

from __future__ import annotations

import math
from typing import Final, cast

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import RangeError

FloatArray = npt.NDArray[np.float64]

CLEAR_PARAMETER: Final = -0.78
"""ν below which the approximation takes the loss as nought (P.526-16 §4.1, eq. 31)."""


@kernel
def knife_edge_kernel(nu: float) -> float:
    """Return J(ν) [dB] by P.526-16 eq. (31): 0 up to ν = −0.78."""
    # Eq. 31 is 0.004 dB here and would fall below 0 farther down, where the true loss goes to and fro about
    # 0. The −inf of a path without points ends here too.
    if not nu > -0.78:
        return 0.0
    shifted = nu - 0.1
    return 6.9 + 20.0 * math.log10(math.sqrt(shifted * shifted + 1.0) + shifted)


def knife_edge_loss_db(nu: float) -> float:
    """Return the loss [dB] of a knife edge of parameter ν (P.526-16 §4.1, eq. 31; within 0.13 dB of exact).

    Examples
    --------
    >>> round(knife_edge_loss_db(1.0), 3)
    13.926
    """
    return float(knife_edge_kernel(float(nu)))


def knife_edge_loss_exact_db(nu: float) -> float:
    """Return the loss [dB] of a knife edge from the Fresnel integrals (P.526-16 §2.7 and §4.1).

    J = −20 log( √((1 − C − S)² + (C − S)²) / 2 ). Ripples about 0 dB well below the line of sight.

    Examples
    --------
    >>> round(knife_edge_loss_exact_db(0.0), 3)
    6.021
    """
    from scipy.special import fresnel

    sine, cosine = fresnel(float(nu))
    amplitude = math.hypot(1.0 - cosine - sine, cosine - sine) / 2.0
    return -20.0 * math.log10(amplitude)


def wavelength_m(frequency_mhz: float) -> float:
    """Return the wavelength [m] of a frequency [MHz].

    Raises
    ------
    RangeError
        For a frequency not above 0.
    """
    if not frequency_mhz > 0.0:
        raise RangeError("frequency_mhz", frequency_mhz, "above 0")
    return SPEED_OF_LIGHT_M_S / 1e6 / frequency_mhz


def fresnel_parameter(
    height_m: float, distance1_km: float, distance2_km: float, frequency_mhz: float
) -> float:
    """Return ν of an edge ``height_m`` [m] over the line (P.526-16 §4.1, eq. 26).

    ν = h √(2/λ · (1/d1 + 1/d2)).

    Raises
    ------
    RangeError
        For a distance or a frequency not above 0.

    Examples
    --------
    >>> round(fresnel_parameter(50.0, 10.0, 10.0, 600.0), 3)
    1.415
    """
    _check_distances(distance1_km, distance2_km)
    spread_per_m = (1.0 / distance1_km + 1.0 / distance2_km) / 1000.0
    return height_m * math.sqrt(2.0 / wavelength_m(frequency_mhz) * spread_per_m)


def fresnel_radius_m(
    distance1_km: npt.ArrayLike, distance2_km: npt.ArrayLike, frequency_mhz: float, zone: int = 1
) -> FloatArray:
    """Return the radius [m] of Fresnel zone ``zone`` at d1, d2 from the terminals (P.526-16 §2.1).

    R = √(n λ d1 d2 / (d1 + d2)); shape of the distances; 0 at a terminal.

    Raises
    ------
    RangeError
        For a negative distance, a frequency not above 0 or a zone below 1.
    """
    first, second = np.asarray(distance1_km, dtype=np.float64), np.asarray(distance2_km, dtype=np.float64)
    if np.any(first < 0.0) or np.any(second < 0.0) or np.any(first + second <= 0.0):
        raise RangeError("distance", "negative or both zero", "0 km or more, not both 0")
    if zone < 1:
        raise RangeError("zone", zone, "1 or more")
    spread_m = 1000.0 * first * second / (first + second)
    return cast(FloatArray, np.sqrt(zone * wavelength_m(frequency_mhz) * spread_m))


def _check_distances(*distances_km: float) -> None:
    for distance_km in distances_km:
        if not distance_km > 0.0:
            raise RangeError("distance", distance_km, "above 0 km")
