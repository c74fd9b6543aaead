"""Single elements: half-wave dipole, dipole before a reflector or in a trough, an aerial as described.

Reflectors are counted by images, as of endless, perfectly conducting planes; what leaks behind a real one is
a stated floor. A corner of 180/n degrees holds 2n dipoles, images included, of alternating sign around its
edge (a flat reflector is the corner of 180 degrees).
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_choice, require_range
from combe.stations.radiation import Field, Radiator, directivity_dbi
from combe.words import tell

ComplexArray = npt.NDArray[np.complex128]

POLARIZATIONS: Final = ("horizontal", "vertical")
OPENINGS_DEG: Final = (180.0, 90.0, 60.0, 45.0)
"""Openings of a corner for which the images close: 180 divided by 1, 2, 3 and 4."""

FRONT_TO_BACK_DB: Final = 20.0
"""What a reflector about a wavelength wide leaves behind it (common practice, no source)."""

DISTANCE_RANGE_WAVELENGTHS: Final = (0.05, 2.0)
DIPOLE_OMITS: Final = ("the dipole is thin and without loss",)
REFLECTOR_OMITS: Final = (
    *DIPOLE_OMITS,
    "the reflector is endless and perfect; only a stated level leaks behind it",
)
DESCRIBED_OMITS: Final = ("side lobes of the element: its shape is a smooth beam of the stated widths",)
LARGEST_GAIN_EXCESS_DB: Final = 2.0
"""How far a stated gain may lie over the directivity of the stated beam (our own rule)."""


def isotropic() -> Radiator:
    """Return a source equal in all directions, the yardstick of array factors."""

    def field(bearing_deg: FloatArray, elevation_deg: FloatArray) -> ComplexArray:
        return np.ones(np.broadcast(bearing_deg, elevation_deg).shape, dtype=np.complex128)

    return Radiator("isotropic source", field, 0.0)


def half_wave_dipole(polarization: str) -> Radiator:
    """Return a half-wave dipole: upright, or level and broadside to the boresight.

    Field cos(π/2 cos γ)/sin γ at the angle γ to the rod.

    Raises
    ------
    RangeError
        Unless ``polarization`` is horizontal or vertical.
    """
    require_choice("polarization of a dipole", polarization, POLARIZATIONS)

    def field(bearing_deg: FloatArray, elevation_deg: FloatArray) -> ComplexArray:
        along = _cosines(bearing_deg, elevation_deg)[_axis(polarization)]
        return _rod(along).astype(np.complex128)

    return Radiator(
        tell("half-wave dipole, {polarization}", polarization=polarization), field, 0.5, DIPOLE_OMITS
    )


def dipole_over_reflector(
    polarization: str, distance_wavelengths: float = 0.25, front_to_back_db: float = FRONT_TO_BACK_DB
) -> Radiator:
    """Return a half-wave dipole before a flat reflector, cell of a panel; see :func:`dipole_in_corner`."""
    return dipole_in_corner(polarization, 180.0, distance_wavelengths, front_to_back_db)


def dipole_in_corner(
    polarization: str,
    opening_deg: float = 90.0,
    distance_wavelengths: float = 0.5,
    front_to_back_db: float = FRONT_TO_BACK_DB,
) -> Radiator:
    """Return a half-wave dipole along the edge of a corner reflector, by images.

    Parameters
    ----------
    polarization : {"horizontal", "vertical"}
        Of the dipole; the corner's edge is parallel to it.
    opening_deg : float
        Angle between the planes: 180, 90, 60 or 45.
    distance_wavelengths : float
        From the edge (or the flat reflector) to the dipole, 0.05 to 2.
    front_to_back_db : float
        Level behind the reflector under that of the beam [dB], 6 to 80.

    Returns
    -------
    Radiator
        Its gain is that of an endless reflector, and so an upper guide for planes shorter than about twice
        the distance.

    Raises
    ------
    RangeError
        For a value that is not allowed.
    """
    require_choice("polarization of a dipole", polarization, POLARIZATIONS)
    if opening_deg not in OPENINGS_DEG:
        raise RangeError("opening_deg", opening_deg, "180, 90, 60 or 45")
    require_range("distance_wavelengths", distance_wavelengths, *DISTANCE_RANGE_WAVELENGTHS)
    require_range("front_to_back_db", front_to_back_db, 6.0, 80.0)
    field = _corner_field(polarization, round(180.0 / opening_deg), distance_wavelengths, front_to_back_db)
    name = (
        "flat reflector"
        if opening_deg == 180.0
        else tell("{opening_deg:g} degree corner", opening_deg=opening_deg)
    )
    return Radiator(
        tell("half-wave dipole before a {name}, {polarization}", name=name, polarization=polarization),
        field,
        0.5 + 2.0 * distance_wavelengths,
        REFLECTOR_OMITS,
    )


def described_element(
    gain_dbi: float,
    horizontal_beamwidth_deg: float,
    vertical_beamwidth_deg: float,
    front_to_back_db: float = FRONT_TO_BACK_DB,
    name: str = "described yagi",
) -> Radiator:
    """Return an aerial known by its gain and beamwidths alone, such as a yagi.

    In each plane the field is a power of cos(angle/2) that gives the stated half-power width; towards the
    back it stays at the stated floor. The stated gain holds; the shape only serves to place it in arrays.

    Parameters
    ----------
    gain_dbi : float
        −5 to 30.
    horizontal_beamwidth_deg, vertical_beamwidth_deg : float
        Half-power widths, 5 to 170.
    front_to_back_db : float
        6 to 80.

    Raises
    ------
    RangeError
        For a value out of range, or a gain over 2 dB above what so wide a beam can have.
    """
    require_range("gain_dbi of an element", gain_dbi, -5.0, 30.0)
    require_range("horizontal_beamwidth_deg", horizontal_beamwidth_deg, 5.0, 170.0)
    require_range("vertical_beamwidth_deg", vertical_beamwidth_deg, 5.0, 170.0)
    require_range("front_to_back_db", front_to_back_db, 6.0, 80.0)
    field = _described_field(horizontal_beamwidth_deg, vertical_beamwidth_deg, front_to_back_db)
    most = directivity_dbi(Radiator(name, field, 0.5))
    if gain_dbi > most + LARGEST_GAIN_EXCESS_DB:
        allowed = f"up to {most + LARGEST_GAIN_EXCESS_DB:.1f} dBi for these beamwidths"
        raise RangeError("gain_dbi of an element", gain_dbi, allowed, "check that it is not in another unit")
    return Radiator(name, field, 0.5, DESCRIBED_OMITS, gain_dbi - most)


def _corner_field(polarization: str, order: int, distance: float, front_to_back_db: float) -> Field:
    floor = 10.0 ** (-front_to_back_db / 20.0)
    strongest = _strongest_in_corner(order, distance)

    def field(bearing_deg: FloatArray, elevation_deg: FloatArray) -> ComplexArray:
        forward, right, up = _cosines(bearing_deg, elevation_deg)
        along, across = (up, right) if polarization == "vertical" else (right, up)
        turn = np.arctan2(across, forward)
        # Off the plane across the rod the ways from dipole and images differ by less: by the sine of the
        # angle to it.
        image = _images(turn, np.sqrt(np.maximum(1.0 - along**2, 0.0)), order, distance)
        # Images stand for the planes only between them; behind, what leaks round the edges is a stated
        # level.
        inside = np.abs(turn) < np.pi / (2.0 * order)
        seen = np.where(inside & (np.abs(image) > floor * strongest), image, floor * strongest)
        return (_rod(along) * seen).astype(np.complex128)

    return field


def _images(turn: FloatArray, radius: FloatArray, order: int, distance: float) -> FloatArray:
    """Return the real factor of the dipole and its 2n − 1 images at angles kπ/n with signs (−1)^k.

    Opposite members are equal (n even: 2 cos) or opposite (n odd: 2 sin, the factor j left out), so n
    terms do.
    """
    wave = 2.0 * np.pi * distance * radius
    opposite = np.cos if order % 2 == 0 else np.sin
    total = np.zeros(np.broadcast(turn, radius).shape)
    for k in range(order):
        total = total + (-1.0) ** k * 2.0 * opposite(wave * np.cos(turn - k * np.pi / order))
    return total


def _strongest_in_corner(order: int, distance: float) -> float:
    turn = np.linspace(-np.pi / (2.0 * order), np.pi / (2.0 * order), 721)
    return float(np.max(np.abs(_images(turn, np.ones_like(turn), order, distance))))


def _described_field(horizontal_deg: float, vertical_deg: float, front_to_back_db: float) -> Field:
    floor = 10.0 ** (-front_to_back_db / 20.0)
    powers = [_power_of_half_angle(width) for width in (horizontal_deg, vertical_deg)]

    def field(bearing_deg: FloatArray, elevation_deg: FloatArray) -> ComplexArray:
        # Half the angle, so that the power falls all the way round to the back and has no second beam.
        sideways = np.abs(np.cos(np.radians(bearing_deg) / 2.0)) ** powers[0]
        upwards = np.abs(np.cos(np.radians(elevation_deg) / 2.0)) ** powers[1]
        beam: FloatArray = np.maximum(sideways * upwards, floor)
        return beam.astype(np.complex128)

    return field


def _power_of_half_angle(beamwidth_deg: float) -> float:
    """Return q of cos(angle/2)^q that has fallen by 3 dB at half the beamwidth."""
    # The half-power point lies at half the width, and the law takes half of that angle: a quarter of the
    # width.
    return -0.5 * math.log(2.0) / math.log(math.cos(math.radians(beamwidth_deg / 4.0)))


def _cosines(bearing_deg: FloatArray, elevation_deg: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the direction cosines forward, to the right, and up."""
    bearing, elevation = np.radians(bearing_deg), np.radians(elevation_deg)
    level = np.cos(elevation)
    # Nothing of the bearing is in the third; adding 0 gives it the shape of the others.
    return level * np.cos(bearing), level * np.sin(bearing), np.sin(elevation) + 0.0 * bearing


def _axis(polarization: str) -> int:
    return 2 if polarization == "vertical" else 1


def _rod(along: FloatArray) -> FloatArray:
    """Return the half-wave dipole's field at the cosine of the angle to its rod; 0 along the rod."""
    # Along the rod the formula is 0/0; its limit is 0, which the hair above 0 gives.
    across = np.sqrt(np.maximum(1.0 - along**2, 1e-12))
    factor: FloatArray = np.cos(np.pi / 2.0 * along) / across
    return factor
