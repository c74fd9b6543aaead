"""An aerial worked out from its parts: gain, patterns in both planes, widths, and what was left out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from combe.errors import RangeError
from combe.stations.beam import pattern_beamwidth_deg
from combe.stations.pattern import Pattern, PatternKind
from combe.stations.radiation import Peak, Radiator, find_peak, gain_dbd, gain_dbi, turned

DEEPEST_DB: Final = -60.0
"""Floor of the tables; nulls of a built aerial are shallower still (our own choice)."""

SEPARABLE_OMITTED: Final = "directions off both cuts: the gain there is taken as the sum of the two patterns"

_STEPS_DEG: Final = (1.0, 0.5, 0.25, 0.2, 0.1)
_STEPS_PER_LOBE: Final = 12.0


@dataclass(frozen=True)
class Aerial:
    """The result of a design, ready for a station.

    ``gain_dbi`` and ``gain_dbd`` are those of the beam, towards ``beam_bearing_deg`` and
    ``beam_elevation_deg``. The horizontal pattern is the cut at the beam's elevation, the vertical pattern
    that at the beam's bearing; both are 0 dB in the beam. A width is None where the pattern does not fall
    by 3 dB.
    """

    name: str
    gain_dbi: float
    gain_dbd: float
    beam_bearing_deg: float
    beam_elevation_deg: float
    horizontal_pattern: Pattern
    vertical_pattern: Pattern
    horizontal_beamwidth_deg: float | None
    vertical_beamwidth_deg: float | None
    omits: tuple[str, ...]


def work_out_aerial(radiator: Radiator, boresight_deg: float = 0.0) -> Aerial:
    """Return gain and patterns of a radiator whose boresight points to a bearing.

    Parameters
    ----------
    radiator : Radiator
    boresight_deg : float
        Degrees clockwise from true north, −360 to 360.

    Raises
    ------
    RangeError
        For a bearing out of range.
    """
    facing = turned(radiator, boresight_deg)
    peak = find_peak(radiator)
    peak = peak._replace(bearing_deg=(peak.bearing_deg + boresight_deg) % 360.0)
    horizontal, vertical = _cut(facing, peak, "horizontal"), _cut(facing, peak, "vertical")
    return Aerial(
        radiator.name,
        gain_dbi(radiator),
        gain_dbd(radiator),
        peak.bearing_deg,
        peak.elevation_deg,
        horizontal,
        vertical,
        _width_deg(horizontal, peak.bearing_deg),
        _width_deg(vertical, peak.elevation_deg),
        (*radiator.omits, SEPARABLE_OMITTED),
    )


def _cut(radiator: Radiator, peak: Peak, kind: PatternKind) -> Pattern:
    step = _step_deg(radiator.size_wavelengths)
    if kind == "horizontal":
        angle = np.arange(round(360.0 / step), dtype=np.float64) * step
        field = radiator.field(angle, np.full_like(angle, peak.elevation_deg))
    else:
        angle = np.arange(round(180.0 / step) + 1, dtype=np.float64) * step - 90.0
        field = radiator.field(np.full_like(angle, peak.bearing_deg), angle)
    power = np.abs(field) ** 2
    relative = 10.0 * np.log10(np.maximum(power / np.max(power), 10.0 ** (DEEPEST_DB / 10.0)))
    return Pattern(tuple(angle.tolist()), tuple(relative.tolist()), kind, f"computed: {radiator.name}")


def _step_deg(size_wavelengths: float) -> float:
    wanted = 57.3 / max(size_wavelengths, 1.0) / _STEPS_PER_LOBE
    return next((step for step in _STEPS_DEG if step <= wanted), _STEPS_DEG[-1])


def _width_deg(pattern: Pattern, beam_deg: float) -> float | None:
    try:
        return pattern_beamwidth_deg(pattern, beam_deg)
    except RangeError:
        return None
