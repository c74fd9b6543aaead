"""What the air alone does to a reading: how far the field of a path falls and rises over the year.

A reading is of one hour, the prediction of the median of time. So a reading may lie by as much under the
prediction as the field falls for 99 % of the year, and over it by as much as it rises for 1 %; and two
readings may differ by both together. The tolerances of the table of readings hold wherever they are wider.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from combe.errors import require_range
from combe.standards import RoutineReading


@dataclass(frozen=True)
class AirSpread:
    """How far a level falls under its median for 99 % of an average year, and rises for 1 % [dB]."""

    fall_db: float
    rise_db: float

    def __post_init__(self) -> None:
        for name in ("fall_db", "rise_db"):
            require_range(f"{name} of the air", getattr(self, name), 0.0, 100.0)

    @property
    def whole_db(self) -> float:
        """By how much two readings may differ [dB]."""
        return self.fall_db + self.rise_db


def with_air(row: RoutineReading, air: AirSpread | None) -> RoutineReading:
    """Return a row whose tolerances between two readings are no narrower than what the air does.

    An alarm that would lie within that moves out with it.
    """
    if air is None or row.tolerance is None:
        return row
    tolerance = max(row.tolerance, air.whole_db)
    return replace(
        row,
        tolerance=tolerance,
        repeat=None if row.repeat is None else max(row.repeat, air.whole_db),
        alarm=None if row.alarm is None else max(row.alarm, tolerance),
    )


def prediction_tolerance(row: RoutineReading, air: AirSpread | None, difference: float) -> float | None:
    """Return how far a reading may be from the prediction, on the side on which it is, or None."""
    if row.prediction_tolerance is None or air is None:
        return row.prediction_tolerance
    return max(row.prediction_tolerance, air.fall_db if difference < 0.0 else air.rise_db)


def air_words(usual: float | None, allowed: float | None, amiss: float) -> str:
    """Say that a difference beyond the usual tolerance is within what the air does; else nothing."""
    if usual is None or allowed is None or not usual < amiss <= allowed:
        return ""
    return "; within what the air does"
