"""Stacks of equal elements: bays of yagis, troughs and panels of dipoles, and what stacking gains.

The pattern of a stack is the element's times the array factor; its directivity is integrated over the
sphere, so close bays gain less than their number suggests. Left out: mutual coupling, which changes the
currents of close elements.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal, get_args

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.stations.checks import require_choice
from combe.stations.elements import (
    FRONT_TO_BACK_DB,
    dipole_in_corner,
    dipole_over_reflector,
)
from combe.stations.linear_array import LinearArray, array_field, design_array
from combe.stations.radiation import Radiator, directivity_dbi

ComplexArray = npt.NDArray[np.complex128]
Direction = Literal["upwards", "sideways"]

COUPLING_OMITTED: Final = "mutual coupling: the currents are those of the design"


def stacked(element: Radiator, array: LinearArray, direction: Direction = "upwards") -> Radiator:
    """Return equal elements, all facing the boresight, on an upright or a level line across it.

    Parameters
    ----------
    element : Radiator
        Itself a stack, or a single element.
    array : LinearArray
        Spacing, currents and phases; a tilt of an array that runs sideways turns its beam to the left.
    direction : {"upwards", "sideways"}

    Raises
    ------
    RangeError
        For another direction, or a stack over 60 wavelengths long.
    """
    require_choice("direction of a stack", direction, get_args(Direction))

    def field(bearing_deg: FloatArray, elevation_deg: FloatArray) -> ComplexArray:
        cosine = np.sin(np.radians(elevation_deg))
        if direction == "sideways":
            cosine = np.cos(np.radians(elevation_deg)) * np.sin(np.radians(bearing_deg))
        return element.field(bearing_deg, elevation_deg) * array_field(array, cosine)

    count = len(array.amplitudes)
    return Radiator(
        _name(element.name, count, direction, array.spacing_wavelengths),
        field,
        element.size_wavelengths + (count - 1) * array.spacing_wavelengths,
        (*element.omits, *(() if COUPLING_OMITTED in element.omits else (COUPLING_OMITTED,))),
        element.offset_db,
    )


def _name(element: str, count: int, direction: Direction, spacing_wavelengths: float) -> str:
    """Name a stack; one element is no stack and has no spacing."""
    if count == 1:
        return element
    unit = "wavelength" if spacing_wavelengths == 1.0 else "wavelengths"
    return f"{count} x {element} {direction}, {spacing_wavelengths:g} {unit} apart"


def stacking_gain_db(
    element: Radiator, count: int, spacing_wavelengths: float, direction: Direction = "upwards"
) -> float:
    """Return what ``count`` equal bays in phase gain over one [dB], without the loss of their harness.

    Parameters
    ----------
    element : Radiator
    count : int
        1 to 64.
    spacing_wavelengths : float
        Between the middles of neighbours, 0.1 to 5.
    direction : {"upwards", "sideways"}

    Raises
    ------
    RangeError
        For a value out of range.
    """
    bays = stacked(element, design_array(count, spacing_wavelengths), direction)
    return directivity_dbi(bays) - directivity_dbi(element)


def dipole_trough(
    count: int,
    spacing_wavelengths: float = 1.0,
    *,
    polarization: str = "vertical",
    opening_deg: float = 90.0,
    distance_wavelengths: float = 0.5,
    front_to_back_db: float = FRONT_TO_BACK_DB,
) -> Radiator:
    """Return half-wave dipoles end to end along the edge of a trough, fed alike.

    An upright trough is for vertical, a level one for horizontal polarization.

    Parameters
    ----------
    count : int
        1 to 64.
    spacing_wavelengths : float
        Between the dipoles' middles, 0.1 to 5.
    polarization, opening_deg, distance_wavelengths, front_to_back_db
        See :func:`combe.stations.elements.dipole_in_corner`.

    Raises
    ------
    RangeError
        For a value that is not allowed.
    """
    element = dipole_in_corner(polarization, opening_deg, distance_wavelengths, front_to_back_db)
    direction: Direction = "upwards" if polarization == "vertical" else "sideways"
    trough = stacked(element, design_array(count, spacing_wavelengths), direction)
    return replace(trough, name=f"trough of {count} half-wave dipoles, {polarization}")


def dipole_panel(
    rows: int,
    spacing_wavelengths: float = 0.75,
    *,
    polarization: str = "horizontal",
    distance_wavelengths: float = 0.25,
    front_to_back_db: float = FRONT_TO_BACK_DB,
) -> Radiator:
    """Return half-wave dipoles one above another before a flat reflector, fed alike.

    Parameters
    ----------
    rows : int
        1 to 64.
    spacing_wavelengths : float
        0.1 to 5.
    polarization, distance_wavelengths, front_to_back_db
        See :func:`combe.stations.elements.dipole_over_reflector`.

    Raises
    ------
    RangeError
        For a value that is not allowed.
    """
    element = dipole_over_reflector(polarization, distance_wavelengths, front_to_back_db)
    panel = stacked(element, design_array(rows, spacing_wavelengths))
    return replace(panel, name=f"panel of {rows} half-wave dipoles, {polarization}")
