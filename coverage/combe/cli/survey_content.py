"""What ``combe visit --survey`` prints: the errors of the prediction by station, distance and obstruction."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from combe.answers.survey import SurveyReport
from combe.cli.output import print_table, say
from combe.planning.survey import ErrorStatistics, SurveyError

_HEADS = (
    "points",
    "readings",
    "places",
    "mean dB",
    "deviation dB",
    "r.m.s. dB",
    "10 % dB",
    "50 % dB",
    "90 % dB",
)


def survey_json(report: SurveyReport) -> dict[str, Any]:
    """Return what ``combe visit STUDY --survey --json`` prints."""
    from combe.publishing.cautions import CAUTIONS

    return {
        "study": report.project.key,
        "title": report.project.title,
        "points": report.source.key,
        "all": _statistics_json(report.whole),
        "by_station": [_statistics_json(each) for each in report.stations],
        "by_distance": [_statistics_json(each) for each in report.distances],
        "by_obstruction": [_statistics_json(each) for each in report.obstructions],
        "corrections": [asdict(each) for each in report.corrections],
        "refusals": report.refusals,
        "applied": report.applied,
        "errors": [_error_json(each) for each in report.errors],
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def print_survey(report: SurveyReport) -> None:
    """Print the statistics, and what a correction would be or is."""
    say(f"{report.project.title}: measured less predicted, {report.source.name}")
    rows = (report.whole, *report.stations, *report.distances, *report.obstructions)
    print_table(_HEADS, [_row(each) for each in rows])
    applied = "applied to the maps" if report.applied else "not applied; write apply_correction = true"
    for correction in report.corrections:
        say(f"  local correction, {applied}: {correction.words}")
    for refusal in report.refusals:
        say(f"  no local correction: {refusal}")


def _row(each: ErrorStatistics) -> tuple[object, ...]:
    percentiles = each.percentiles_db.values()
    return (each.label, each.count, each.places, each.mean_db, each.deviation_db, each.rms_db, *percentiles)


def _statistics_json(each: ErrorStatistics) -> dict[str, Any]:
    found = asdict(each)
    found["percentiles_db"] = {f"{percent:g}": value for percent, value in each.percentiles_db.items()}
    return found


def _error_json(each: SurveyError) -> dict[str, Any]:
    return {
        "row": each.point.row,
        "station": each.point.station,
        "service": each.point.service,
        "longitude_deg": each.point.longitude_deg,
        "latitude_deg": each.point.latitude_deg,
        "height_m": each.point.height_m,
        "measured_dbuv_m": each.point.field_dbuv_m,
        "predicted_dbuv_m": each.predicted_dbuv_m,
        "error_db": each.error_db,
        "distance_km": each.distance_km,
        "line_of_sight": each.line_of_sight,
        "diffraction_loss_db": each.diffraction_loss_db,
    }
