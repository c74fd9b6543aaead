"""The document of evidence: published figures beside what this installation works out, by Recommendation."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from combe.publishing.document import Document, Form, Section, Table, Words
from combe.publishing.fields import Mark, flag, many, mark, named, number, one, text, whole
from combe.version import __version__
from combe.words import shaped, tell

if TYPE_CHECKING:
    from combe.evidence import EvidenceRow
    from combe.evidence.run import EvidenceReport
    from combe.evidence.shown import Series, ShownRow

MEANINGS: Final = {
    "read": "read in a public text, log or table, or in a public copy of it",
    "computed": "worked out apart from this package, from the formulas or with a published reference code",
    "from memory": "recalled, not read: to be confirmed in the publication",
    "common practice, no source": "a habit of the trade; the tolerance is the usual range",
    "typed twice from memory": "recalled, beside a table that was recalled: no check of anything outside",
}
"""What the standings of a figure mean, in the order in which they are told."""

_COUNTS: Final = (
    whole("figures", "figures", lambda pair: pair[0]),
    whole("met", "met", lambda pair: pair[1]),
)

FORM: Final = Form(
    "evidence",
    (
        whole("figures", get=lambda report: report.checked[0]),
        whole("met", get=lambda report: report.checked[1]),
        one("typed_twice", *_COUNTS, meaning="counted apart"),
        named("by_standing", *_COUNTS),
        text("reference_data", meaning="path", null="none is named"),
        many(
            "rows",
            text("recommendation", get="case.recommendation"),
            text("source", get="case.source"),
            text("case", get="case.case"),
            text("quantity", get="case.quantity"),
            number("expected", get="case.expected"),
            number("computed", null="there is none"),
            number("difference", null="nothing is computed"),
            text("unit", get="case.unit"),
            number("tolerance", get="case.tolerance"),
            text("standing", get="case.standing"),
            text("series", get="case.series"),
            flag("met", get="within"),
            text("problem"),
        ),
    ),
    files=(("page", "without --html"),),
)


def _verdict(row: ShownRow) -> Mark:
    if not row.checked:
        return (
            Mark("passes", "alike")
            if row.met
            else Mark("fails", shaped(tell("MISSED, differ {problem}", problem=row.problem), str.rstrip))
        )
    return (
        Mark("passes", "met")
        if row.met
        else Mark("fails", shaped(tell("MISSED {problem}", problem=row.problem), str.rstrip))
    )


# Numbers of evidence have the digits that their tolerance asks for, so they come as words.
_COLUMNS: Final = (
    text("", "case", "case"),
    text("", "quantity", "quantity"),
    text("", "expected", "expected", right=True),
    text("", "computed", "computed", right=True),
    text("", "difference", "difference", right=True),
    text("", "tolerance", "tolerance", right=True),
    text("", "unit", "unit"),
    mark("", "verdict", _verdict),
)
_STANDINGS: Final = (
    text("", "standing", lambda row: row[0]),
    whole("", "figures", lambda row: row[1][0]),
    whole("", "met", lambda row: row[1][1]),
)


def document(report: EvidenceReport, *, every: bool = False) -> Document:
    """Return the document of evidence; with ``every`` a terminal shows long tables whole."""
    from combe.evidence.shown import by_recommendation, shown

    missed = tuple(shown(row) for row in report.missed)
    groups = by_recommendation(report.rows)
    standings = tuple((name, report.by_standing[name]) for name in MEANINGS if name in report.by_standing)
    return Document(
        form=FORM,
        answer=report,
        title="evidence: published figures beside what this installation of Combe works out",
        headline=_headline(report),
        parts=(
            *((Table("Missed", _COLUMNS, missed, brief=True),) if missed else ()),
            Table("By standing", _STANDINGS, standings, brief=True),
            Words(
                tuple(
                    tell("{name}: {meanings}", name=name, meanings=MEANINGS[name]) for name, _ in standings
                ),
                "What the standings mean",
                listed=True,
            ),
            *(_group(name, rows, every) for name, rows in groups.items()),
        ),
        verdict=Mark("fails", tell("{missed} missed", missed=len(missed)))
        if missed
        else Mark("passes", "all met"),
        made_by={
            "program": tell(
                "Combe {version__}; every figure was worked out by it for this answer", version__=__version__
            ),
            "difference": "computed less expected; a figure is met when it is within its tolerance",
        },
    )


def _headline(report: EvidenceReport) -> tuple[str, ...]:
    from combe.evidence.run import REFERENCE_VARIABLE
    from combe.evidence.shown import tally_words

    if report.reference_data is not None:
        return (tell("{tally_words}.", tally_words=tally_words(report.rows)),)
    left_out = tell(
        "The P.1812 validation set is left out: name its folder in {reference_variable}.",
        reference_variable=REFERENCE_VARIABLE,
    )
    return tell("{tally_words}.", tally_words=tally_words(report.rows)), left_out


def _group(name: str, rows: Sequence[EvidenceRow], every: bool) -> Section:
    from combe.evidence.shown import by_source, in_series, tally_words

    alone: list[EvidenceRow] = []
    folded: list[Table] = []
    for source, figures in by_source(rows).items():
        for series in in_series(figures):
            if series.name:
                folded.append(_folded(source, series, every))
            else:
                alone += series.rows
    tables = (_table(alone), *folded) if alone else tuple(folded)
    met = all(row.within for row in rows)
    return Section(name, tables, verdict=Mark("passes" if met else "fails", tally_words(rows)))


def _table(rows: Sequence[EvidenceRow]) -> Table:
    from combe.evidence.shown import shown

    return Table(
        "",
        _COLUMNS,
        tuple(shown(row) for row in rows),
        group=lambda row: tell("{source}; {standing}", source=row.source, standing=row.standing),
    )


def _folded(source: str, series: Series, every: bool) -> Table:
    """Return a long table under its worst figure; one with a missed figure is open."""
    from combe.evidence.shown import shown, shown_series

    whole_series = shown_series(series)
    difference = f"{whole_series.difference} {whole_series.unit}".rstrip()
    return Table(
        "",
        _COLUMNS,
        tuple(shown(row) for row in series.rows),
        note=source,
        group="standing",
        summary=tell(
            "{case}; {quantity}, {difference}",
            case=whole_series.case,
            quantity=whole_series.quantity,
            difference=difference,
        ),
        verdict=_verdict(whole_series),
        folded=whole_series.met and not every,
    )
