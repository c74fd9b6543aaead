"""Evidence for readers: numbers with the digits that matter, long tables summed up by their worst figure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase
from combe.evidence.run import EvidenceRow

_MOST_DECIMALS: Final = 10
_SMALL: Final = 1e-4
"""Figures below this are written with an exponent."""


@dataclass(frozen=True)
class ShownRow:
    """A row in words."""

    source: str
    case: str
    quantity: str
    expected: str
    computed: str
    difference: str
    tolerance: str
    unit: str
    standing: str
    met: bool
    checked: bool
    problem: str


@dataclass(frozen=True)
class Series:
    """Rows that belong to one long table (or one row alone), with the row that comes nearest to failing."""

    name: str
    rows: tuple[EvidenceRow, ...]

    @property
    def worst(self) -> EvidenceRow:
        """The row whose difference is the largest share of its tolerance; a missed one first."""
        return max(self.rows, key=_share_used)

    @property
    def met(self) -> int:
        """How many rows are within their tolerance."""
        return sum(row.within for row in self.rows)


def by_recommendation(rows: Iterable[EvidenceRow]) -> dict[str, list[EvidenceRow]]:
    """Return the rows of each Recommendation, in order."""
    groups: dict[str, list[EvidenceRow]] = {}
    for row in rows:
        groups.setdefault(row.case.recommendation, []).append(row)
    return groups


def by_source(rows: Iterable[EvidenceRow]) -> dict[str, list[EvidenceRow]]:
    """Return the rows of each source, in order."""
    groups: dict[str, list[EvidenceRow]] = {}
    for row in rows:
        groups.setdefault(row.case.source, []).append(row)
    return groups


def in_series(rows: Sequence[EvidenceRow]) -> list[Series]:
    """Return the rows gathered by series; a row without one stands alone."""
    groups: dict[tuple[str, int], list[EvidenceRow]] = {}
    for at, row in enumerate(rows):
        key = (row.case.series, 0 if row.case.series else at)
        groups.setdefault(key, []).append(row)
    return [Series(name, tuple(members)) for (name, _), members in groups.items()]


def shown(row: EvidenceRow) -> ShownRow:
    """Return a row in words."""
    case, decimals = row.case, _decimals(row.case)
    finer = case.tolerance > 0.0 and decimals < _MOST_DECIMALS
    return ShownRow(
        source=case.source,
        case=case.case,
        quantity=case.quantity,
        expected=_figure(case.expected, decimals),
        computed=_figure(row.computed, decimals + finer),
        difference=_signed(row.difference, case.expected),
        tolerance=f"{case.tolerance:.3g}".replace("-", "−") if case.tolerance else "exact",
        unit=case.unit,
        standing=case.standing,
        met=row.within,
        checked=case.checked,
        problem=row.problem,
    )


def tally_words(rows: Iterable[EvidenceRow]) -> str:
    """Return how many figures there are and how many are met, and apart from them what was typed twice."""
    every = list(rows)
    parts = []
    for checked, noun, verdict in ((True, "figure", "met"), (False, "look-up", "alike")):
        some = [row for row in every if row.case.checked is checked]
        if some or (checked and not every):
            kind = "" if checked else f" {TYPED_TWICE}"
            plural = "" if len(some) == 1 else "s"
            parts.append(f"{len(some)} {noun}{plural}{kind}, {sum(row.within for row in some)} {verdict}")
    return "; ".join(parts)


def shown_series(series: Series) -> ShownRow:
    """Return one row for a whole series: its worst figure, named, with the number of figures."""
    worst = shown(series.worst)
    if not series.name:
        return worst
    return ShownRow(
        worst.source,
        f"{series.name}: {tally_words(series.rows)}",
        f"{_chosen(series)}: {worst.case}, {worst.quantity}",
        worst.expected,
        worst.computed,
        worst.difference,
        worst.tolerance,
        worst.unit,
        worst.standing,
        series.met == len(series.rows),
        worst.checked,
        worst.problem,
    )


def _chosen(series: Series) -> str:
    """Return how the row that stands for a series was chosen."""
    exact = all(row.within and not row.case.tolerance for row in series.rows)
    return "all exact, such as" if exact else "worst"


def _share_used(row: EvidenceRow) -> float:
    if not row.within:
        return math.inf
    return abs(row.difference) / row.case.tolerance if row.case.tolerance else 0.0


def _decimals(case: EvidenceCase) -> int:
    """Return as many decimals as the figure has, or its tolerance if that is finer."""
    text = f"{case.expected:.10g}"
    own = _MOST_DECIMALS if "e" in text else len(text.partition(".")[2])
    finest = math.ceil(-math.log10(case.tolerance) - 1e-9) if case.tolerance else 0
    return min(max(own, finest), _MOST_DECIMALS)


def _figure(figure: float, decimals: int) -> str:
    if math.isnan(figure):
        return "–"
    if figure and abs(figure) < _SMALL:
        return f"{figure:.10g}".replace("-", "−")
    return f"{figure:.{decimals}f}".replace("-", "−")


def _signed(difference: float, expected: float) -> str:
    """Return the difference with its sign; what double precision cannot tell from nought is 0."""
    if math.isnan(difference):
        return "–"
    told = abs(difference) > 1e-14 * max(1.0, abs(expected))
    return f"{difference:+.2g}".replace("-", "−") if told else "0"
