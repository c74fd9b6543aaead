"""What arrays do by other roads than the package takes: for the tests of stations."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.stations.aerial import Level, Minimum, first_minimum, half_power_beamwidth_deg, lobes
from combe.stations.linear_array import LinearArray, array_factor_db

_EQUAL_DB = 0.01


def aperture_level_db(aperture_wavelengths: float, elevation_deg: npt.ArrayLike) -> np.ndarray:
    """Return the level of a uniform aperture relative to its beam: 20 log |sin(x)/x|, x = πA sin θ."""
    sine = np.sin(np.radians(elevation_deg))
    with np.errstate(divide="ignore"):
        return 20.0 * np.log10(np.abs(np.sinc(aperture_wavelengths * sine)))


def isotropic_directivity_dbi(array: LinearArray) -> float:
    """Return the directivity [dBi] of the array with isotropic elements, from the exact double sum.

    D = (Σ a)² |F|²max / ΣΣ a_m a_n cos(φ_m − φ_n) sinc(2 s (m − n)), the radiated power of isotropic
    sources in closed form; |F| is 1 in the beam as long as the beam is in front of the array.
    """
    current = np.asarray(array.amplitudes) * np.exp(1j * np.radians(array.phases_deg))
    number = np.arange(len(current))
    mutual = np.sinc(2.0 * array.spacing_wavelengths * (number[:, None] - number[None, :]))
    power = float(np.real(np.conj(current) @ mutual @ current))
    return 10.0 * math.log10(sum(array.amplitudes) ** 2 / power)


def beam_elevation_deg(array: LinearArray) -> float:
    """Return the elevation [degrees] of the array's main beam, the one nearest to the horizontal."""
    found = lobes(_level(array))
    strongest = max(lobe.level_db for lobe in found)
    return min((lobe.angle_deg for lobe in found if lobe.level_db >= strongest - _EQUAL_DB), key=abs)


def array_beamwidth_deg(array: LinearArray) -> float:
    """Return the half-power beamwidth [degrees] of the array factor.

    Raises
    ------
    RangeError
        When the beam does not fall by 3 dB, as of a very short array.
    """
    return half_power_beamwidth_deg(_level(array), beam_elevation_deg(array), 60.0)


def minimum_below_beam(array: LinearArray) -> Minimum:
    """Return where below the beam the first null (or filled null) lies, and its level against the beam.

    Raises
    ------
    RangeError
        When there is none.
    """
    beam_deg = beam_elevation_deg(array)
    return first_minimum(_level(array), beam_deg, -90.0 - beam_deg)


def _level(array: LinearArray) -> Level:
    return lambda elevation_deg: array_factor_db(array, elevation_deg)
