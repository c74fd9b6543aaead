"""Writes numbers for readers in one way: thousands set apart, a true minus sign."""

from __future__ import annotations

import re
from typing import Final

THIN_SPACE: Final = "\u202f"
"""Narrow space that does not break, between thousands; pages keep it, terminals get a plain space."""

_MOST_DECIMALS: Final = 6

_HYPHEN_BEFORE_NUMBER: Final = re.compile(r"(?<![^\s(])-(?=\d)")


def spoken(value: float | None, decimals: int = 0) -> str:
    """Return a number with thin spaces between thousands and a true minus but before 0; else a dash.

    >>> spoken(-84.342, 2)
    '−84.34'
    """
    if value is None or value != value:
        return "–"
    return f"{value:z,.{decimals}f}".replace(",", THIN_SPACE).replace("-", "−")


def telling(value: float, limit: float, decimals: int, *, sign: bool = False) -> str:
    """Return a number with as many decimals as show on which side of a limit it lies.

    Nearer to it than six decimals tell, the number counts as the limit.

    >>> telling(500.4, 500.0, 0), telling(10.02, 10.0, 1), telling(12.34, 10.0, 1)
    ('500.4', '10.02', '12.3')
    """
    texts = [
        f"{value:{'+' if sign else ''}z.{places}f}"
        for places in range(decimals, max(decimals, _MOST_DECIMALS) + 1)
    ]
    side = _side(value, limit)
    return next((text for text in texts if _side(float(text), limit) == side), texts[0])


def apart(value: float, limit: float, decimals: int) -> tuple[str, str]:
    """Return a number and its limit with as many decimals, the same for both, as show which is greater.

    >>> apart(51.57, 51.61, 1), apart(60.0, 51.61, 1)
    (('51.57', '51.61'), ('60.0', '51.6'))
    """
    pairs = [
        (f"{value:z.{places}f}", f"{limit:z.{places}f}")
        for places in range(decimals, max(decimals, _MOST_DECIMALS) + 1)
    ]
    side = _side(value, limit)
    return next((pair for pair in pairs if _side(*map(float, pair)) == side), pairs[0])


def _side(value: float, limit: float) -> int:
    """Return 1 over a limit, −1 under it, 0 on it; numbers of numpy have comparisons that do not subtract."""
    return int(value > limit) - int(value < limit)


def true_minus(words: str) -> str:
    """Return words in which a hyphen that stands before a number is a minus sign; ranges keep theirs.

    >>> true_minus("at -50.7 dBm, channels 21-48")
    'at −50.7 dBm, channels 21-48'
    """
    return _HYPHEN_BEFORE_NUMBER.sub("−", words)


def for_terminal(words: str) -> str:
    """Return words as a terminal shows them: plain spaces between thousands, minus signs."""
    return true_minus(words).replace(THIN_SPACE, " ")
