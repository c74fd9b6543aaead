"""The far field of an aerial as a function of direction, and its directivity by integration over the sphere.

Bearings are clockwise from the aerial's boresight, elevations upwards. Fields are scalar: the parts of one
aerial radiate one polarization, and the cross-polarized part that appears away from the horizon where
the parts are turned against one another is left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.constants import DIPOLE_GAIN_DBI
from combe.decibels import FloatArray
from combe.errors import require_range

ComplexArray = npt.NDArray[np.complex128]
Field = Callable[[FloatArray, FloatArray], ComplexArray]
"""Relative complex field towards bearings and elevations [degrees], which broadcast."""

LARGEST_SIZE_WAVELENGTHS: Final = 60.0
"""Largest extent that the integration and the tables resolve."""

_PEAK_ROUNDS: Final = 6
_SAME: Final = 1.0 - 1e-12
_EQUAL: Final = 10.0 ** (-0.01 / 10.0)
_COARSE: Final = 10.0 ** (-0.5 / 10.0)
"""What the nodes may miss of a narrow lobe: they stand closer than a tenth of its width."""


@dataclass(frozen=True)
class Radiator:
    """What radiates: its field, its extent, and what its model leaves out.

    Parameters
    ----------
    name : str
    field : callable
        See :data:`Field`; any scale, as long as it is finite.
    size_wavelengths : float
        Greatest extent between phase centres, which says how finely to sample; 0 to 60.
    omits : tuple of str
        What the model leaves out, for print.
    offset_db : float
        Gain minus directivity [dB]: minus the losses, or what brings a described aerial to its stated gain.
    """

    name: str
    field: Field
    size_wavelengths: float
    omits: tuple[str, ...] = ()
    offset_db: float = 0.0

    def __post_init__(self) -> None:
        require_range(
            f"size in wavelengths of {self.name}", self.size_wavelengths, 0.0, LARGEST_SIZE_WAVELENGTHS
        )
        require_range(f"gain minus directivity of {self.name}", self.offset_db, -60.0, 20.0)


class Peak(NamedTuple):
    """The direction of the strongest field, and the field there squared."""

    bearing_deg: float
    elevation_deg: float
    power: float


def directivity_dbi(radiator: Radiator) -> float:
    """Return the directivity [dBi]: peak power over the mean over the sphere, by numerical integration.

    Gauss-Legendre nodes in the sine of the elevation and equal steps in bearing, more of both for a larger
    aerial. Losses (``offset_db``) are not counted.
    """
    elevation, weight, bearing = _nodes(radiator.size_wavelengths)
    power = _power(radiator, bearing, elevation)
    # Nodes in the sine of the elevation carry the narrowing of the circles with them; the weights add up to
    # 2.
    mean = float(np.sum(np.mean(power, axis=1) * weight)) / 2.0
    return 10.0 * math.log10(find_peak(radiator).power / mean)


def gain_dbi(radiator: Radiator) -> float:
    """Return the gain over isotropic [dBi]: directivity and ``offset_db``."""
    return directivity_dbi(radiator) + radiator.offset_db


def gain_dbd(radiator: Radiator) -> float:
    """Return the gain over a half-wave dipole [dBd], 2.15 dB under that over isotropic."""
    return gain_dbi(radiator) - DIPOLE_GAIN_DBI


def find_peak(radiator: Radiator) -> Peak:
    """Return the direction of the strongest field; of equals, the one nearest the boresight.

    Lobes within 0.01 dB of the strongest are equals: so the beam of an array is the one in front, and not a
    grating lobe that the spacing lets stand as strong as it.
    """
    elevation, _, bearing = _nodes(radiator.size_wavelengths)
    # The boresight itself is no node of the rule, and most beams point there.
    elevation, bearing = np.append(elevation, 0.0), np.append(bearing, 0.0)
    elevation, bearing = np.unique(elevation), np.unique(bearing)
    power = _power(radiator, bearing, elevation)
    steps = 360.0 / bearing.size, 180.0 / elevation.size
    peaks = [_refined(radiator, *start, *steps) for start in _starts(power, bearing, elevation)]
    strongest = max(peak.power for peak in peaks)
    equals = [peak for peak in peaks if peak.power >= strongest * _EQUAL]
    return min(equals, key=_off_axis_deg)


def turned(radiator: Radiator, bearing_deg: float) -> Radiator:
    """Return the radiator with its boresight turned clockwise to a bearing [degrees]."""
    require_range("bearing_deg", bearing_deg, -360.0, 360.0)
    return replace(
        radiator, field=lambda bearing, elevation: radiator.field(bearing - bearing_deg, elevation)
    )


def with_loss(radiator: Radiator, loss_db: float) -> Radiator:
    """Return the radiator with the loss of its harness or conductors [dB], 0 to 20."""
    require_range("loss_db of an aerial", loss_db, 0.0, 20.0)
    return replace(radiator, offset_db=radiator.offset_db - loss_db)


def _power(radiator: Radiator, bearing_deg: FloatArray, elevation_deg: FloatArray) -> FloatArray:
    """Return the field squared, (elevations, bearings)."""
    field = radiator.field(bearing_deg[None, :], elevation_deg[:, None])
    power: FloatArray = np.broadcast_to(np.abs(field) ** 2, (elevation_deg.size, bearing_deg.size))
    return power


def _starts(
    power: FloatArray, bearing_deg: FloatArray, elevation_deg: FloatArray
) -> list[tuple[float, float]]:
    """Return where lobes stand out that may be the strongest: by elevation, and by bearing."""
    enough = float(np.max(power)) * _COARSE
    upwards, across = np.max(power, axis=1), np.max(power, axis=0)
    rows = [at for at in _maxima(upwards, elevation_deg, wraps=False) if upwards[at] >= enough]
    columns = [at for at in _maxima(across, _side_deg(bearing_deg), wraps=True) if across[at] >= enough]
    starts = []
    for at in rows:
        # An aerial equal all round has its maximum at every bearing: the one nearest to the boresight stands
        # for all.
        alike = np.flatnonzero(power[at] >= upwards[at] * _SAME)
        best = alike[np.argmin(np.abs(_side_deg(bearing_deg[alike])))]
        starts.append((float(bearing_deg[best]), float(elevation_deg[at])))
    for at in columns:
        alike = np.flatnonzero(power[:, at] >= across[at] * _SAME)
        best = alike[np.argmin(np.abs(elevation_deg[alike]))]
        starts.append((float(bearing_deg[at]), float(elevation_deg[best])))
    return list(dict.fromkeys(starts))


def _maxima(level: FloatArray, angle_deg: FloatArray, *, wraps: bool) -> list[int]:
    """Return the places of the local maxima; of a run of equals the one nearest to 0 degrees."""
    # Bearings close a circle. Above the zenith and under the nadir there is nothing, so a pole may be a
    # maximum.
    beyond = (level[-1:], level[:1]) if wraps else (np.zeros(1), np.zeros(1))
    before, after = np.append(beyond[0], level[:-1]), np.append(level[1:], beyond[1])
    there = np.flatnonzero((level >= before * _SAME) & (level >= after * _SAME))
    runs = np.split(there, np.flatnonzero(np.diff(there) > 1) + 1)
    return [int(run[np.argmin(np.abs(angle_deg[run]))]) for run in runs if run.size]


def _refined(
    radiator: Radiator, bearing_deg: float, elevation_deg: float, step_bearing: float, step_elevation: float
) -> Peak:
    """Return the peak that a place is the foot of."""
    best = Peak(bearing_deg, elevation_deg, 0.0)
    # Each round has nine places across two steps and goes on with a quarter: the last stand a 4096th of the
    # first step apart, some ten thousandths of a degree.
    for _ in range(_PEAK_ROUNDS):
        offsets = np.linspace(-1.0, 1.0, 9)
        upwards = np.clip(best.elevation_deg + offsets * step_elevation, -90.0, 90.0)
        best = _strongest(radiator, best.bearing_deg + offsets * step_bearing, upwards)
        step_bearing, step_elevation = step_bearing / 4.0, step_elevation / 4.0
    return best


def _strongest(radiator: Radiator, bearing_deg: FloatArray, elevation_deg: FloatArray) -> Peak:
    power = _power(radiator, bearing_deg, elevation_deg)
    rows, columns = np.nonzero(power >= np.max(power) * _SAME)
    off_axis = np.abs(_side_deg(bearing_deg[columns])) + np.abs(elevation_deg[rows])
    at = int(np.argmin(off_axis))
    row, column = rows[at], columns[at]
    return Peak(float(bearing_deg[column]), float(elevation_deg[row]), float(power[row, column]))


def _off_axis_deg(peak: Peak) -> float:
    return abs(float(_side_deg(np.array(peak.bearing_deg)))) + abs(peak.elevation_deg)


def _side_deg(bearing_deg: FloatArray) -> FloatArray:
    """Return bearings as −180 to below 180."""
    return np.remainder(bearing_deg + 180.0, 360.0) - 180.0


@lru_cache(maxsize=4)
def _gauss(count: int) -> tuple[FloatArray, FloatArray]:
    sine, weight = np.polynomial.legendre.leggauss(count)
    # With the sine as the variable the area of a zone of the sphere is its weight, and none is wasted at the
    # poles.
    return np.degrees(np.arcsin(sine)), weight


def _nodes(size_wavelengths: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    # The power of an aerial S wavelengths large has harmonics up to some 2πS around the circle, and equal
    # steps integrate exactly all that lie below their own number: 24 S is four times as many.
    elevation, weight = _gauss(200 + 8 * math.ceil(size_wavelengths))
    count = 360 + 24 * math.ceil(size_wavelengths)
    bearing = np.arange(count, dtype=np.float64) * (360.0 / count)
    return elevation, weight, bearing
