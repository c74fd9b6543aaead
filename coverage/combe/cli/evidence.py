"""``combe evidence``: lists every published figure the engine is checked against, worked out now."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from combe.cli.reporting import ReportCommand, Shown, report_options


@click.command("evidence", cls=ReportCommand)
@click.option(
    "--recommendation", "word", metavar="WORD", help="Only Recommendations with WORD in their name: P.526."
)
@click.option("--all", "every", is_flag=True, help="As --full, with long tables whole.")
@click.option(
    "--reference-data",
    "folder",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder with the Study Group 3 reference data.  [default: COMBE_REFERENCE_DATA]",
)
@report_options
def command(word: str | None, every: bool, folder: Path | None, shown: Shown) -> int:
    """List every published figure the engine is checked against.

    Each is worked out now, by the installed package. It is read in a public text, computed apart from the
    package, from memory, or common practice without a source, and says so. Numbers of a table that were
    typed twice from memory check nothing outside; they are listed, and counted apart. With the public
    reference data of ITU-R Study Group 3 in a folder, every value of its P.1812 validation set is listed
    too. Leaves with 1 when a figure is missed.
    """
    from combe.evidence.run import check_folder, evidence_report, reference_folder
    from combe.reports.evidence import document

    data = check_folder(folder, "--reference-data") if folder else reference_folder()
    report = evidence_report(data, word or "")
    return replace(shown, full=shown.full or every).show(document(report, every=every))
