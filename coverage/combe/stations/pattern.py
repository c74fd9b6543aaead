"""An aerial pattern: relative gain against bearing or elevation, without gaps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, TypeVar, get_args

import numpy as np

from combe.decibels import FloatArray
from combe.errors import PatternError

Angle = TypeVar("Angle", float, FloatArray)
PatternKind = Literal["horizontal", "vertical"]

LARGEST_GAP_DEG: Final = 30.0
"""Widest step between two rows; wider leaves lobes and nulls to chance (our own rule)."""

MOST_ROWS: Final = 4000
LOWEST_GAIN_DB: Final = -100.0
MAXIMUM_TOLERANCE_DB: Final = 0.05
"""How far the greatest gain of a table may lie under 0 dB, for tables printed with one decimal."""

_RANGES_DEG: Final = {"horizontal": (0.0, 360.0), "vertical": (-90.0, 90.0)}
_ANGLE_NAMES: Final = {"horizontal": "bearing", "vertical": "elevation"}


class PatternFault(NamedTuple):
    """What is wrong with a pattern, what to do, and the index of the row it shows at (None: all rows)."""

    problem: str
    advice: str = ""
    row: int | None = None


@dataclass(frozen=True)
class Pattern:
    """Relative gain of an aerial around one axis.

    Parameters
    ----------
    angle_deg : tuple of float, (n,)
        Ascending. Horizontal: bearings clockwise from true north, 0 to 360; vertical: elevations, −90
        (straight down) to 90, both ends present.
    relative_db : tuple of float, (n,)
        Gain against the maximum, so 0 or less, 0 somewhere.
    kind : {"horizontal", "vertical"}
    source : str
        Where the table is from: a file, a maker's sheet, an invention.

    Raises
    ------
    PatternError
        For a gap over 30 degrees, rows out of order or out of range, or a maximum that is not 0 dB.
    """

    angle_deg: tuple[float, ...]
    relative_db: tuple[float, ...]
    kind: PatternKind
    source: str

    def __post_init__(self) -> None:
        if self.kind not in get_args(PatternKind):
            raise PatternError(self.source, f"kind is {self.kind!r}", "write horizontal or vertical")
        fault = find_fault(self.angle_deg, self.relative_db, self.kind)
        if fault is not None:
            raise PatternError(self.source, fault.problem, fault.advice)
        object.__setattr__(self, "angle_deg", tuple(float(angle) for angle in self.angle_deg))
        object.__setattr__(self, "relative_db", tuple(float(gain) for gain in self.relative_db))


def pattern_gain_db(pattern: Pattern | None, angle_deg: Angle) -> Angle:
    """Return the gain relative to the maximum [dB] towards bearings or elevations.

    Parameters
    ----------
    pattern : Pattern or None
        None is an aerial that is equal in all directions: 0 dB.
    angle_deg : float or array of any shape
        Bearings (any turn, so −10 is 350) or elevations [degrees]. NaN gives NaN.

    Returns
    -------
    float or array
        Like ``angle_deg``; linear in dB between the rows.
    """
    angle = np.asarray(angle_deg, dtype=np.float64)
    if pattern is None:
        gain = np.where(np.isnan(angle), np.nan, 0.0)
    else:
        period = 360.0 if pattern.kind == "horizontal" else None
        gain = np.interp(angle, pattern.angle_deg, pattern.relative_db, period=period)
    return float(gain) if isinstance(angle_deg, int | float) else gain


def find_fault(angle_deg: Sequence[float], relative_db: Sequence[float], kind: str) -> PatternFault | None:
    """Return the first fault of a table of angles and gains, or None where it makes a :class:`Pattern`."""
    return (
        _length_fault(angle_deg, relative_db)
        or _angle_fault(angle_deg, kind)
        or _gap_fault(angle_deg, kind)
        or _gain_fault(relative_db)
        or _seam_fault(angle_deg, relative_db, kind)
    )


def _length_fault(angle_deg: Sequence[float], relative_db: Sequence[float]) -> PatternFault | None:
    if len(angle_deg) != len(relative_db):
        return PatternFault(
            f"{len(angle_deg)} angles but {len(relative_db)} gains", "give one gain per angle"
        )
    if not 2 <= len(angle_deg) <= MOST_ROWS:
        return PatternFault(f"the number of rows is {len(angle_deg)}", f"give 2 to {MOST_ROWS} rows")
    return None


def _angle_fault(angle_deg: Sequence[float], kind: str) -> PatternFault | None:
    low, high = _RANGES_DEG[kind]
    for row, angle in enumerate(angle_deg):
        if not low <= angle <= high:
            return PatternFault(
                f"{_ANGLE_NAMES[kind]} {angle:g} degrees is out of range",
                f"allowed: {low:g} to {high:g}",
                row,
            )
        if row and angle <= angle_deg[row - 1]:
            return PatternFault(
                f"{_ANGLE_NAMES[kind]} {angle:g} degrees comes after {angle_deg[row - 1]:g}",
                "put the rows in ascending order, each angle once",
                row,
            )
    return None


def _gap_fault(angle_deg: Sequence[float], kind: str) -> PatternFault | None:
    name, advice = _ANGLE_NAMES[kind], f"add rows at most {LARGEST_GAP_DEG:g} degrees apart"
    for row in range(1, len(angle_deg)):
        if angle_deg[row] - angle_deg[row - 1] > LARGEST_GAP_DEG:
            return PatternFault(
                f"gap between {name} {angle_deg[row - 1]:g} and {angle_deg[row]:g} degrees", advice, row
            )
    first, last = angle_deg[0], angle_deg[-1]
    if kind == "horizontal" and first + 360.0 - last > LARGEST_GAP_DEG:
        return PatternFault(f"gap between {name} {last:g} and {first:g} degrees, through north", advice)
    if kind == "vertical" and (first, last) != _RANGES_DEG["vertical"]:
        return PatternFault(f"elevations run from {first:g} to {last:g} degrees", "give rows from -90 to 90")
    return None


def _gain_fault(relative_db: Sequence[float]) -> PatternFault | None:
    for row, gain in enumerate(relative_db):
        if not (math.isfinite(gain) and LOWEST_GAIN_DB <= gain <= 0.0):
            return PatternFault(
                f"relative gain {gain:g} dB is out of range",
                f"allowed: {LOWEST_GAIN_DB:g} to 0, relative to the maximum",
                row,
            )
    if max(relative_db) < -MAXIMUM_TOLERANCE_DB:
        return PatternFault(
            f"the greatest relative gain is {max(relative_db):g} dB, not 0",
            "subtract the maximum from every row; the ERP of a service is that at the maximum",
        )
    return None


def _seam_fault(angle_deg: Sequence[float], relative_db: Sequence[float], kind: str) -> PatternFault | None:
    both = kind == "horizontal" and (angle_deg[0], angle_deg[-1]) == _RANGES_DEG["horizontal"]
    if both and relative_db[0] != relative_db[-1]:
        return PatternFault(
            f"bearing 0 has {relative_db[0]:g} dB but bearing 360 has {relative_db[-1]:g} dB",
            "they are one direction: leave out the row of 360",
            len(angle_deg) - 1,
        )
    return None
