"""``combe report``: writes the brief of a study, for whoever has two minutes to decide."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.progress import progress
from combe.cli.reporting import (
    ReportCommand,
    Shown,
    cache_folder,
    cache_option,
    default_out,
    no_cache_option,
    report_options_and_folder,
    study_argument,
)


@click.command("report", cls=ReportCommand, ways={"": "brief"})
@study_argument
@cache_option
@no_cache_option
@click.option(
    "--alternatives",
    is_flag=True,
    help="Also try every hill, and tell the two best other places; takes as long as combe site.",
)
@click.option(
    "--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Also write the page as PDF (extra pdf)."
)
@report_options_and_folder
def command(
    study: Path,
    cache: Path | None,
    no_cache: bool,
    alternatives: bool,
    pdf: Path | None,
    shown: Shown,
) -> int:
    """Write the brief: two sheets to decide by, and an appendix with every input.

    It gathers what combe cover, feed, coordinate and, with --alternatives, site answer: who is newly served
    and how surely, whether the signal arrives, who loses, where else the relay could stand, what it costs,
    what is uncertain, and what to do next. The page prints on two sheets of A4; behind them stands every
    input with the hashes of the files, so that another can repeat the work. Writes brief.html into the
    folder results beside the study, unless --html names another place.
    """
    from combe.answers.brief import brief_report
    from combe.files import ensure_folder
    from combe.publishing.as_pdf import require_printer, write_pdf
    from combe.reports.brief import document
    from combe.study.named_files import files_of
    from combe.study.project_of import load_project

    if pdf is not None:
        require_printer()
    loaded = load_project(study)
    folder = ensure_folder(default_out(study)) if alternatives or shown.page is None else None
    blocks = folder / "siting" if folder and alternatives else None
    kept = cache_folder(cache, no_cache=no_cache)
    with progress() as told:
        report = brief_report(loaded, told, cache_folder=kept, siting_folder=blocks, files=files_of(loaded))
    made = document(report)
    if pdf is not None:
        write_pdf(made, pdf)
        made = made.with_files(pdf=pdf)
    if shown.page is not None or folder is None:
        return shown.show(made)
    return shown.show(made, folder / "brief.html", folder=folder)
