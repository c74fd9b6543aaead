"""Writes numbers for readers in one way: thousands set apart, a true minus sign."""

from __future__ import annotations

import math
import re
from typing import Final

from combe.words import Digits, chain, joined, shaped, tell

THIN_SPACE: Final = "\u202f"
"""Narrow space that does not break, between thousands; pages keep it, terminals get a plain space."""

_MOST_DECIMALS: Final = 6
_FEW_MINUTES: Final = 10.0
_HOURS_A_DAY: Final = 24

_HYPHEN_BEFORE_NUMBER: Final = re.compile(r"(?<![^\s(])-(?=\d)")


def spoken(value: float | None, decimals: int = 0) -> str:
    """Return a number with thin spaces between thousands and a true minus but before 0; else a dash.

    >>> spoken(-84.342, 2)
    '−84.34'
    """
    if value is None or value != value:
        return "–"
    return Digits(f"{value:z,.{decimals}f}".replace(",", THIN_SPACE).replace("-", "−"))


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
    return Digits(next((text for text in texts if _side(float(text), limit) == side), texts[0]))


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
    number, held = next((pair for pair in pairs if _side(*map(float, pair)) == side), pairs[0])
    return Digits(number), Digits(held)


def _side(value: float, limit: float) -> int:
    """Return 1 over a limit, −1 under it, 0 on it; numbers of numpy have comparisons that do not subtract."""
    return int(value > limit) - int(value < limit)


def rounded_up(level_db: float) -> str:
    """Return a level [dB] rounded up to tenths, so that what is said is enough.

    >>> rounded_up(3.21), rounded_up(3.2), rounded_up(-0.58)
    ('3.3', '3.2', '-0.5')
    """
    return Digits(f"{math.ceil(10.0 * level_db - 1e-6) / 10.0:.1f}")


def rest_telling(percent: float) -> str:
    """Return a percentage with as many decimals as show two digits of what is left to 100 %, one at least.

    >>> rest_telling(99.97312), rest_telling(99.99877), rest_telling(71.26), rest_telling(100.0)
    ('99.973', '99.9988', '71.3', '100.0')
    """
    rest = 100.0 - percent
    decimals = 1 if rest <= 0.0 else min(max(1, 1 - math.floor(math.log10(rest))), _MOST_DECIMALS)
    return Digits(f"{percent:.{decimals}f}")


def duration(minutes: float) -> str:
    """Return a time in its two greatest units, of a minute and more to the minute.

    >>> duration(159.8), duration(5.259), duration(0.62), duration(60.0), duration(262_980.0)
    ('2 h 40 min', '5.3 min', '0.6 min', '1 h', '182 days 15 h')
    """
    if minutes < _FEW_MINUTES:
        return tell("{minutes:.1f} min", minutes=minutes)
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    if hours < _HOURS_A_DAY:
        parts = ((hours, "h"), (rest, "min"))
    else:
        days, left = divmod(round(minutes / 60.0), _HOURS_A_DAY)
        parts = ((days, "day" if days == 1 else "days"), (left, "h"))
    return joined(" ", (chain(f"{count} ", unit) for count, unit in parts if count))


def true_minus(words: str) -> str:
    """Return words in which a hyphen that stands before a number is a minus sign; ranges keep theirs.

    >>> true_minus("at -50.7 dBm, channels 21-48")
    'at −50.7 dBm, channels 21-48'
    """
    return shaped(words, _with_minus)


def _with_minus(words: str) -> str:
    return _HYPHEN_BEFORE_NUMBER.sub("−", words)


def for_terminal(words: str) -> str:
    """Return words as a terminal shows them: plain spaces between thousands, minus signs."""
    return shaped(true_minus(words), _with_plain_spaces)


def _with_plain_spaces(words: str) -> str:
    return words.replace(THIN_SPACE, " ")
