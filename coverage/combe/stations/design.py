"""An aerial described by the few numbers that a planner chooses, turned into what radiates."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np

from combe.decibels import FloatArray
from combe.errors import RangeError, require_choice
from combe.stations.aerial import Aerial, Level, Lobe, Minimum, first_minimum, lobes_beside, work_out_aerial
from combe.stations.elements import (
    FRONT_TO_BACK_DB,
    described_element,
    dipole_in_corner,
    dipole_over_reflector,
    half_wave_dipole,
)
from combe.stations.linear_array import LinearArray, design_array
from combe.stations.radiation import Peak, Radiator, find_peak, with_loss
from combe.stations.stacking import Direction, panel_ring, ripple_db, stacked

DesignKind = Literal["dipoles", "yagis", "trough", "panels"]

_OF_KIND: Final[dict[DesignKind, tuple[str, ...]]] = {
    "dipoles": ("direction",),
    "yagis": (
        "direction",
        "gain_dbi",
        "horizontal_beamwidth_deg",
        "vertical_beamwidth_deg",
        "front_to_back_db",
    ),
    "trough": ("opening_deg", "distance_wavelengths", "front_to_back_db"),
    "panels": (
        "distance_wavelengths",
        "front_to_back_db",
        "bearings_deg",
        "radius_wavelengths",
        "amplitudes",
        "phases_deg",
    ),
}
"""Which of the fields that not all kinds have a kind has."""

_YAGI_NEEDS: Final = ("gain_dbi", "horizontal_beamwidth_deg", "vertical_beamwidth_deg")
_RING_ONLY: Final = ("radius_wavelengths", "amplitudes", "phases_deg")
TROUGH_DISTANCE_WAVELENGTHS: Final = 0.5
PANEL_DISTANCE_WAVELENGTHS: Final = 0.25
ONE_SPACING_WAVELENGTHS: Final = 1.0
GRATING_DB: Final = 3.0
"""A lobe so far under the beam, or less, is told as a grating lobe."""
_FAINTEST: Final = 1e-10


@dataclass(frozen=True)
class AerialDesign:
    """Elements on a line, alone or as panels around a mast.

    Parameters
    ----------
    kind : {"dipoles", "yagis", "trough", "panels"}
        Bare half-wave dipoles; yagis known by gain and beamwidths; dipoles end to end in a corner reflector;
        dipoles one above another before a flat reflector, on one side or around a mast.
    count : int
        On the line, 1 to 64.
    spacing_wavelengths : float
        Between the middles of neighbours.
    polarization : {"horizontal", "vertical"}
    edge_db, tilt_deg, null_fill_percent : float
        Taper, beam tilt and null fill; see :func:`combe.stations.linear_array.design_array`.
    boresight_deg : float
        Bearing of the aerial's front [degrees from true north]; with panels around a mast, added to theirs.
    loss_db : float
        Of harness and conductors [dB].
    direction, gain_dbi, horizontal_beamwidth_deg, vertical_beamwidth_deg, front_to_back_db, opening_deg
        See :mod:`combe.stations.stacking` and :mod:`combe.stations.elements`; None takes what is usual there.
    distance_wavelengths : float or None
        From the dipole to its reflector.
    bearings_deg : tuple of float
        Of the panels around a mast; none for a single panel.
    radius_wavelengths, amplitudes, phases_deg
        See :func:`combe.stations.stacking.panel_ring`.

    Raises
    ------
    RangeError
        For a field that the kind does not have, or lacks; other values are checked when it is worked out.
    """

    kind: DesignKind
    count: int = 1
    spacing_wavelengths: float = ONE_SPACING_WAVELENGTHS
    polarization: str = "horizontal"
    edge_db: float = 0.0
    tilt_deg: float = 0.0
    null_fill_percent: float = 0.0
    boresight_deg: float = 0.0
    loss_db: float = 0.0
    direction: Direction | None = None
    gain_dbi: float | None = None
    horizontal_beamwidth_deg: float | None = None
    vertical_beamwidth_deg: float | None = None
    front_to_back_db: float | None = None
    opening_deg: float | None = None
    distance_wavelengths: float | None = None
    bearings_deg: tuple[float, ...] = ()
    radius_wavelengths: float | None = None
    amplitudes: tuple[float, ...] = ()
    phases_deg: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        require_choice("kind of an aerial", self.kind, get_args(DesignKind))
        for field in {name for names in _OF_KIND.values() for name in names} - set(_OF_KIND[self.kind]):
            if getattr(self, field) not in (None, ()):
                raise RangeError(f"{field} of {self.kind}", getattr(self, field), "none", "leave it out")
        if self.kind == "yagis":
            _require(self, _YAGI_NEEDS)
        if self.bearings_deg:
            _require(self, ("radius_wavelengths",))
        elif any(getattr(self, field) not in (None, ()) for field in _RING_ONLY):
            raise RangeError("bearings_deg of panels", "missing", "one for each panel around the mast")


@dataclass(frozen=True)
class WorkedOutAerial:
    """A design worked out; minima beside the beam in the vertical plane, None where there is none.

    ``ripple_db`` is how far the horizontal pattern falls below its maximum, which tells how round it is.
    ``grating_lobes`` are lobes along the line of elements within 3 dB of the beam: by elevation of an upright
    line, by bearing off the boresight of one that runs sideways.
    """

    aerial: Aerial
    null_above: Minimum | None
    null_below: Minimum | None
    ripple_db: float
    grating_lobes: tuple[Lobe, ...] = ()


def work_out_design(design: AerialDesign) -> WorkedOutAerial:
    """Return gain, patterns, widths and first minima of a design; RangeError for a value out of range."""
    radiator = radiator_of(design)
    aerial, peak = work_out_aerial(radiator, design.boresight_deg), find_peak(radiator)
    above, below = (_minimum(radiator, peak, way) for way in (1.0, -1.0))
    lobes = grating_lobes(design, radiator, peak)
    return WorkedOutAerial(aerial, above, below, ripple_db(aerial.horizontal_pattern), lobes)


def line_direction(design: AerialDesign) -> Direction:
    """Return how the line of elements runs."""
    if design.kind == "trough":
        return "upwards" if design.polarization == "vertical" else "sideways"
    return design.direction or "upwards"


def grating_lobes(design: AerialDesign, radiator: Radiator, peak: Peak) -> tuple[Lobe, ...]:
    """Return the lobes of the line of elements within 3 dB of the beam, strongest first.

    Elements a wavelength and more apart add in phase in other directions too.
    """
    if design.count == 1:
        return ()
    cut, beam_deg = _vertical_cut(radiator, peak), peak.elevation_deg
    if line_direction(design) == "sideways":
        cut, beam_deg = _horizontal_cut(radiator, peak), (peak.bearing_deg + 180.0) % 360.0 - 180.0
    lobes = lobes_beside(cut, beam_deg, GRATING_DB)
    return tuple(sorted(lobes, key=lambda lobe: (-round(lobe.level_db, 6), abs(lobe.angle_deg))))


def clear_spacing_wavelengths(design: AerialDesign) -> float:
    """Return the spacing from which on a grating lobe stands: 1/(1 + |sin tilt|) wavelengths."""
    # s (sin θ + |sin tilt|) = 1 first at sin θ = 1, along the line: there elements are a whole wave apart
    # again.
    return 1.0 / (1.0 + abs(math.sin(math.radians(design.tilt_deg))))


def radiator_of(design: AerialDesign) -> Radiator:
    """Return what a design radiates, its front to the north; RangeError for a value out of range."""
    array = design_array(
        design.count,
        design.spacing_wavelengths,
        edge_db=design.edge_db,
        tilt_deg=design.tilt_deg,
        null_fill_percent=design.null_fill_percent,
    )
    return with_loss(_MAKERS[design.kind](design, array), design.loss_db)


def _dipoles(design: AerialDesign, array: LinearArray) -> Radiator:
    return stacked(half_wave_dipole(design.polarization), array, design.direction or "upwards")


def _yagis(design: AerialDesign, array: LinearArray) -> Radiator:
    gain_dbi, horizontal_deg, vertical_deg = (float(getattr(design, field)) for field in _YAGI_NEEDS)
    element = described_element(gain_dbi, horizontal_deg, vertical_deg, _front_to_back_db(design))
    return stacked(element, array, design.direction or "upwards")


def _trough(design: AerialDesign, array: LinearArray) -> Radiator:
    element = dipole_in_corner(
        design.polarization,
        90.0 if design.opening_deg is None else design.opening_deg,
        _distance(design, TROUGH_DISTANCE_WAVELENGTHS),
        _front_to_back_db(design),
    )
    return stacked(element, array, "upwards" if design.polarization == "vertical" else "sideways")


def _panels(design: AerialDesign, array: LinearArray) -> Radiator:
    distance = _distance(design, PANEL_DISTANCE_WAVELENGTHS)
    panel = stacked(
        dipole_over_reflector(design.polarization, distance, _front_to_back_db(design)), array, "upwards"
    )
    if not design.bearings_deg:
        return panel
    return panel_ring(
        panel,
        design.bearings_deg,
        design.radius_wavelengths or 0.0,
        amplitudes=design.amplitudes or None,
        phases_deg=design.phases_deg or None,
    )


_MAKERS: Final[dict[DesignKind, Callable[[AerialDesign, LinearArray], Radiator]]] = {
    "dipoles": _dipoles,
    "yagis": _yagis,
    "trough": _trough,
    "panels": _panels,
}


def _front_to_back_db(design: AerialDesign) -> float:
    return FRONT_TO_BACK_DB if design.front_to_back_db is None else design.front_to_back_db


def _distance(design: AerialDesign, usual: float) -> float:
    return usual if design.distance_wavelengths is None else design.distance_wavelengths


def _minimum(radiator: Radiator, peak: Peak, way: float) -> Minimum | None:
    """Return the first minimum above (1) or below (−1) the beam, at the beam's bearing."""
    try:
        return first_minimum(
            # Up to the zenith above the beam, and to the nadir below it.
            _vertical_cut(radiator, peak),
            peak.elevation_deg,
            way * (90.0 - way * peak.elevation_deg),
        )
    except RangeError:
        return None


def _vertical_cut(radiator: Radiator, peak: Peak) -> Level:
    return lambda elevation_deg: _level_db(
        radiator, np.full_like(elevation_deg, peak.bearing_deg), elevation_deg
    )


def _horizontal_cut(radiator: Radiator, peak: Peak) -> Level:
    return lambda bearing_deg: _level_db(radiator, bearing_deg, np.full_like(bearing_deg, peak.elevation_deg))


def _level_db(radiator: Radiator, bearing_deg: FloatArray, elevation_deg: FloatArray) -> FloatArray:
    field = np.abs(radiator.field(bearing_deg, elevation_deg))
    level_db: FloatArray = 20.0 * np.log10(np.maximum(np.broadcast_to(field, bearing_deg.shape), _FAINTEST))
    return level_db


def _require(design: AerialDesign, fields: tuple[str, ...]) -> None:
    for field in fields:
        if getattr(design, field) is None:
            raise RangeError(f"{field} of {design.kind}", "missing", "a number", "it is needed here")
