"""Panels around a mast: the pattern of all of them together, with their places and phases.

Left out: the mast itself and everything on it, the coupling between panels, and the cross-polarized part
that panels facing different ways radiate away from the horizon.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.stations.checks import require_distinct
from combe.stations.pattern import Pattern
from combe.stations.radiation import Radiator
from combe.stations.stacking import COUPLING_OMITTED

ComplexArray = npt.NDArray[np.complex128]

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
            path = np.exp(level * np.cos(np.radians(off_panel)))
            total += current * path * panel.field(off_panel, elevation_deg)
        return total

    return Radiator(
        f"ring of {len(bearings)} x {panel.name}",
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
