"""The relay that is tried on every hill: mast, power, channels, and the patterns that it may radiate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray, dbw_from_watt
from combe.errors import RangeError, require_range
from combe.stations import Pattern, Polarization, Service, pattern_gain_db

TURNS: Final = 3600
"""Directions of a pattern table, a tenth of a degree each."""


@dataclass(frozen=True)
class SectorLimit:
    """The most that may be radiated [W ERP] from one true bearing clockwise to another [degrees]."""

    from_deg: float
    to_deg: float
    erp_w: float

    def __post_init__(self) -> None:
        require_range("from_deg of a limit", self.from_deg, 0.0, 360.0)
        require_range("to_deg of a limit", self.to_deg, 0.0, 360.0)
        require_range("erp_w of a limit", self.erp_w, 1e-6, 1e7)


@dataclass(frozen=True)
class PatternOption:
    """One way to radiate: a pattern turned to a bearing, at a power.

    ``gain_db`` (3600,) ERP by true bearing over the template's, every tenth of a degree; ``azimuth_deg``
    of the maximum, NaN for omni; ``erp_change_db`` of the maximum: directivity gained, less what limits take.
    """

    name: str
    azimuth_deg: float
    turn_deg: float
    erp_change_db: float
    gain_db: FloatArray


@dataclass(frozen=True)
class RelayTemplate:
    """What stands on every hill.

    ``services`` carry channel and ERP; ``options`` the ways to radiate, of which each hill gets the best.
    """

    aerial_height_m: float
    polarization: Polarization
    services: tuple[Service, ...]
    options: tuple[PatternOption, ...]
    vertical_pattern: Pattern | None = None

    def __post_init__(self) -> None:
        if not self.services:
            raise RangeError("services of the relay to be sited", "none", "at least one")
        if not self.options:
            raise RangeError("patterns of the relay to be sited", "none", "omni, or a pattern file")


def pattern_options(
    patterns: Sequence[tuple[str, Pattern | None]],
    services: Sequence[Service],
    *,
    azimuth_step_deg: float = 15.0,
    limits: Sequence[SectorLimit] = (),
    keep_power: bool = False,
) -> tuple[PatternOption, ...]:
    """Return every pattern turned to every step of azimuth; omni once.

    Parameters
    ----------
    patterns
        Name and pattern, None for omni.
    limits
        Where an option would radiate more into a sector than it may, all of its power is let down.
    keep_power
        Whether a pattern's horizontal directivity raises the ERP, the power into the aerial being that of
        omni; else the ERP of the maximum is the template's.

    Raises
    ------
    RangeError
        For a step outside 1 to 180 degrees.
    """
    require_range("azimuth_step_deg", azimuth_step_deg, 1.0, 180.0)
    options = []
    for name, pattern in patterns:
        if pattern is None:
            options.append(_option(name, None, math.nan, 0.0, 0.0, services, limits))
            continue
        peak_deg = float(pattern.angle_deg[int(np.argmax(pattern.relative_db))])
        lift_db = directivity_db(pattern) if keep_power else 0.0
        # A hair less than the circle: a step that divides it with rounding must not come to north twice.
        for azimuth in np.arange(0.0, 360.0 - 1e-9, azimuth_step_deg):
            # A table may have its maximum anywhere; the azimuth is where that points.
            turn = float(azimuth - peak_deg) % 360.0
            options.append(_option(name, pattern, float(azimuth), turn, lift_db, services, limits))
    return tuple(options)


def directivity_db(pattern: Pattern | None) -> float:
    """Return the horizontal directivity [dB] of a pattern over omni: −10 log of its mean power."""
    if pattern is None:
        return 0.0
    bearing: FloatArray = np.arange(720, dtype=np.float64) / 2.0
    gain_db = pattern_gain_db(pattern, bearing)
    # The same power, gathered into less of the horizon: the maximum rises as the mean falls.
    return float(-10.0 * np.log10(np.mean(10.0 ** (gain_db / 10.0))))


def sector_mask(limit: SectorLimit) -> npt.NDArray[np.bool_]:
    """Return which of the 3600 directions lie in the sector of a limit, both ends included."""
    bearing = np.arange(TURNS) * (360.0 / TURNS)
    width = (limit.to_deg - limit.from_deg) % 360.0
    # 0 to 360 is all around, and not one bearing.
    if width == 0.0 and limit.to_deg != limit.from_deg:
        width = 360.0
    inside: npt.NDArray[np.bool_] = (bearing - limit.from_deg) % 360.0 <= width
    return inside


def _option(
    name: str,
    pattern: Pattern | None,
    azimuth_deg: float,
    turn_deg: float,
    lift_db: float,
    services: Sequence[Service],
    limits: Sequence[SectorLimit],
) -> PatternOption:
    bearing: FloatArray = np.arange(TURNS, dtype=np.float64) * (360.0 / TURNS) - turn_deg
    gain_db: FloatArray = pattern_gain_db(pattern, bearing) + lift_db
    # All services leave by one aerial, so the strongest decides how far all come down.
    strongest_dbw = max(dbw_from_watt(float(service.erp_w)) for service in services)
    over_db = [
        strongest_dbw + float(gain_db[sector_mask(limit)].max()) - dbw_from_watt(float(limit.erp_w))
        for limit in limits
    ]
    down_db = max([0.0, *over_db])
    return PatternOption(name, azimuth_deg, turn_deg, lift_db - down_db, gain_db - down_db)
