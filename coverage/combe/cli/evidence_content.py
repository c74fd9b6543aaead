"""Gathers what the evidence page shows, and writes it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from combe import __version__
from combe.evidence import EvidenceRow, Standing
from combe.evidence.case import TYPED_TWICE
from combe.evidence.p1812_set import PUBLIC_SOURCE
from combe.evidence.run import count_by_standing
from combe.evidence.shown import (
    Series,
    ShownRow,
    by_recommendation,
    by_source,
    in_series,
    shown,
    shown_series,
)
from combe.publishing.evidence_page import (
    EvidenceBlock,
    EvidenceGroup,
    EvidenceLine,
    EvidencePage,
    StandingCount,
    render_evidence_page,
)
from combe.publishing.files import write_text_atomically

MEANINGS: Final[dict[Standing, str]] = {
    "read": "read in a public text, log or table, or in a public copy of it",
    "computed": "worked out apart from this package, from the formulas or with a published reference code",
    "from memory": "recalled, not read: to be confirmed in the publication",
    "common practice, no source": "a habit of the trade; the tolerance is the usual range",
    TYPED_TWICE: "recalled, beside a table that was recalled: no check of anything outside",
}


def write_evidence_page(rows: tuple[EvidenceRow, ...], data: Path | None, path: Path) -> Path:
    """Write the evidence page, whole or not at all, and return its path; raises OutputError."""
    write_text_atomically(path, render_evidence_page(evidence_content(rows, data)))
    return path


def evidence_content(rows: tuple[EvidenceRow, ...], data: Path | None) -> EvidencePage:
    """Return the page of the rows."""
    counts = count_by_standing(rows)
    return EvidencePage(
        title="Evidence",
        subtitle="Published figures beside what this installation of Combe works out",
        counts=tuple(
            StandingCount(name, meaning, *counts[name], checked=name != TYPED_TWICE)
            for name, meaning in MEANINGS.items()
            if name in counts
        ),
        groups=tuple(_group(name, group) for name, group in by_recommendation(rows).items()),
        notes=_notes(data),
        provenance=(
            f"Combe {__version__}; every figure was worked out by it when this page was written",
            "The difference is computed less expected; a figure is met when it is within its tolerance",
        ),
    )


def _notes(data: Path | None) -> tuple[str, ...]:
    if data is not None:
        return ()
    return (f"The P.1812 validation set is left out, for want of its files ({PUBLIC_SOURCE}).",)


def _group(name: str, rows: list[EvidenceRow]) -> EvidenceGroup:
    blocks = [block for source, figures in by_source(rows).items() for block in _blocks(source, figures)]
    return EvidenceGroup(name, tuple(blocks))


def _blocks(source: str, rows: list[EvidenceRow]) -> list[EvidenceBlock]:
    """Return the rows that stand alone as one block, and each series as a folded one."""
    series = in_series(rows)
    alone = [each.rows[0] for each in series if not each.name]
    blocks = [EvidenceBlock(source, _lines(alone))] if alone else []
    return blocks + [_folded(source, each) for each in series if each.name]


def _folded(source: str, series: Series) -> EvidenceBlock:
    whole = shown_series(series)
    summary = f"{whole.case}; {whole.quantity}, {whole.difference} {whole.unit}".rstrip()
    return EvidenceBlock(source, _lines(series.rows), folded=True, summary=summary)


def _lines(rows: list[EvidenceRow] | tuple[EvidenceRow, ...]) -> tuple[EvidenceLine, ...]:
    return tuple(_line(shown(row)) for row in rows)


def _line(row: ShownRow) -> EvidenceLine:
    return EvidenceLine(
        case=row.case,
        quantity=row.quantity,
        expected=row.expected,
        computed=row.computed,
        difference=row.difference,
        tolerance=row.tolerance,
        unit=row.unit,
        standing=row.standing,
        met=row.met,
        checked=row.checked,
        problem=row.problem,
    )
