"""``combe visit``: takes in the readings of a site visit, judges them, and lays out the next visit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import json_option, out_option, study_argument
from combe.cli.output import default_out, print_cautions, print_json, print_table, say

if TYPE_CHECKING:
    from combe.answers.visit import SheetReport, StationSheet, VisitReport
    from combe.cli.visit_content import SheetFiles
    from combe.planning.exposure import ComplianceDistance
    from combe.planning.visits.judge import Judgement
    from combe.planning.visits.sheet import SheetRow
    from combe.project import Project

OUT_OF_TOLERANCE = 1

_HEADS = ("reading", "service", "day", "value", "predicted", "record", "drift a year", "verdict")


@click.command("visit")
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
@json_option
def command(
    study: Path, readings: Path | None, sheet: bool, log: bool, survey: bool, as_json: bool, **more: Any
) -> int:
    r"""Take in the readings of a site visit, or lay out the next one.

    READINGS is a CSV table, for example the filled-in sheet. All of it is checked before any of it is stored.
    Each reading is compared with the prediction, with commissioning and with the last visit. Writes
    visit.html, or sheet.html and sheet.csv. Leaves with 1 when a reading is out of tolerance.

    A survey are field strengths measured around the site, named in the study. It writes no file.

    \b
    JSON: study, title, log (path), cautions[], provenance{}, and
      of readings: status, stored, taken, page (path), judgements[]{station, service, test_point,
        quantity, date, value, unit, expected, record, record_on, commissioned, last, last_on, status,
        reason, comparisons[]{against, difference, difference_unit, status, decides, words},
        steps[]{from, to, size} (null, as drift, where no tolerance is known),
        drift{per_year, low, high, chance, significant} or null}
      of the sheet: page, table (paths), stations[]{name, exposure[]{audience, reflection_factor,
        distance_m, near_field_m, in_near_field (both null where the size of the aerial
        is not given), standard, caution}, exposure_fault,
        rows[]{service, test_point, quantity, unit, expected, record, lowest, highest, basis, source}}
      of a survey: points (path), all, by_station[], by_distance[], by_obstruction[] (each label, count,
        places, mean_db, deviation_db, rms_db, percentiles_db{}), corrections[], refusals[], applied,
        errors[]{row, station, service, measured_dbuv_m, predicted_dbuv_m, error_db, distance_km, ...}
    """
    from combe.publishing.files import ensure_folder
    from combe.study.file import default_log
    from combe.study.project_of import load_project

    if [bool(readings), sheet, log, survey].count(True) != 1:
        raise click.UsageError("name a file of readings, or ask for --sheet, --log or --survey: one of them")
    loaded = load_project(study)
    log_file = more["log_file"] or default_log(study)
    if survey:
        return _survey(loaded, as_json)
    folder = ensure_folder(more["out"] or default_out(study))
    if sheet:
        return _sheet(loaded, log_file, folder, as_json, more["aerial_size_m"])
    return _visit(loaded, readings, log_file, folder, as_json, store=not more["dry_run"])


def _survey(project: Project, as_json: bool) -> int:
    from combe.answers.survey import survey_report
    from combe.cli.survey_content import print_survey, survey_json

    report = survey_report(project)
    if as_json:
        print_json(survey_json(report))
    else:
        print_survey(report)
        print_cautions()
    return 0


def _visit(
    project: Project, readings: Path | None, log: Path, folder: Path, as_json: bool, *, store: bool
) -> int:
    from combe.answers.visit import kept_told, log_report, visit_report
    from combe.cli.visit_content import write_visit_page

    if readings is None:
        report = log_report(project, log)
    else:
        report = visit_report(project, readings, log, store=store)
    with kept_told(report.log, report.stored, bool(report.taken)):
        page = write_visit_page(report, folder / "visit.html")
    if as_json:
        print_json(visit_json(report, page))
    else:
        print_visit(report)
        click.echo(f"\nwritten: {page}")
        if report.stored:
            click.echo(f"stored: {report.log}")
        print_cautions()
    return OUT_OF_TOLERANCE if report.status == "out" else 0


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


def visit_json(report: VisitReport, page: Path) -> dict[str, Any]:
    """Return what ``combe visit STUDY READINGS --json`` prints."""
    return _head(report) | {
        "status": report.status,
        "stored": report.stored,
        "taken": len(report.taken),
        "page": page.resolve(),
        "judgements": [_judgement_json(each) for each in report.judgements],
    }


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


def _head(report: VisitReport | SheetReport) -> dict[str, Any]:
    from combe.publishing.cautions import CAUTIONS

    return {
        "study": report.project.key,
        "title": report.project.title,
        "log": report.log.resolve(),
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def _judgement_json(each: Judgement) -> dict[str, Any]:
    from combe.planning.visits.judge import commissioned

    before = each.readings[-2] if len(each.readings) > 1 else None
    return {
        **each.key._asdict(),
        "date": each.latest.date.isoformat(),
        "value": each.value,
        "unit": each.row.unit,
        "expected": each.expected,
        "record": each.values[each.record],
        "record_on": each.readings[each.record].date.isoformat(),
        "commissioned": commissioned(each),
        "last": each.values[-2] if before else None,
        "last_on": before.date.isoformat() if before else None,
        "status": each.status,
        "reason": each.reason,
        "comparisons": [
            {
                "against": comparison.against,
                "difference": comparison.difference,
                "difference_unit": each.row.compared_in,
                "status": comparison.status,
                "decides": comparison.decides,
                "words": comparison.words,
            }
            for comparison in each.comparisons
        ],
        "steps": [
            {
                "from": each.readings[step.index - 1].date.isoformat(),
                "to": each.readings[step.index].date.isoformat(),
                "size": step.size,
            }
            for step in each.steps
        ]
        if each.row.scale != "check" and each.row.tolerance is not None
        else None,
        "drift": _drift_json(each),
    }


def _drift_json(each: Judgement) -> dict[str, Any] | None:
    trend = each.trend
    if trend is None:
        return None
    return {
        "per_year": trend.slope,
        "low": trend.slope_low,
        "high": trend.slope_high,
        "chance": trend.chance,
        "significant": trend.significant,
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


def print_visit(report: VisitReport) -> None:
    """Print the readings of each station, and why one is out or drifting."""
    from combe.cli.visit_content import taken_words
    from combe.publishing.visit_page import name_of

    say(f"{report.project.title}: {report.status}; {taken_words(report)}")
    for station in dict.fromkeys(each.key.station for each in report.judgements):
        say(station)
        judged = [each for each in report.judgements if each.key.station == station]
        print_table(_HEADS, [_table_row(each) for each in judged])
        for each in judged:
            if each.status in ("drifting", "out"):
                say(f"  {name_of(each)} {each.status}: {each.reason}")


def _table_row(each: Judgement) -> tuple[str, ...]:
    from combe.planning.visits.judge import drift_words
    from combe.planning.visits.units import shown

    return (
        f"{each.key.test_point}, {each.key.quantity}",
        each.key.service or "-",
        each.latest.date.isoformat(),
        shown(each.value, each.row),
        "-" if each.expected is None else shown(each.expected, each.row),
        shown(each.values[each.record], each.row),
        drift_words(each).removesuffix(" a year").replace("–", "-"),
        each.status,
    )


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
