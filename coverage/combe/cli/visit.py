"""``combe visit``: takes in the readings of a site visit, judges them, and lays out the next visit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import out_option, study_argument
from combe.cli.output import default_out, print_cautions, print_json, say
from combe.cli.reporting import ReportCommand, Shown, report_options_without_page

if TYPE_CHECKING:
    from combe.answers.visit import SheetReport, StationSheet
    from combe.cli.visit_content import SheetFiles
    from combe.planning.exposure import ComplianceDistance
    from combe.planning.visits.sheet import SheetRow
    from combe.project import Project


@click.command("visit", cls=ReportCommand, ways={"": "visit", "--survey": "survey"})
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
@out_option
@report_options_without_page
def command(
    study: Path, readings: Path | None, sheet: bool, log: bool, survey: bool, shown: Shown, **more: Any
) -> int:
    r"""Take in the readings of a site visit, or lay out the next one.

    READINGS is a CSV table, for example the filled-in sheet. All of it is checked before any of it is stored.
    Each reading is compared with the prediction, with commissioning and with the last visit. Writes
    visit.html, or sheet.html and sheet.csv. Leaves with 1 when a reading is out of tolerance.

    A survey are field strengths measured around the site, named in the study. It writes survey.html.

    \b
    JSON: study, title, log (path), cautions[], provenance{}, and
      of the sheet: page, table (paths), stations[]{name, exposure[]{audience, reflection_factor,
        distance_m, near_field_m, in_near_field (both null where the size of the aerial
        is not given), standard, caution}, exposure_fault,
        rows[]{service, test_point, quantity, unit, expected, record, lowest, highest, basis, source}}
    """
    from combe.publishing.files import ensure_folder
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
        return _sheet(loaded, log_file, folder, shown.as_json, more["aerial_size_m"])
    return _visit(loaded, readings, log_file, folder, shown, store=not more["dry_run"])


def _survey(project: Project, folder: Path, shown: Shown) -> int:
    from combe.answers.survey import survey_report
    from combe.reports.survey import document

    return shown.show(document(survey_report(project)), folder / "survey.html")


def _visit(
    project: Project, readings: Path | None, log: Path, folder: Path, shown: Shown, *, store: bool
) -> int:
    from combe.answers.visit import kept_told, log_report, visit_report
    from combe.publishing.as_html import write_page
    from combe.reports.visit import document

    if readings is None:
        report = log_report(project, log)
    else:
        report = visit_report(project, readings, log, store=store)
    page = folder / "visit.html"
    with kept_told(report.log, report.stored, bool(report.taken)):
        made = document(report)
        write_page(made, page)
    return shown.show(made.with_files(page=page))


def _sheet(project: Project, log: Path, folder: Path, as_json: bool, aerial_size_m: float | None) -> int:
    from combe.answers.visit import sheet_report
    from combe.cli.visit_content import write_sheet_files

    report = sheet_report(project, log, aerial_size_m=aerial_size_m)
    files = write_sheet_files(report, folder)
    if as_json:
        print_json(sheet_json(report, files))
        return 0
    print_sheet(report)
    click.echo(f"\nwritten: {files.page}\nwritten: {files.table}")
    print_cautions()
    return 0


def sheet_json(report: SheetReport, files: SheetFiles) -> dict[str, Any]:
    """Return what ``combe visit STUDY --sheet --json`` prints."""
    return _head(report) | {
        "page": files.page.resolve(),
        "table": files.table.resolve(),
        "stations": [
            {
                "name": sheet.station.name,
                "exposure": [_exposure_json(each) for each in (*sheet.exposure, *sheet.exposure_reflected)],
                "exposure_fault": sheet.exposure_fault,
                "rows": [_row_json(row) for row in sheet.rows],
            }
            for sheet in report.sheets
        ],
    }


def _head(report: SheetReport) -> dict[str, Any]:
    from combe.publishing.cautions import CAUTIONS

    return {
        "study": report.project.key,
        "title": report.project.title,
        "log": report.log.resolve(),
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def _exposure_json(each: ComplianceDistance) -> dict[str, Any]:
    names = (
        "audience",
        "reflection_factor",
        "distance_m",
        "near_field_m",
        "in_near_field",
        "standard",
        "caution",
    )
    return {name: getattr(each, name) for name in names}


def _row_json(row: SheetRow) -> dict[str, Any]:
    from combe.standards.visit_readings import source_words

    return {
        "service": row.key.service,
        "test_point": row.key.test_point,
        "quantity": row.key.quantity,
        "unit": row.row.unit,
        "expected": row.expected,
        "record": row.record_value,
        "lowest": row.lowest,
        "highest": row.highest,
        "basis": row.basis,
        "source": source_words(row.row),
    }


def print_sheet(report: SheetReport) -> None:
    """Print how many readings the next visit has, and the distances to keep from the aerial."""
    for sheet in report.sheets:
        checks = sum(row.row.scale == "check" for row in sheet.rows)
        say(f"{sheet.station.name}: {len(sheet.rows) - checks} readings and {checks} checks")
        _print_exposure(sheet)


def _print_exposure(sheet: StationSheet) -> None:
    if not sheet.exposure:
        say(f"  distance from the transmitting aerial: not worked out; {sheet.exposure_fault}")
        return
    for free, reflected in zip(sheet.exposure, sheet.exposure_reflected, strict=True):
        say(
            f"  {free.audience}: keep {free.distance_m:.1f} m from the transmitting aerial in its main beam, "
            f"{reflected.distance_m:.1f} m with a ground reflection; all services summed"
        )
    say(f"  {sheet.exposure[0].standard}; {sheet.exposure[0].caution}")
