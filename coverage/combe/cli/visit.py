"""``combe visit``: takes in the readings of a site visit, judges them, and lays out the next visit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.reporting import (
    ReportCommand,
    Shown,
    analyser_noise_option,
    default_out,
    out_option,
    report_options_in_folder,
    resolution_option,
    study_argument,
)

if TYPE_CHECKING:
    from combe.project import Project


@click.command("visit", cls=ReportCommand, ways={"": "visit", "--sheet": "sheet", "--survey": "survey"})
@study_argument
@click.argument("readings", type=click.Path(path_type=Path), metavar="[READINGS]", required=False)
@click.option("--sheet", is_flag=True, help="Write the blank sheet for the next visit.")
@click.option("--log", is_flag=True, help="Judge what is in the log already.")
@click.option("--survey", is_flag=True, help="Hold the prediction against the study's survey points.")
@click.option("--dry-run", is_flag=True, help="Check and judge READINGS without storing them.")
@click.option(
    "--log-file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The log, a GeoPackage.  [default: visits.gpkg, beside the study]",
)
@click.option(
    "--aerial-size-m",
    type=float,
    metavar="METRES",
    help="Greatest length of the transmitting aerial, for the near-field caution of the sheet.",
)
@resolution_option
@analyser_noise_option
@out_option
@report_options_in_folder
def command(
    study: Path, readings: Path | None, sheet: bool, log: bool, survey: bool, shown: Shown, **more: Any
) -> int:
    """Take in the readings of a site visit, or lay out the next one.

    READINGS is a CSV table, for example the filled-in sheet. All of it is checked before any of it is stored.
    Each reading is compared with the prediction, with commissioning and with the last visit. Writes
    visit.html, or sheet.html and sheet.csv. Leaves with 1 when a reading is out of tolerance.

    A survey are field strengths measured around the site, named in the study. It writes survey.html.
    """
    from combe.files import ensure_folder
    from combe.study.file import default_log
    from combe.study.project_of import load_project

    if [bool(readings), sheet, log, survey].count(True) != 1:
        raise click.UsageError("name a file of readings, or ask for --sheet, --log or --survey: one of them")
    loaded = load_project(study)
    log_file = more["log_file"] or default_log(study)
    folder = ensure_folder(more["out"] or default_out(study))
    if survey:
        return _survey(loaded, folder, shown)
    if sheet:
        return _sheet(loaded, log_file, folder, shown, **more)
    return _visit(loaded, readings, log_file, folder, shown, store=not more["dry_run"])


def _survey(project: Project, folder: Path, shown: Shown) -> int:
    from combe.answers.survey import survey_report
    from combe.reports.survey import document

    return shown.show(document(survey_report(project)), folder / "survey.html", folder=folder)


def _visit(
    project: Project, readings: Path | None, log: Path, folder: Path, shown: Shown, *, store: bool
) -> int:
    from combe.answers.visit import kept_told, log_report, visit_report
    from combe.publishing.as_html import write_page
    from combe.publishing.page_about import INDEX_NAME
    from combe.reports.visit import document

    if readings is None:
        report = log_report(project, log)
    else:
        report = visit_report(project, readings, log, store=store)
    page = folder / "visit.html"
    with kept_told(report.log, report.stored, bool(report.taken)):
        made = document(report)
        write_page(made, page, index=folder / INDEX_NAME)
    return shown.show(made.with_files(page=page), folder=folder)


def _sheet(project: Project, log: Path, folder: Path, shown: Shown, **asked: Any) -> int:
    from combe.answers.visit import sheet_report
    from combe.files import write_text_atomically
    from combe.publishing.as_html import write_page
    from combe.publishing.page_about import INDEX_NAME
    from combe.reception import Analyser
    from combe.reports.sheet import document

    analyser = Analyser(asked["resolution_khz"], asked["analyser_noise_db"])
    report = sheet_report(project, log, aerial_size_m=asked["aerial_size_m"], analyser=analyser)
    made = document(report).with_files(page=folder / "sheet.html", table=folder / "sheet.csv")
    write_page(made, made.files["page"], index=folder / INDEX_NAME)
    write_text_atomically(made.files["table"], report.table)
    return shown.show(made, folder=folder)
