"""Compares the survey of a study with its prediction, point by point over the exact path."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import groupby

from combe.answers.path import PathService, predict_between
from combe.answers.provenance import provenance
from combe.errors import RangeError
from combe.planning import (
    ErrorStatistics,
    LocalCorrection,
    SurveyError,
    SurveyPoint,
    by_distance,
    by_obstruction,
    by_station,
    error_statistics,
    local_correction,
)
from combe.project import Given, Project, Survey

Corrections = Mapping[str, LocalCorrection]
"""The correction of each station that has one."""


@dataclass(frozen=True)
class SurveyReport:
    """The survey of a study against its prediction.

    ``corrections`` are those that could be made, whether the study applies them or not; ``refusals`` say why
    one could not. A prediction here is never corrected.
    """

    project: Project
    source: Given[tuple[SurveyPoint, ...]]
    errors: tuple[SurveyError, ...]
    whole: ErrorStatistics
    stations: tuple[ErrorStatistics, ...]
    distances: tuple[ErrorStatistics, ...]
    obstructions: tuple[ErrorStatistics, ...]
    corrections: tuple[LocalCorrection, ...]
    refusals: tuple[str, ...]
    applied: bool
    provenance: Mapping[str, str]


def survey_report(project: Project) -> SurveyReport:
    """Compare the survey of a study with its prediction.

    Raises
    ------
    StudyError
        The study has no survey.
    TableError
        With every fault of the table of points.
    TerrainGapError, RasterError
        Ground missing on the way to a point.
    """
    survey = survey_of(project)
    errors = survey_errors(project, survey)
    corrections, refusals = [], []
    for station in dict.fromkeys(each.point.station for each in errors):
        try:
            corrections.append(local_correction(station, errors, survey.points.name))
        except RangeError as error:
            refusals.append(str(error))
    return SurveyReport(
        project=project,
        source=survey.points,
        errors=errors,
        whole=error_statistics(errors),
        stations=by_station(errors),
        distances=by_distance(errors),
        obstructions=by_obstruction(errors),
        corrections=tuple(corrections),
        refusals=tuple(refusals),
        applied=survey.apply_correction,
        provenance=provenance(project, over_year=False),
    )


def survey_of(project: Project) -> Survey:
    """Return the survey, or raise :class:`StudyError` where the project has none."""
    if project.survey is None:
        advice = 'write a [survey] table with points = "points.csv"'
        raise project.error([f"survey: is missing; {advice}"])
    return project.survey


def survey_errors(project: Project, survey: Survey) -> tuple[SurveyError, ...]:
    """Predict the field at each survey point beside the measured one, in the order of the table."""
    points = survey.points.read()
    together = groupby(points, lambda each: (each.place, each.station, each.height_m))
    found = [error for _, group in together for error in _errors_at(project, list(group))]
    return tuple(sorted(found, key=lambda error: error.point.row))


def corrections_of(project: Project) -> Corrections:
    """Return the corrections that a project applies to its maps; none unless it says so.

    Raises
    ------
    RangeError
        Too few places, or an error too large to be corrected.
    """
    survey = project.survey
    if survey is None or not survey.apply_correction:
        return {}
    errors = survey_errors(project, survey)
    stations = dict.fromkeys(each.point.station for each in errors)
    return {name: local_correction(name, errors, survey.points.name) for name in stations}


def offset_db(corrections: Corrections, station: str) -> float:
    """Return by how much the fields of a station are corrected [dB], 0 where they are not."""
    found = corrections.get(station)
    return 0.0 if found is None else float(found.offset_db)


def correction_words(corrections: Corrections) -> dict[str, str]:
    """Return the line of provenance that states the corrections; nothing where there is none."""
    if not corrections:
        return {}
    words = "; ".join(correction.words for correction in corrections.values())
    return {"local correction": f"fields raised or lowered by survey: {words}"}


def _errors_at(project: Project, points: list[SurveyPoint]) -> list[SurveyError]:
    """Return the errors of the points of one station at one place, whose path is one."""
    first, sender = points[0], project.station(points[0].station)
    receiver = replace(
        sender,
        name=f"survey point in row {first.row}",
        longitude_deg=first.longitude_deg,
        latitude_deg=first.latitude_deg,
        aerial_height_m=first.height_m,
        role="relay",
        parent=None,
    )
    path = predict_between(project, sender, receiver, first.height_m)
    by_name = {each.service.name: each for each in path.services}
    return [_error(point, by_name[point.service]) for point in points]


def _error(point: SurveyPoint, found: PathService) -> SurveyError:
    prediction = found.prediction
    return SurveyError(
        point=point,
        predicted_dbuv_m=found.field_strength_dbuv_m,
        distance_km=prediction.distance_km,
        diffraction_loss_db=prediction.diffraction_loss_db,
        line_of_sight=prediction.line_of_sight,
    )
