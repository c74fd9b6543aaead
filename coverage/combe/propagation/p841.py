"""From the average year to the worst month: Recommendation ITU-R P.841.

The formula and its global values Q1 = 2.85, β = 0.13 are from memory; no edition was read. The values for
parts of the world and for single effects, of Q1 1.5 to 5 or so, are not here. The worst month is that of each
year in which something happens for most of the time, so it is another month from year to year.
"""

from __future__ import annotations

import math
from typing import Final

from combe.errors import require_range

MONTH_MINUTES: Final = 43_830.0
"""Minutes of a month, a twelfth of the average year of 365.25 days."""

_Q1: Final = 2.85
_BETA: Final = 0.13
_MOST: Final = 12.0
_FLAT_PERCENT: Final = 3.0
_TURN_PERCENT: Final = 30.0


def worst_month_percent(year_percent: float) -> float:
    """Return for which percentage of the worst month something happens.

    Parameters
    ----------
    year_percent
        Percentage of an average year for which it happens, 0 to 100.

    Raises
    ------
    RangeError
        Outside 0 to 100 %.

    Examples
    --------
    >>> round(worst_month_percent(0.1), 5), round(worst_month_percent(10.0), 3)
    (0.38445, 24.707)
    """
    require_range("year_percent", year_percent, 0.0, 100.0)
    return _ratio(year_percent) * year_percent


def _ratio(year_percent: float) -> float:
    """Return Q, by how much more often it happens in the worst month than in the year."""
    # All of it may fall into one month of twelve, and in no other: more than 12 there cannot be.
    if year_percent < (_Q1 / _MOST) ** (1.0 / _BETA):
        return _MOST
    if year_percent <= _FLAT_PERCENT:
        return float(_Q1 * year_percent**-_BETA)
    flat = float(_Q1 * _FLAT_PERCENT**-_BETA)
    if year_percent <= _TURN_PERCENT:
        return flat
    # What happens all year happens all month: the exponent brings Q to 1 at 100 %.
    exponent = math.log(flat) / math.log(_TURN_PERCENT / 100.0)
    return float(flat * (year_percent / _TURN_PERCENT) ** exponent)
