"""``combe evidence``: lists every published figure the engine is checked against, worked out now."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import json_option
from combe.cli.output import print_cautions, print_json, print_table, say

if TYPE_CHECKING:
    from combe.evidence import EvidenceRow
    from combe.evidence.shown import Series, ShownRow

MISSED = 1
_HEADS = ("case", "quantity", "expected", "computed", "difference", "tolerance", "unit", "standing", "")
_NUMBERS = ("expected", "computed", "difference", "tolerance")


@click.command("evidence")
@click.option(
    "--recommendation", "word", metavar="WORD", help="Only Recommendations with WORD in their name: P.526."
)
@click.option("--all", "every", is_flag=True, help="Print long tables whole, not their worst figure alone.")
@click.option(
    "--reference-data",
    "folder",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder with the Study Group 3 reference data.  [default: COMBE_REFERENCE_DATA]",
)
@click.option("--html", "page", type=click.Path(path_type=Path), metavar="FILE", help="Write a page.")
@json_option
def command(word: str | None, every: bool, folder: Path | None, page: Path | None, as_json: bool) -> int:
    r"""List every published figure the engine is checked against.

    Each is worked out now, by the installed package. It is read in a public text, computed apart from the
    package, from memory, or common practice without a source, and says so. Numbers of a table that were
    typed twice from memory check nothing outside; they are listed, and counted apart. With the public
    reference data of ITU-R Study Group 3 in a folder, every value of its P.1812 validation set is listed
    too. Leaves with 1 when a figure is missed.

    \b
    JSON: figures, met, typed_twice{figures, met} (counted apart), by_standing{STANDING{figures, met}},
      reference_data (path or null), page (path or null), rows[]{recommendation, source, case, quantity,
      expected, computed (null where there is none), difference, unit, tolerance, standing, series, met,
      problem}, cautions[]
    """
    from combe.evidence.run import REFERENCE_VARIABLE, check_folder, reference_folder, run_evidence

    data = check_folder(folder, "--reference-data") if folder else reference_folder()
    rows = run_evidence(data, word or "")
    if page is not None:
        from combe.cli.evidence_content import write_evidence_page

        write_evidence_page(rows, data, page)
    if as_json:
        print_json(_as_json(rows, data, page))
    else:
        _print(rows, every)
        if data is None:
            say(f"\nThe P.1812 validation set is left out: name its folder in {REFERENCE_VARIABLE}.")
        if page is not None:
            click.echo(f"\nwritten: {page}")
        print_cautions()
    return 0 if all(row.within for row in rows) else MISSED


def _as_json(rows: tuple[EvidenceRow, ...], data: Path | None, page: Path | None) -> dict[str, Any]:
    from combe.evidence.case import TYPED_TWICE
    from combe.evidence.run import checked_rows, count_by_standing
    from combe.publishing.cautions import CAUTIONS

    counts, checked = count_by_standing(rows), checked_rows(rows)
    twice, alike = counts.get(TYPED_TWICE, (0, 0))
    return {
        "figures": len(checked),
        "met": sum(row.within for row in checked),
        "typed_twice": {"figures": twice, "met": alike},
        "by_standing": {name: {"figures": there, "met": met} for name, (there, met) in counts.items()},
        "reference_data": data.resolve() if data else None,
        "page": page.resolve() if page else None,
        "rows": [_row_json(row) for row in rows],
        "cautions": CAUTIONS,
    }


def _row_json(row: EvidenceRow) -> dict[str, Any]:
    case = row.case
    return {
        "recommendation": case.recommendation,
        "source": case.source,
        "case": case.case,
        "quantity": case.quantity,
        "expected": case.expected,
        "computed": row.computed,
        "difference": row.difference,
        "unit": case.unit,
        "tolerance": case.tolerance,
        "standing": case.standing,
        "series": case.series,
        "met": row.within,
        "problem": row.problem,
    }


def _print(rows: tuple[EvidenceRow, ...], every: bool) -> None:
    """Print the figures by Recommendation and source, then how many there are of each standing."""
    from combe.evidence.shown import Series, by_recommendation, by_source, in_series, tally_words

    for name, group in by_recommendation(rows).items():
        say(f"{name}: {tally_words(group)}")
        for source, figures in by_source(group).items():
            say(f" {source}")
            series = [Series("", (row,)) for row in figures] if every else in_series(figures)
            _print_series(series)
        say()
    _print_counts(rows)


def _print_counts(rows: tuple[EvidenceRow, ...]) -> None:
    """Print how many figures there are of each standing, those that check something added up."""
    from combe.evidence.case import TYPED_TWICE
    from combe.evidence.run import checked_rows, count_by_standing

    counts, checked = count_by_standing(rows), checked_rows(rows)
    lines: dict[str, tuple[int, int]] = {name: pair for name, pair in counts.items() if name != TYPED_TWICE}
    lines["all that are checked"] = len(checked), sum(row.within for row in checked)
    lines |= {name: pair for name, pair in counts.items() if name == TYPED_TWICE}
    print_table(("standing", "figures", "met"), [(name, *pair) for name, pair in lines.items()])


def _print_series(series: list[Series]) -> None:
    from combe.evidence.shown import shown_series

    heads, *rows = _aligned([_HEADS, *(_cells(shown_series(each)) for each in series)])
    print_table(heads, rows)


def _aligned(lines: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Return the lines with their columns of numbers set to the right."""
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return [
        tuple(
            text.rjust(width) if head in _NUMBERS else text
            for head, text, width in zip(_HEADS, line, widths, strict=True)
        )
        for line in lines
    ]


def _cells(row: ShownRow) -> tuple[str, ...]:
    """Return the cells of one line; what is missed says so and why."""
    verdict = "" if row.met else f"MISSED {row.problem}".rstrip()
    numbers = (row.expected, row.computed, row.difference, row.tolerance)
    return (row.case, row.quantity, *numbers, row.unit, row.standing, verdict)
