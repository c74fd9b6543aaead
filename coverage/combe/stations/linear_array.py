"""Linear arrays: array factor with amplitude taper, electrical beam tilt and null fill.

The elements stand on a line, equally spaced by s wavelengths, numbered from the lower (or left) end. Towards
the angle θ off the broadside the array factor is Σ a_n exp(j(2π s x_n sin θ + φ_n)) / Σ a_n, with x_n counted
from the middle of the line.

Left out: mutual coupling (the currents are taken as designed, whatever the feed makes of them), errors of
the feed, frequency (spacing and phases hold at the design frequency), and what stands near the array.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range

ComplexArray = npt.NDArray[np.complex128]
Angle = TypeVar("Angle", float, FloatArray)

MOST_ELEMENTS: Final = 64
SPACING_RANGE_WAVELENGTHS: Final = (0.1, 5.0)
TILT_RANGE_DEG: Final = (-30.0, 30.0)
EDGE_RANGE_DB: Final = (-40.0, 0.0)
FILL_RANGE_PERCENT: Final = (0.0, 60.0)
APERTURE_RANGE_WAVELENGTHS: Final = (0.25, 100.0)
HALF_POWER_SINC: Final = 1.3915573782515103
"""x at which sin(x)/x is the root of one half."""


@dataclass(frozen=True)
class LinearArray:
    """Equally spaced elements and what each is fed with.

    Parameters
    ----------
    spacing_wavelengths : float
        Between neighbours, 0.1 to 5.
    amplitudes : tuple of float, (n,)
        Relative current of each element, lower end first; 0 or more, not all 0; 1 to 64 of them.
    phases_deg : tuple of float, (n,)
        Phase lead of each element [degrees].

    Raises
    ------
    RangeError
        Naming the field.
    """

    spacing_wavelengths: float
    amplitudes: tuple[float, ...]
    phases_deg: tuple[float, ...]

    def __post_init__(self) -> None:
        require_range("spacing_wavelengths", self.spacing_wavelengths, *SPACING_RANGE_WAVELENGTHS)
        require_range("number of elements", len(self.amplitudes), 1, MOST_ELEMENTS)
        if len(self.phases_deg) != len(self.amplitudes):
            allowed = f"one per element, {len(self.amplitudes)}"
            raise RangeError("number of phases", len(self.phases_deg), allowed)
        for amplitude in self.amplitudes:
            require_range("amplitude of an element", amplitude, 0.0, 1e6)
        for phase_deg in self.phases_deg:
            require_range("phase of an element in degrees", phase_deg, -1e6, 1e6)
        if not any(self.amplitudes):
            raise RangeError("amplitudes", "all 0", "at least one element that is fed")


def design_array(
    count: int,
    spacing_wavelengths: float,
    *,
    edge_db: float = 0.0,
    tilt_deg: float = 0.0,
    null_fill_percent: float = 0.0,
) -> LinearArray:
    """Return a linear array with a taper, a tilt and a filled first null.

    Parameters
    ----------
    count : int
        Number of elements, 1 to 64.
    spacing_wavelengths : float
        0.1 to 5.
    edge_db : float
        Current at the ends against the middle [dB], −40 to 0: a cosine on a pedestal. 0 is uniform.
    tilt_deg : float
        Beam below the horizontal [degrees], −30 to 30, by phases that grow evenly along the line.
    null_fill_percent : float
        Field in the first nulls against the beam [%], 0 to 60. The upper half is given more current, the
        lower half less by the same part (the other way round gives the same pattern); the beam stays, and
        where the first null was, on both sides, this field is left. A uniform array keeps its even nulls.

    Raises
    ------
    RangeError
        For a value out of range, a null fill of an array without nulls, or more fill than the halves give.

    Examples
    --------
    >>> design_array(4, 1.0).amplitudes
    (1.0, 1.0, 1.0, 1.0)
    """
    if not isinstance(count, int):
        raise RangeError("number of elements", repr(count), f"a whole number, 1 to {MOST_ELEMENTS}")
    require_range("number of elements", count, 1, MOST_ELEMENTS)
    require_range("edge_db", edge_db, *EDGE_RANGE_DB)
    require_range("tilt_deg", tilt_deg, *TILT_RANGE_DEG)
    require_range("null_fill_percent", null_fill_percent, *FILL_RANGE_PERCENT)
    amplitudes = _pedestal_cosine(count, edge_db)
    # Fill is reckoned on the array without tilt, whose field is real; the phases of a tilt then turn it
    # whole.
    even = LinearArray(spacing_wavelengths, amplitudes, (0.0,) * count)
    if null_fill_percent > 0.0:
        amplitudes = _imbalanced(even, null_fill_percent / 100.0)
    # So much later does a wave under the tilt pass each next element; fed ahead by it, all add up there.
    lead_deg = 360.0 * spacing_wavelengths * math.sin(math.radians(tilt_deg))
    phases = tuple(float(place * lead_deg) for place in _places(count))
    return LinearArray(spacing_wavelengths, amplitudes, phases)


def array_field(array: LinearArray, sine: npt.ArrayLike) -> ComplexArray:
    """Return the complex array factor, 1 where all elements add in phase.

    Parameters
    ----------
    array : LinearArray
    sine : array of any shape
        Cosine of the angle to the line, which for a vertical line is the sine of the elevation.

    Returns
    -------
    array of complex, like ``sine``
    """
    turn = 2j * np.pi * array.spacing_wavelengths * np.asarray(sine, dtype=np.float64)
    total = np.zeros(turn.shape, dtype=np.complex128)
    for place, amplitude, phase_deg in zip(
        _places(len(array.amplitudes)), array.amplitudes, array.phases_deg, strict=True
    ):
        total += amplitude * np.exp(turn * place + 1j * math.radians(phase_deg))
    return total / sum(array.amplitudes)


def array_factor_db(array: LinearArray, elevation_deg: Angle) -> Angle:
    """Return the array factor [dB], 0 where all elements add in phase, −inf in a null.

    Parameters
    ----------
    array : LinearArray
        Standing upright.
    elevation_deg : float or array of any shape
        Degrees above the horizontal.

    Examples
    --------
    >>> round(array_factor_db(design_array(4, 1.0), 5.0), 2)
    -1.7
    """
    with np.errstate(divide="ignore"):
        level = 20.0 * np.log10(np.abs(array_field(array, np.sin(np.radians(elevation_deg)))))
    return float(level) if isinstance(elevation_deg, int | float) else level


def _places(count: int) -> FloatArray:
    """Return the place of each element on the line, in spacings from its middle."""
    # Counted from the middle, for there an array that is even about it has a real field.
    return np.arange(count, dtype=np.float64) - (count - 1) / 2.0


def _pedestal_cosine(count: int, edge_db: float) -> tuple[float, ...]:
    edge = 10.0 ** (edge_db / 20.0)
    # A single element has no ends: it stands in the middle, with the full current.
    outward = _places(count) / max((count - 1) / 2.0, 0.5)
    return tuple(float(value) for value in edge + (1.0 - edge) * np.cos(np.pi / 2.0 * outward))


def _imbalanced(array: LinearArray, fill: float) -> tuple[float, ...]:
    """Return the amplitudes whose halves differ so that the first null of ``array`` holds ``fill``.

    About the middle of the line the field of the two halves is C + jS and C − jS. The null is where
    C = 0; with halves of 1 + u and 1 − u the field there is u·S, and the beam (S = 0) is as before.
    """
    places = _places(len(array.amplitudes))
    sine = _first_null_sine(array)
    turns = 2.0 * math.pi * array.spacing_wavelengths * sine * places
    quadrature = abs(float(np.sum(array.amplitudes * np.sign(places) * np.sin(turns))))
    # u·S against the beam, which is the sum of all currents.
    part = fill * sum(array.amplitudes) / quadrature
    if part > 1.0:
        most = 100.0 * fill / part
        raise RangeError("null_fill_percent", 100.0 * fill, f"0 to {most:.1f} for this taper", "taper less")
    # The middle one of an odd number belongs to neither half, and its sign is 0.
    return tuple(float(a * (1.0 + part * np.sign(x))) for a, x in zip(array.amplitudes, places, strict=True))


def _first_null_sine(array: LinearArray) -> float:
    from scipy.optimize import brentq

    # From the beam outwards; the field begins at 1, so the first place at or below 0 has one above it before
    # it.
    sines = np.linspace(0.0, 1.0, 4001)
    levels = np.real(array_field(array, sines))
    crossed = np.flatnonzero(levels <= 0.0)
    if not crossed.size:
        raise RangeError("null_fill_percent", "asked of an array without nulls", "0, or a longer array")
    pair: Sequence[float] = (sines[crossed[0] - 1], sines[crossed[0]])
    return float(brentq(lambda sine: float(np.real(array_field(array, sine))), *pair, xtol=1e-14))


def aperture_gain_dbi(aperture_wavelengths: float) -> float:
    """Return the directivity [dBi] of a uniform line of isotropic sources, in phase and without gaps.

    D = 2 / ∫ (sin(πAu)/(πAu))² du over u = −1 to 1, with u the sine of the elevation; the integral is
    2 (Si(2πA) − sin²(πA)/(πA)) / (πA). For a long aperture D is about 2A. Omnidirectional in azimuth; the
    pattern of the elements and all losses are left out.

    Parameters
    ----------
    aperture_wavelengths : float
        Length A of the line [wavelengths], 0.25 to 100.

    Raises
    ------
    RangeError
        Outside that range.

    Examples
    --------
    >>> round(aperture_gain_dbi(4.0), 2)
    9.14
    """
    _require_aperture(aperture_wavelengths)
    x = math.pi * aperture_wavelengths
    # SciPy is loaded where it is used: few questions are asked of arrays.
    from scipy.special import sici

    sine_integral = float(sici(2.0 * x)[0])
    return 10.0 * math.log10(x / (sine_integral - math.sin(x) ** 2 / x))


def aperture_beamwidth_deg(aperture_wavelengths: float) -> float:
    """Return the half-power beamwidth [degrees]: 2 asin(0.4429/A), about 50.8/A for a long aperture.

    Raises
    ------
    RangeError
        For an aperture under 0.5 wavelengths, whose beam does not fall by 3 dB, or over 100.
    """
    require_range("aperture_wavelengths", aperture_wavelengths, 0.5, APERTURE_RANGE_WAVELENGTHS[1])
    return 2.0 * math.degrees(math.asin(HALF_POWER_SINC / (math.pi * aperture_wavelengths)))


def aperture_null_deg(aperture_wavelengths: float, order: int = 1) -> float:
    """Return the angle of a null off the beam [degrees]: asin(order/A).

    Raises
    ------
    RangeError
        For an aperture out of range, or an order that is no null in front of the line (1 to A).
    """
    _require_aperture(aperture_wavelengths)
    require_range("order of a null", order, 1, aperture_wavelengths, "a short aperture has few nulls")
    return math.degrees(math.asin(order / aperture_wavelengths))


def _require_aperture(aperture_wavelengths: float) -> None:
    require_range("aperture_wavelengths", aperture_wavelengths, *APERTURE_RANGE_WAVELENGTHS)
