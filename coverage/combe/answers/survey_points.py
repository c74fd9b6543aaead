"""Predicts the field at each point of a survey, over the exact path."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from combe.answers.path import FieldOver, field_over, way_to
from combe.planning import SurveyError, SurveyPoint
from combe.project import Project, Survey
from combe.words import tell


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


def _errors_at(project: Project, points: list[SurveyPoint]) -> list[SurveyError]:
    """Return the errors of the points of one station at one place, whose path is one."""
    first, sender = points[0], project.station(points[0].station)
    receiver = replace(
        sender,
        name=tell("survey point in row {item}", item=first.row),
        longitude_deg=first.longitude_deg,
        latitude_deg=first.latitude_deg,
        aerial_height_m=first.height_m,
        role="relay",
        parent=None,
    )
    way, services = way_to(project, sender, receiver), {each.name: each for each in sender.services}
    found = {
        name: field_over(project, sender, services[name], way, first.height_m)
        for name in dict.fromkeys(point.service for point in points)
    }
    return [_error(point, found[point.service]) for point in points]


def _error(point: SurveyPoint, found: FieldOver) -> SurveyError:
    prediction = found.prediction
    return SurveyError(
        point=point,
        predicted_dbuv_m=found.field_strength_dbuv_m,
        distance_km=prediction.distance_km,
        diffraction_loss_db=prediction.diffraction_loss_db,
        line_of_sight=prediction.line_of_sight,
    )
