"""What a judgement of readings says: differences, limits, tolerances and drifts, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from combe.digits import telling
from combe.planning.visits.air import AirSpread, prediction_tolerance, with_air
from combe.planning.visits.drift import FEWEST_FOR_TREND, Trend
from combe.planning.visits.units import shown
from combe.standards import RoutineReading
from combe.words import tell

if TYPE_CHECKING:
    from combe.planning.visits.judge import Comparison, Judgement


def signed(row: RoutineReading, difference: float, allowed: float = math.inf) -> str:
    """Return a difference with its sign, and with the digits that show whether it is more than allowed."""
    if row.compared_in == "dB":
        limit = math.copysign(allowed, difference)
        return tell(
            "{difference} {compared_in}",
            difference=telling(difference, limit, 1, sign=True),
            compared_in=row.compared_in,
        )
    usual = tell("{difference:+.4g}", difference=difference)
    if abs(difference) > allowed >= abs(float(usual)):
        usual = tell("{difference:+.12g}", difference=difference)
    return tell("{usual} {unit}", usual=usual, unit=row.unit)


def difference_words(row: RoutineReading, comparison: Comparison, air: AirSpread | None = None) -> str:
    """Return the difference of a comparison with digits that show whether it is more than allowed."""
    row = with_air(row, air)
    allowed = {
        "prediction": prediction_tolerance(row, air, comparison.difference),
        "commissioning": row.tolerance,
        "last visit": row.repeat,
    }.get(comparison.against)
    return signed(row, comparison.difference, math.inf if allowed is None else allowed)


def drift_words(judgement: Judgement, *, yearly: bool = True) -> str:
    """Return the drift in few words: its rate, ``none``, what is missing to tell it, or a dash.

    Without ``yearly`` the rate does not say that it is that of a year.
    """
    trend, row = judgement.trend, judgement.row
    if trend is None:
        judged = any(comparison.against == "drift" for comparison in judgement.comparisons)
        return _drift_short(len(judgement.readings) - judgement.record) if judged else "–"
    if not trend.significant:
        return "none"
    slope = signed(row, trend.slope, 0.0)
    return tell("{slope} a year", slope=slope) if yearly else slope


def limits_words(row: RoutineReading) -> str:
    """Return the limits of a row that hold at any visit, for example ``20.0 dB or more``."""
    if row.lowest is not None and row.highest is not None:
        return tell("{shown} to {shown_2}", shown=shown(row.lowest, row), shown_2=shown(row.highest, row))
    if row.lowest is not None:
        return tell("{shown} or more", shown=shown(row.lowest, row))
    return tell("{shown} or less", shown=shown(row.highest, row)) if row.highest is not None else ""


def tolerance_words(row: RoutineReading) -> str:
    """Return the tolerance against the record with the side on which it counts."""
    if row.tolerance is None:
        return ""
    sign = {"both": "±", "fall": "−", "rise": "+"}[row.side]
    return tell(
        "{sign}{tolerance:.3g} {compared_in}", sign=sign, tolerance=row.tolerance, compared_in=row.compared_in
    )


def _drift_short(count: int) -> str:
    if count < FEWEST_FOR_TREND:
        return tell(
            "not judged: {count} of {fewest} readings",
            count=count,
            fewest=FEWEST_FOR_TREND,
        )
    return "not judged: steps too near"


def drift_missing(count: int) -> str:
    """Say what is missing to tell a drift from chance; ``count`` readings are there since the record."""
    if count < FEWEST_FOR_TREND:
        return tell(
            "a drift is not judged yet: {count} of the {fewest} readings that it takes",
            count=count,
            fewest=FEWEST_FOR_TREND,
        )
    return tell(
        "a drift is not judged yet: its steps leave too few of the {count} readings side by side", count=count
    )


def drift_reason(row: RoutineReading, trend: Trend) -> str:
    """Return a drift with its confidence and what it rests on."""
    between = tell(
        "{slope_low:+.1f} to {slope_high:+.1f}", slope_low=trend.slope_low, slope_high=trend.slope_high
    )
    return tell(
        "drift {signed} a year ({between} with 95 % confidence, {count} readings in {span_years:.1f} years)",
        signed=signed(row, trend.slope, 0.0),
        between=between,
        count=trend.count,
        span_years=trend.span_years,
    )
