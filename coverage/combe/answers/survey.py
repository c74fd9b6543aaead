"""Compares the survey of a study with its prediction, point by point over the exact path."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from combe.answers.corrections import kriging_of
from combe.answers.provenance import provenance
from combe.answers.survey_points import survey_errors, survey_of
from combe.errors import RangeError
from combe.planning import (
    ErrorStatistics,
    KrigedErrors,
    LocalCorrection,
    SurveyError,
    SurveyPoint,
    by_distance,
    by_obstruction,
    by_station,
    error_statistics,
    local_correction,
)
from combe.project import Given, Project, off_air_hint
from combe.words import tell


@dataclass(frozen=True)
class SurveyReport:
    """The survey of a study against its prediction.

    ``corrections`` are those that could be made, whether the study applies them or not; ``refusals`` say why
    one could not; ``kriged`` stand in their place where the study asks for it. A prediction here is never
    corrected.
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
    kriged: tuple[KrigedErrors, ...] = ()


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
    if not errors:
        words = tell("survey.points: {name} has no point of a station on the air", name=survey.points.name)
        raise project.error([f"{words}{off_air_hint(project.off_air)}"])
    krige = kriging_of(project, errors) if survey.kriged else None
    corrections, kriged, refusals = list[LocalCorrection](), list[KrigedErrors](), list[str]()
    for station in dict.fromkeys(each.point.station for each in errors):
        try:
            if krige is not None:
                kriged.append(krige(station))
            else:
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
        kriged=tuple(kriged),
    )
