"""An aerial worked out from its parts: gain, patterns in both planes, its beam; and what was left out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.stations.pattern import Pattern, PatternKind, pattern_gain_db
from combe.stations.radiation import Peak, Radiator, find_peak, gain_dbd, gain_dbi, turned
from combe.words import tell

Level = Callable[[FloatArray], FloatArray]
"""Level [dB] towards angles [degrees], an array like the angles."""

HALF_POWER_DB: Final = -3.010299956639812
_STEP_DEG: Final = 0.02
"""Finer than a tenth of a lobe of the longest array that is allowed."""

_DEEPEST_DB: Final = -200.0
"""Stands for −inf inside the searches."""


class Minimum(NamedTuple):
    """The first place beside a beam where the level stops falling: a null, or a filled one."""

    angle_deg: float
    level_db: float
    """Relative to the beam; −200 for a null without floor."""


def half_power_beamwidth_deg(level: Level, peak_deg: float, reach_deg: float = 90.0) -> float:
    """Return the width [degrees] between the half-power points on both sides of a peak.

    Parameters
    ----------
    level : callable
        Level [dB] towards angles [degrees].
    peak_deg : float
        Angle of the peak.
    reach_deg : float
        How far from the peak to look [degrees].

    Raises
    ------
    RangeError
        When the level does not fall by 3 dB within reach.
    """
    lower = _half_power_deg(level, peak_deg, -reach_deg)
    return _half_power_deg(level, peak_deg, reach_deg) - lower


def first_minimum(level: Level, peak_deg: float, reach_deg: float) -> Minimum:
    """Return the first minimum from a peak towards ``peak_deg`` + ``reach_deg`` (negative: below the beam).

    Raises
    ------
    RangeError
        When the level falls all the way.
    """
    angles = _scan(peak_deg, reach_deg)
    levels = _finite(level(angles))
    rising = np.flatnonzero(np.diff(levels) > 0.0)
    # A level that rises from the start is no beam.
    if not rising.size or rising[0] == 0:
        raise RangeError("beam", f"without a minimum within {abs(reach_deg):g} degrees", "a beam with nulls")
    from scipy.optimize import minimize_scalar

    # The level falls up to this sample and rises behind it, so its two neighbours have the minimum between
    # them.
    around = sorted((angles[rising[0] - 1], angles[rising[0] + 1]))
    lowest = minimize_scalar(
        lambda angle: _one(level, angle), bounds=around, method="bounded", options={"xatol": 1e-9}
    )
    return Minimum(float(lowest.x), float(lowest.fun) - _one(level, peak_deg))


class Lobe(NamedTuple):
    """A lobe of a cut: where it is strongest, and its level there [dB]."""

    angle_deg: float
    level_db: float


def lobes(level: Level, low_deg: float = -90.0, high_deg: float = 90.0) -> tuple[Lobe, ...]:
    """Return every local maximum of a level between two angles, the ends counted, in order of angle."""
    angles = np.linspace(low_deg, high_deg, int((high_deg - low_deg) / _STEP_DEG) + 1)
    levels = _finite(level(angles))
    beyond = np.array([-np.inf])
    before, after = np.append(beyond, levels[:-1]), np.append(levels[1:], beyond)
    # Over the one before, not under the one after: a flat top counts once.
    there = np.flatnonzero((levels > before) & (levels >= after))
    return tuple(_lobe(level, angles, int(at)) for at in there)


def lobes_beside(level: Level, beam_deg: float, within_db: float) -> tuple[Lobe, ...]:
    """Return the lobes, −90 to 90 degrees, that come within some decibels of a beam, with levels against it.

    What does not fall by 3 dB between the beam and itself belongs to the beam and is left out.
    """
    beam_db = _one(level, beam_deg)

    def apart(lobe: Lobe) -> bool:
        between = np.linspace(beam_deg, lobe.angle_deg, int(abs(lobe.angle_deg - beam_deg) / _STEP_DEG) + 2)
        return bool(np.min(_finite(level(between))) < beam_db + HALF_POWER_DB)

    near = [lobe for lobe in lobes(level) if lobe.level_db >= beam_db - within_db and apart(lobe)]
    return tuple(Lobe(lobe.angle_deg, lobe.level_db - beam_db) for lobe in near)


def pattern_beamwidth_deg(pattern: Pattern, beam_deg: float | None = None) -> float:
    """Return the half-power beamwidth [degrees] of a pattern table around its beam, or else its maximum.

    Raises
    ------
    RangeError
        When the pattern does not fall by 3 dB on both sides.
    """
    peak_deg = pattern.angle_deg[int(np.argmax(pattern.relative_db))] if beam_deg is None else beam_deg
    reach_deg = 180.0 if pattern.kind == "horizontal" else 90.0
    return half_power_beamwidth_deg(lambda angle: pattern_gain_db(pattern, angle), peak_deg, reach_deg)


def _half_power_deg(level: Level, peak_deg: float, reach_deg: float) -> float:
    target = _one(level, peak_deg) + HALF_POWER_DB
    angles = _scan(peak_deg, reach_deg)
    below = np.flatnonzero(_finite(level(angles)) < target)
    if not below.size:
        raise RangeError("beam", f"within 3 dB for {abs(reach_deg):g} degrees", "a beam that falls by 3 dB")
    from scipy.optimize import brentq

    # The first crossing from the peak: farther out a side lobe may cross again.
    pair = angles[below[0] - 1], angles[below[0]]
    return float(brentq(lambda angle: _one(level, angle) - target, *pair, xtol=1e-10))


def _lobe(level: Level, angles: FloatArray, at: int) -> Lobe:
    """Return the lobe that a sample is the highest of."""
    from scipy.optimize import minimize_scalar

    low, high = angles[max(at - 1, 0)], angles[min(at + 1, angles.size - 1)]
    highest = minimize_scalar(
        lambda angle: -_one(level, angle), bounds=(low, high), method="bounded", options={"xatol": 1e-9}
    )
    # A search within bounds never looks at their very ends, where a lobe may be highest.
    if -float(highest.fun) < _one(level, angles[at]):
        return Lobe(float(angles[at]), _one(level, angles[at]))
    return Lobe(float(highest.x), -float(highest.fun))


def _scan(peak_deg: float, reach_deg: float) -> FloatArray:
    return peak_deg + np.linspace(0.0, reach_deg, int(abs(reach_deg) / _STEP_DEG) + 1)


def _one(level: Level, angle_deg: float) -> float:
    return float(_finite(level(np.array([angle_deg])))[0])


def _finite(levels_db: FloatArray) -> FloatArray:
    return np.maximum(levels_db, _DEEPEST_DB)


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
    # Before it is turned: of equal peaks the one nearest to the boresight is wanted, and not to north.
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
    # Against the highest sample of the cut and not the peak, which need not fall on one: a table has its 0
    # dB.
    relative = 10.0 * np.log10(np.maximum(power / np.max(power), 10.0 ** (DEEPEST_DB / 10.0)))
    return Pattern(
        tuple(angle.tolist()), tuple(relative.tolist()), kind, tell("computed: {name}", name=radiator.name)
    )


def _step_deg(size_wavelengths: float) -> float:
    # A lobe of an aerial S wavelengths large is about 1/S radians wide.
    wanted = 57.3 / max(size_wavelengths, 1.0) / _STEPS_PER_LOBE
    return next((step for step in _STEPS_DEG if step <= wanted), _STEPS_DEG[-1])


def _width_deg(pattern: Pattern, beam_deg: float) -> float | None:
    try:
        return pattern_beamwidth_deg(pattern, beam_deg)
    except RangeError:
        return None
