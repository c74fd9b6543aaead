"""How a series of readings ran: what was out on its day, what is tolerated now, and the line of its drift."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from combe.planning.visits import DAYS_A_YEAR, Judgement, judge_series, tolerated


@dataclass(frozen=True)
class SeriesHistory:
    """The readings of a series over the years, in the unit of its row.

    ``out`` tells of each reading whether it was out when it was taken. Between ``lowest`` and ``highest`` a
    reading is within tolerance of today's record; None is no bound. ``line`` holds the two ends of a drift
    that is more than chance, behind the last step; it is empty where there is none.
    """

    out: tuple[bool, ...]
    lowest: float | None
    highest: float | None
    line: tuple[tuple[datetime.date, float], ...]


def series_history(judgement: Judgement) -> SeriesHistory:
    """Judge every reading of a series as on its day, and say what is tolerated now."""
    readings, expected, air = judgement.readings, judgement.expected, judgement.air
    low, high, _ = tolerated(judgement.row, judgement.record_value, expected, air)
    out = tuple(
        judge_series(readings[:count], expected, air).status == "out" for count in range(1, len(readings) + 1)
    )
    return SeriesHistory(out, low, high, _drift_line(judgement))


def _drift_line(judgement: Judgement) -> tuple[tuple[datetime.date, float], ...]:
    trend, row = judgement.trend, judgement.row
    # Powers are compared in decibels, so their drift is no straight line in watts.
    if trend is None or not trend.significant or row.scale == "power":
        return ()
    first = judgement.readings[judgement.steps[-1].index if judgement.steps else judgement.record].date
    end = judgement.latest.date
    start = trend.level_at_end - trend.slope * (end - first).days / DAYS_A_YEAR
    return (first, start), (end, trend.level_at_end)
