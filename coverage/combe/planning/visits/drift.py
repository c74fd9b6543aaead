"""Tells a slow drift from a sudden step in a series of readings, in ways that a stray reading cannot bend.

A step parts the series. Its candidates are all gaps between two readings; for each the drift is the median
of the slopes of all pairs of readings that no step parts, and the gap that leaves least (sum of absolute
residuals from the medians of the parts) wins. It counts when it stands over the scatter and over twice the
change that is usual from one visit to the next, and was made in that one gap. Then the next step is sought
beside those found.

The drift is that same median of slopes (P. K. Sen, 1968, after H. Theil, 1950) with its 95 % interval.
Whether it is more than chance is told by the rank test of H. B. Mann (1945) and M. G. Kendall, summed over
the parts, with the normal approximation, continuity corrected. These are general statistics, written from
memory; the thresholds are our own choice.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from combe.decibels import FloatArray

SIGNIFICANCE: Final = 0.02
"""Chance that is taken for no drift: below it a drift is real. Six readings or more can reach it."""

STEP_REPEATS: Final = 2.0
STEP_SCATTERS: Final = 4.0
"""A step is more than this many usual changes between visits, and than this many times the scatter."""

FEWEST_FOR_TREND: Final = 6
_FEWEST_PAIRS: Final = 6
_MOST_STEPS: Final = 4
_MAD_TO_DEVIATION: Final = 1.4826
_TWO_SIDED_95: Final = 1.959964


@dataclass(frozen=True)
class Step:
    """A sudden change between reading ``index − 1`` and reading ``index``; ``size`` is signed."""

    index: int
    size: float


@dataclass(frozen=True)
class Trend:
    """The drift of a series beside its steps; rates per year."""

    slope: float
    slope_low: float
    slope_high: float
    chance: float
    """Probability that readings without any drift would rank as much in order."""
    count: int
    span_years: float
    level_at_end: float
    """Value at the last reading by the line through the part behind the last step."""

    @property
    def significant(self) -> bool:
        """Whether the drift is more than chance."""
        return self.chance < SIGNIFICANCE and self.slope_low * self.slope_high > 0.0

    @property
    def change(self) -> float:
        """Change over the whole span by the line, without steps."""
        return self.slope * self.span_years


class _Fit(NamedTuple):
    """A drift with steps at some places: one level for each part."""

    cuts: tuple[int, ...]
    slope: float
    levels: tuple[float, ...]
    residual: FloatArray


def find_steps(years: Sequence[float], values: Sequence[float], usual: float) -> tuple[Step, ...]:
    """Return the steps of a series, in order.

    Parameters
    ----------
    years : sequence of float, (n,)
        Times, ascending [years].
    values : sequence of float, (n,)
    usual : float
        The change that is usual from one visit to the next.
    """
    t, y = np.asarray(years, dtype=np.float64), np.asarray(values, dtype=np.float64)
    cuts: tuple[int, ...] = ()
    while len(cuts) < _MOST_STEPS:
        fits = [_fit(t, y, tuple(sorted((*cuts, new)))) for new in range(1, y.size) if new not in cuts]
        if not fits:
            break
        # Absolute deviations, since one bad reading must not make a step.
        best = min(fits, key=lambda fit: float(np.abs(fit.residual).sum()))
        if not _counts(t, y, best, usual):
            break
        cuts = best.cuts
    return _steps_of(_fit(t, y, cuts)) if cuts else ()


def fit_trend(years: Sequence[float], values: Sequence[float], steps: Sequence[Step] = ()) -> Trend | None:
    """Return the drift of a series with its steps, or None for fewer than six readings or pairs."""
    t, y = np.asarray(years, dtype=np.float64), np.asarray(values, dtype=np.float64)
    cuts = tuple(step.index for step in steps)
    slopes = _slopes(t, y, cuts)
    if y.size < FEWEST_FOR_TREND or len(slopes) < _FEWEST_PAIRS:
        return None
    fit, parts = _fit(t, y, cuts), _parts(y, cuts)
    spread = math.sqrt(sum(_variance(part) for part in parts))
    low, high = _interval(slopes, spread)
    return Trend(
        slope=fit.slope,
        slope_low=low,
        slope_high=high,
        chance=_chance(sum(_order(part) for part in parts), spread),
        count=int(y.size),
        span_years=float(t[-1] - t[0]),
        level_at_end=fit.levels[-1] + fit.slope * float(t[-1]),
    )


def _fit(t: FloatArray, y: FloatArray, cuts: tuple[int, ...]) -> _Fit:
    slopes = _slopes(t, y, cuts)
    # The median of all slopes bears up to 29 % of wild readings; of few pairs it says nothing, and the
    # series counts as level.
    slope = float(np.median(slopes)) if len(slopes) >= _FEWEST_PAIRS else 0.0
    parts = _parts(y - slope * t, cuts)
    levels = tuple(float(np.median(part)) for part in parts)
    residual = np.concatenate([part - level for part, level in zip(parts, levels, strict=True)])
    return _Fit(cuts, slope, levels, residual)


def _steps_of(fit: _Fit) -> tuple[Step, ...]:
    sizes = [after - before for before, after in itertools.pairwise(fit.levels)]
    return tuple(Step(cut, size) for cut, size in zip(fit.cuts, sizes, strict=True))


def _counts(t: FloatArray, y: FloatArray, fit: _Fit, usual: float) -> bool:
    """Tell whether every step stands over the scatter, and is made in its gap and not bit by bit."""
    scatter = _MAD_TO_DEVIATION * float(np.median(np.abs(fit.residual)))
    floor = max(STEP_REPEATS * usual, STEP_SCATTERS * scatter)
    for step in _steps_of(fit):
        gap = float(t[step.index] - t[step.index - 1])
        # A step happens between two visits: if less than half of it lies in that gap, it is a bend or a
        # drift.
        jump = float(y[step.index] - y[step.index - 1]) - fit.slope * gap
        if abs(step.size) <= floor or jump * math.copysign(1.0, step.size) <= 0.5 * abs(step.size):
            return False
    return True


def _parts(y: FloatArray, cuts: Sequence[int]) -> list[FloatArray]:
    return list(np.split(y, list(cuts)))


def _slopes(t: FloatArray, y: FloatArray, cuts: Sequence[int]) -> list[float]:
    """Return the slopes of all pairs that no cut parts, in ascending order."""
    pairs = [
        ((b_y - a_y), (b_t - a_t))
        for part_t, part_y in zip(_parts(t, cuts), _parts(y, cuts), strict=True)
        for (a_t, a_y), (b_t, b_y) in itertools.combinations(zip(part_t, part_y, strict=True), 2)
    ]
    return sorted(float(rise / run) for rise, run in pairs if run > 0.0)


def _order(part: FloatArray) -> int:
    """Return Kendall's S: pairs that rise less pairs that fall."""
    return sum(int(np.sign(after - before)) for before, after in itertools.combinations(part, 2))


def _variance(part: FloatArray) -> float:
    """Return the variance of S without drift, equal values counted as such."""

    def share(count: int) -> float:
        return count * (count - 1) * (2 * count + 5) / 18.0

    _, counts = np.unique(part, return_counts=True)
    return share(part.size) - sum(share(int(count)) for count in counts if count > 1)


def _chance(order: int, spread: float) -> float:
    if spread == 0.0:
        return 1.0
    # S goes in steps of two: less one brings the whole-numbered statistic to the middle of its step.
    return math.erfc(max(abs(order) - 1, 0) / spread / math.sqrt(2.0))


def _interval(slopes: list[float], spread: float) -> tuple[float, float]:
    """Return the 95 % interval of the slope: the slopes this many ranks to each side of the middle."""
    reach = _TWO_SIDED_95 * spread
    # The rank of the true slope among all slopes scatters as S does.
    low = max(round((len(slopes) - reach) / 2.0) - 1, 0)
    high = min(round((len(slopes) + reach) / 2.0), len(slopes) - 1)
    return slopes[low], slopes[high]
