"""Several elements as one aerial: stacks of yagis, troughs and panels, and panels around a mast.

The pattern of a stack is the element's times the array factor; its directivity is integrated over the
sphere, so close bays gain less than their number suggests. Left out: mutual coupling, which changes the
currents of close elements.

Of a ring around a mast also the mast itself is left out with everything on it, and the cross-polarized part
that panels facing different ways radiate away from the horizon.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal, get_args

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_choice, require_distinct, require_range
from combe.stations.elements import (
    FRONT_TO_BACK_DB,
    dipole_in_corner,
    dipole_over_reflector,
)
from combe.stations.linear_array import LinearArray, array_field, design_array
from combe.stations.pattern import Pattern
from combe.stations.radiation import Radiator, directivity_dbi
from combe.words import tell

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
        # Too much where the element is wide and the line upright; it only makes the steps finer.
        element.size_wavelengths + (count - 1) * array.spacing_wavelengths,
        (*element.omits, *(() if COUPLING_OMITTED in element.omits else (COUPLING_OMITTED,))),
        element.offset_db,
    )


def _name(element: str, count: int, direction: Direction, spacing_wavelengths: float) -> str:
    """Name a stack; one element is no stack and has no spacing."""
    if count == 1:
        return element
    unit = "wavelength" if spacing_wavelengths == 1.0 else "wavelengths"
    return tell(
        "{count} x {element} {direction}, {spacing_wavelengths:g} {unit} apart",
        count=count,
        element=element,
        direction=direction,
        spacing_wavelengths=spacing_wavelengths,
        unit=unit,
    )


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
    return replace(
        trough,
        name=tell(
            "trough of {count} half-wave dipoles, {polarization}", count=count, polarization=polarization
        ),
    )


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
    return replace(
        panel,
        name=tell("panel of {rows} half-wave dipoles, {polarization}", rows=rows, polarization=polarization),
    )


MOST_PANELS: Final = 16
LARGEST_RADIUS_WAVELENGTHS: Final = 20.0
RING_OMITS: Final = (
    COUPLING_OMITTED,
    "the mast between the panels",
    "cross polarization of panels that face different ways, away from the horizon",
)


def panel_ring(
    panel: Radiator,
    bearings_deg: Sequence[float],
    radius_wavelengths: float,
    *,
    amplitudes: Sequence[float] | None = None,
    phases_deg: Sequence[float] | None = None,
) -> Radiator:
    """Return equal panels on a circle, each facing outwards.

    Parameters
    ----------
    panel : Radiator
        Facing its boresight.
    bearings_deg : sequence of float, (n,)
        Where each panel stands and faces [degrees], 0 to 360; 1 to 16, each once.
    radius_wavelengths : float
        From the middle of the mast to the phase centre of a panel, 0 to 20. The ripple between panels
        grows with it.
    amplitudes : sequence of float, (n,), optional
        Relative field of each; all alike unless given.
    phases_deg : sequence of float, (n,), optional
        Phase lead of each [degrees]; 0 unless given.

    Returns
    -------
    Radiator
        Its boresight is north.

    Raises
    ------
    RangeError
        Naming the field.

    Examples
    --------
    >>> from combe.stations.stacking import dipole_panel
    >>> panel_ring(dipole_panel(4), (0.0, 120.0, 240.0), 0.5).name
    'ring of 3 x panel of 4 half-wave dipoles, horizontal'
    """
    bearings = [float(bearing) for bearing in bearings_deg]
    currents = _currents(bearings, amplitudes, phases_deg)
    require_range("radius_wavelengths", radius_wavelengths, 0.0, LARGEST_RADIUS_WAVELENGTHS)

    def field(bearing_deg: FloatArray, elevation_deg: FloatArray) -> ComplexArray:
        level = 2j * np.pi * radius_wavelengths * np.cos(np.radians(elevation_deg))
        total = np.zeros(np.broadcast(bearing_deg, elevation_deg).shape, dtype=np.complex128)
        for bearing, current in zip(bearings, currents, strict=True):
            off_panel = bearing_deg - bearing
            # A panel stands before the mast's middle by the radius, and leads by what of that lies along the
            # way.
            path = np.exp(level * np.cos(np.radians(off_panel)))
            total += current * path * panel.field(off_panel, elevation_deg)
        return total

    return Radiator(
        tell("ring of {bearings} x {name}", bearings=len(bearings), name=panel.name),
        field,
        panel.size_wavelengths + 2.0 * radius_wavelengths,
        (*(omit for omit in panel.omits if omit not in RING_OMITS), *RING_OMITS),
        panel.offset_db,
    )


def ripple_db(pattern: Pattern) -> float:
    """Return how far the pattern falls below its maximum [dB], which tells how round it is."""
    return max(pattern.relative_db) - min(pattern.relative_db)


def _currents(
    bearings_deg: Sequence[float], amplitudes: Sequence[float] | None, phases_deg: Sequence[float] | None
) -> ComplexArray:
    require_range("number of panels", len(bearings_deg), 1, MOST_PANELS)
    for bearing in bearings_deg:
        require_range("bearing of a panel", bearing, 0.0, 360.0)
    require_distinct("bearing of a panel", (bearing % 360.0 for bearing in bearings_deg))
    size = _one_each("amplitude", amplitudes, len(bearings_deg), 1.0, (0.0, 1e6))
    phase = _one_each("phase in degrees", phases_deg, len(bearings_deg), 0.0, (-1e6, 1e6))
    if not np.any(size):
        raise RangeError("amplitudes of the panels", "all 0", "at least one panel that is fed")
    return (size * np.exp(1j * np.radians(phase))).astype(np.complex128)


def _one_each(
    what: str, values: Sequence[float] | None, count: int, usual: float, limits: tuple[float, float]
) -> FloatArray:
    if values is None:
        return np.full(count, usual)
    if len(values) != count:
        raise RangeError(f"number of values of {what}", len(values), f"one per panel, {count}")
    for value in values:
        require_range(f"{what} of a panel", value, *limits)
    return np.asarray(values, dtype=np.float64)
