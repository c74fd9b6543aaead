"""Judges each reading against the prediction, the commissioning, the last visit, its limits and its drift.

A reading is *out* when it lies outside a limit or further from the record than its tolerance; *drifting*
when it is inside, but a drift that is more than chance eats up its tolerance, or it changed since the last
visit by more than visits usually do; else *within tolerance*. A comparison with the prediction is always
told, and decides only as long as there is no record to compare with, or where the study's value is a
licensed one: predictions err by more than stations change.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from combe.planning.visits.air import AirSpread, air_words, prediction_tolerance, with_air
from combe.planning.visits.drift import Step, Trend, find_steps, fit_trend
from combe.planning.visits.judgement_words import (
    drift_missing,
    drift_reason,
    limits_words,
    signed,
    tolerance_words,
)
from combe.planning.visits.readings import Reading, SeriesKey, row_of, series_of
from combe.planning.visits.units import compared, in_row_unit, shown, shown_beyond
from combe.standards import RoutineReading
from combe.words import joined, tell

Status = Literal["not judged", "within tolerance", "drifting", "out"]
STATUSES: Final[tuple[Status, ...]] = ("not judged", "within tolerance", "drifting", "out")
"""From the least to the most urgent."""

Against = Literal["prediction", "limit", "commissioning", "last visit", "drift"]

DAYS_A_YEAR: Final = 365.25
DRIFT_YEARS: Final = 2.0
"""A drift counts when it would carry the reading out of tolerance within so long (our own choice)."""

DRIFT_SHARE: Final = 0.5
"""It also counts once it has eaten up this share of the tolerance (our own choice)."""

_ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class Comparison:
    """One comparison of the latest reading; ``difference`` is signed, in dB or the unit, NaN for limits."""

    against: Against
    difference: float
    status: Status
    words: str
    decides: bool = True


@dataclass(frozen=True)
class Judgement:
    """What is said of the latest reading of a series.

    ``values`` are all its readings in the unit of ``row``, by date. ``record`` is the place of the
    commissioning among them. ``expected`` is the prediction in the same unit, None where there is none, and
    ``air`` what the air alone does to the reading, None where it does nothing.
    """

    key: SeriesKey
    row: RoutineReading
    readings: tuple[Reading, ...]
    values: tuple[float, ...]
    expected: float | None
    record: int
    comparisons: tuple[Comparison, ...]
    steps: tuple[Step, ...]
    trend: Trend | None
    status: Status
    reason: str
    air: AirSpread | None = None

    @property
    def allowed(self) -> RoutineReading:
        """The row, its tolerances between two readings no narrower than what the air does."""
        return with_air(self.row, self.air)

    @property
    def latest(self) -> Reading:
        """The reading that is judged."""
        return self.readings[-1]

    @property
    def value(self) -> float:
        """The value that is judged, in the unit of the row."""
        return self.values[-1]

    @property
    def record_value(self) -> float:
        """The value of the record, in the unit of the row."""
        return self.values[self.record]

    @property
    def last(self) -> Reading | None:
        """The reading of the last visit before, if there was one."""
        return self.readings[-2] if len(self.readings) > 1 else None

    @property
    def last_value(self) -> float | None:
        """The value at the last visit before, in the unit of the row."""
        return self.values[-2] if len(self.readings) > 1 else None

    @property
    def commissioned(self) -> bool:
        """Whether the record is of a commissioning, and not just the first visit."""
        return self.readings[self.record].visit == "commissioning"


def judge_log(
    readings: Iterable[Reading],
    expected: Mapping[SeriesKey, float],
    only: Collection[SeriesKey] | None = None,
    air: Mapping[SeriesKey, AirSpread] | None = None,
) -> tuple[Judgement, ...]:
    """Judge the latest reading of every series, or of those named.

    Parameters
    ----------
    readings : iterable of Reading
        The log, in the order of its entries.
    expected : mapping of SeriesKey to float
        Predictions, in the unit of the row.
    only : collection of SeriesKey, optional
    air : mapping of SeriesKey to AirSpread, optional
        What the air alone does to a reading.
    """
    spreads = air or {}
    return tuple(
        judge_series(series, expected.get(key), spreads.get(key))
        for key, series in series_of(readings).items()
        if only is None or key in only
    )


def judge_series(
    readings: tuple[Reading, ...], expected: float | None = None, air: AirSpread | None = None
) -> Judgement:
    """Judge the latest of the readings of one series, which come by date; at least one."""
    latest, row = readings[-1], row_of(readings[-1])
    values = tuple(in_row_unit(reading.value, reading.unit, row) for reading in readings)
    record = _record_index(readings)
    years = [(each.date - readings[record].date).days / DAYS_A_YEAR for each in readings[record:]]
    levels = [compared(value, row.scale) for value in values]
    tracked = row.scale != "check" and row.tolerance is not None
    # Before the record the station was another one.
    steps = find_steps(years, levels[record:], row.repeat or row.tolerance or 0.0) if tracked else ()
    trend = fit_trend(years, levels[record:], steps) if tracked else None
    comparisons = (
        *_with_prediction(row, levels[-1], expected, air, binds=len(readings) - record == 1),
        *_with_limits(row, values[-1]),
        *_with_record(row, levels, record, air),
        *_with_last(row, levels, record, air),
        *_with_drift(row, trend, levels[record], len(levels) - record),
    )
    deciding = [comparison for comparison in comparisons if comparison.decides]
    status = _worst(comparison.status for comparison in deciding)
    return Judgement(
        key=SeriesKey(latest.station, latest.service, latest.test_point, latest.quantity),
        row=row,
        readings=readings,
        values=values,
        expected=expected,
        record=record,
        comparisons=comparisons,
        steps=tuple(Step(step.index + record, step.size) for step in steps),
        trend=trend,
        status=status,
        reason=_reason(row, readings[record:], steps, trend, deciding, status),
        air=air,
    )


def worst(judgements: Iterable[Judgement]) -> Status:
    """Return the most urgent status."""
    return _worst(judgement.status for judgement in judgements)


def _worst(statuses: Iterable[Status]) -> Status:
    return STATUSES[max((STATUSES.index(status) for status in statuses), default=0)]


def _record_index(readings: tuple[Reading, ...]) -> int:
    """Return the place of the last commissioning, or the first reading where there is none."""
    marked = [index for index, reading in enumerate(readings) if reading.visit == "commissioning"]
    return marked[-1] if marked else 0


def _amiss(row: RoutineReading, difference: float) -> float:
    """Return how far a difference counts: its size, or only that of a fall or a rise."""
    if row.side == "fall":
        return max(-difference, 0.0)
    return max(difference, 0.0) if row.side == "rise" else abs(difference)


def _with_prediction(
    row: RoutineReading, level: float, expected: float | None, air: AirSpread | None, *, binds: bool
) -> list[Comparison]:
    if expected is None:
        return []
    difference = level - compared(expected, row.scale)
    allowed = prediction_tolerance(row, air, difference)
    if allowed is None:
        return []
    far = _amiss(row, difference) > allowed + _ROUNDING
    # What the study states as a limit holds at every visit; a prediction only until there is a record to
    # compare with.
    over = row.expected_is_limit and difference > allowed + _ROUNDING
    apart = {"signed": signed(row, difference, allowed), "shown": shown(expected, row)}
    words = (
        tell("{signed} from the {shown} of the study", **apart)
        if row.expected_is_limit
        else tell("{signed} from the {shown} predicted", **apart)
    )
    verdict = tell(
        "{words}, allowed {allowed:.3g} {compared_in}",
        words=words,
        allowed=allowed,
        compared_in=row.compared_in,
    )
    verdict += air_words(row.prediction_tolerance, allowed, _amiss(row, difference))
    return [
        Comparison("prediction", difference, "out" if far else "within tolerance", verdict, binds or over)
    ]


def _with_limits(row: RoutineReading, value: float) -> list[Comparison]:
    if row.scale == "check":
        good = value == 1.0
        return [Comparison("limit", math.nan, "within tolerance" if good else "out", shown(value, row))]
    if row.lowest is None and row.highest is None:
        return []
    low = row.lowest is not None and value < row.lowest - _ROUNDING
    high = row.highest is not None and value > row.highest + _ROUNDING
    if low or high:
        limit = (row.lowest if low else row.highest) or 0.0
        over = tell(
            "{shown_beyond} is {part}",
            shown_beyond=shown_beyond(value, limit, row),
            part="under" if low else "over",
        )
        words = tell("{over} the limit of {shown}", over=over, shown=shown(limit, row))
        return [Comparison("limit", math.nan, "out", words)]
    return [
        Comparison(
            "limit",
            math.nan,
            "within tolerance",
            tell("inside the limits, {limits_words}", limits_words=limits_words(row)),
        )
    ]


def _with_record(
    row: RoutineReading, levels: list[float], record: int, air: AirSpread | None
) -> list[Comparison]:
    usual, row = row.tolerance, with_air(row, air)
    if row.tolerance is None or record == len(levels) - 1:
        return []
    difference = levels[-1] - levels[record]
    amiss = _amiss(row, difference)
    words = tell(
        "{signed} from the record, allowed {tolerance_words}",
        signed=signed(row, difference, row.tolerance),
        tolerance_words=tolerance_words(row),
    )
    if row.alarm is not None and amiss >= row.alarm - _ROUNDING:
        words += tell("; alarm at {alarm:.3g} {compared_in}", alarm=row.alarm, compared_in=row.compared_in)
    words += air_words(usual, row.tolerance, amiss)
    status: Status = "out" if amiss > row.tolerance + _ROUNDING else "within tolerance"
    return [Comparison("commissioning", difference, status, words)]


def _with_last(
    row: RoutineReading, levels: list[float], record: int, air: AirSpread | None
) -> list[Comparison]:
    usual, row = row.repeat, with_air(row, air)
    if row.repeat is None or record == len(levels) - 1:
        return []
    difference = levels[-1] - levels[-2]
    much = _amiss(row, difference) > row.repeat + _ROUNDING
    told = signed(row, difference, row.repeat)
    words = tell(
        "{told} since the last visit, usual {repeat:.3g} {compared_in}",
        told=told,
        repeat=row.repeat,
        compared_in=row.compared_in,
    )
    words += air_words(usual, row.repeat, _amiss(row, difference))
    return [Comparison("last visit", difference, "drifting" if much else "within tolerance", words)]


def _with_drift(
    row: RoutineReading, trend: Trend | None, record_level: float, count: int
) -> list[Comparison]:
    if row.tolerance is None:
        return []
    if trend is None:
        return [Comparison("drift", math.nan, "not judged", drift_missing(count), decides=False)]
    ahead = trend.level_at_end + DRIFT_YEARS * trend.slope - record_level
    eaten = _amiss(row, trend.change) >= DRIFT_SHARE * row.tolerance
    # A drift back into tolerance is no warning.
    leaves = _amiss(row, trend.slope) > 0.0 and _amiss(row, ahead) > row.tolerance
    drifting = trend.significant and (eaten or leaves)
    words = drift_reason(row, trend) if trend.significant else "no drift that is more than chance"
    return [Comparison("drift", trend.slope, "drifting" if drifting else "within tolerance", words)]


def _reason(
    row: RoutineReading,
    readings: tuple[Reading, ...],
    steps: tuple[Step, ...],
    trend: Trend | None,
    deciding: list[Comparison],
    status: Status,
) -> str:
    """Return why, in one line: what decided, and the step or drift behind it."""
    if status in ("not judged", "within tolerance"):
        return "no tolerance is known for it" if status == "not judged" else ""
    words = [comparison.words for comparison in deciding if comparison.status == status]
    words += [
        tell(
            "step of {signed} between {date} and {date_2}",
            signed=signed(row, step.size),
            date=readings[step.index - 1].date,
            date_2=readings[step.index].date,
        )
        for step in steps
    ]
    drift = drift_reason(row, trend) if trend is not None and trend.significant else ""
    if (
        drift
        and drift not in words
        and abs(trend.change if trend else 0.0) >= DRIFT_SHARE * (row.tolerance or 0.0)
    ):
        words.append(drift)
    return joined("; ", words)
