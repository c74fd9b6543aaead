"""The fade exceeded for a share of time, found by halving: Recommendation ITU-R P.2001-4, Attachment I.

Symbols: Aiter fade sought, Qiter(A) share of time for which A is exceeded, q share asked, Ahigh Alow bracket.

The result is a point of a lattice (steps of 0.0049 dB), not the root: the number of halvings is fixed, and
one more or fewer would give another number than the Recommendation's. So without rain and multipath, or for
half of the time, the fade is ±0.0024 dB and not 0.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, TypeVar

from combe.compiling import also_in_kernels

Of = TypeVar("Of")

_FIRST_DB: Final = 5.0
NO_FADE_DB: Final = _FIRST_DB / 2048.0
"""Where the search ends for no fade at all: so far over or under nought, half a step."""

_MOST_STEPS: Final = 11
_FINENESS_DB: Final = 0.01


@also_in_kernels
def fade_exceeded_db(chance_percent: Callable[[float, Of], float], of: Of, percent: float) -> float:
    """Return the fade [dB], below 0 an enhancement, that is exceeded for ``percent`` of time.

    ``chance_percent`` tells of ``of`` for which percentage of time a fade [dB] is exceeded; it falls as the
    fade grows. The two are apart because kernels know no functions that are made while they run.

    Examples
    --------
    >>> fade_exceeded_db(lambda fade_db, _: 100.0 if fade_db < 0.0 else 0.0, None, 1.0)
    -0.00244140625
    """
    low_db, high_db, step_db = _bracket_db(chance_percent, of, percent)
    middle_db = 0.5 * (low_db + high_db)  # (I.2.5)
    for _ in range(math.ceil(3.32 * math.log10(step_db / _FINENESS_DB)) + 1):
        if chance_percent(middle_db, of) < percent:
            high_db = middle_db
        else:
            low_db = middle_db
        middle_db = 0.5 * (low_db + high_db)
    return middle_db


@also_in_kernels
def _bracket_db(
    chance_percent: Callable[[float, Of], float], of: Of, percent: float
) -> tuple[float, float, float]:
    """Return two fades with the root between them, and their distance (I.2.1 to I.2.4).

    From −5 to 5 dB the bracket goes up or down in steps that double; only the last step is kept.
    """
    low_db, high_db, step_db = -_FIRST_DB, _FIRST_DB, 2.0 * _FIRST_DB
    at_low, at_high = chance_percent(low_db, of), chance_percent(high_db, of)
    for _ in range(_MOST_STEPS):
        if percent < at_high:
            step_db *= 2.0
            low_db, at_low = high_db, at_high
            high_db += step_db
            at_high = chance_percent(high_db, of)
        elif percent > at_low:
            step_db *= 2.0
            high_db, at_high = low_db, at_low
            low_db -= step_db
            at_low = chance_percent(low_db, of)
        else:
            break
    return low_db, high_db, step_db
