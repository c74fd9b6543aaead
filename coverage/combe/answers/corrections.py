"""What a survey corrects: the fields of its stations on maps and at places, and how unsure it leaves them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from combe.answers.prediction_error import ErrorOfProject, error_of
from combe.answers.survey_points import survey_errors, survey_of
from combe.decibels import FloatArray
from combe.planning import KrigedErrors, LocalCorrection, SurveyError, krige_errors, local_correction
from combe.project import Project, project_grid
from combe.terrain import StudyGrid, cell_centres_m, to_grid_m
from combe.words import joined, tell

Correction = LocalCorrection | KrigedErrors
Corrections = Mapping[str, Correction]
"""The correction of each station that has one."""


Places = tuple[FloatArray, FloatArray]
"""x and y of places of the grid [m]."""


class StationError(NamedTuple):
    """How unsure the fields of a station are [dB], as :class:`combe.planning.MarginError`."""

    common_db: float
    place_db: float | FloatArray


def corrections_of(project: Project) -> Corrections:
    """Return the corrections that a project applies to its maps; none unless it says so.

    Raises
    ------
    RangeError
        Too few places, or an error too large to be corrected.
    MissingLibraryError
        Errors are to be kriged, and scikit-learn is not installed.
    """
    survey = project.survey
    if survey is None or not survey.apply_correction:
        return {}
    errors = survey_errors(project, survey)
    stations = dict.fromkeys(each.point.station for each in errors)
    if not survey.kriged:
        return {name: local_correction(name, errors, survey.points.name) for name in stations}
    krige = kriging_of(project, errors)
    return {name: krige(name) for name in stations}


def kriging_of(project: Project, errors: Sequence[SurveyError]) -> Callable[[str], KrigedErrors]:
    """Return what kriges the errors of a station by its name, over the grid of the project.

    Raises
    ------
    StudyError
        The project has no survey.
    RangeError, TableError, TerrainGapError, RasterError
        As :func:`combe.answers.prediction_error.error_of`.
    """
    prior_db, grid, source = (
        error_of(project).common_db,
        project_grid(project),
        survey_of(project).points.name,
    )
    places_m = {}
    for place in {each.point.place for each in errors}:
        x_m, y_m = to_grid_m(grid, *place)
        places_m[place] = float(x_m), float(y_m)
    return lambda station: krige_errors(station, errors, places_m, prior_db, source)


def offset_over(corrections: Corrections, station: str, grid: StudyGrid) -> float | FloatArray:
    """Return by how much the fields of a station are corrected over a grid [dB]: a number, or by cells."""
    found = corrections.get(station)
    if found is None:
        return 0.0
    if isinstance(found, LocalCorrection):
        return float(found.offset_db)
    if not found.corrects:
        return 0.0
    x_m, y_m = cell_centres_m(grid)
    return found.correction_db(*np.meshgrid(x_m, y_m))


def offset_at(corrections: Corrections, station: str, x_m: FloatArray, y_m: FloatArray) -> FloatArray:
    """Return by how much the fields of a station are corrected at places of the grid (n,) [dB]."""
    found = corrections.get(station)
    if found is None:
        return np.zeros(np.shape(x_m))
    if isinstance(found, LocalCorrection):
        return np.full(np.shape(x_m), float(found.offset_db))
    return found.correction_db(x_m, y_m) if found.corrects else np.zeros(np.shape(x_m))


def station_error(
    corrections: Corrections, station: str, error: ErrorOfProject, places_m: Places, homes_m: Places
) -> StationError:
    """Return how unsure the fields of a station are at places of the grid, after its correction.

    What the survey told of the common error is not unsure any more; near places measured, kriged errors leave
    less of those of places too. Kriged errors hang together, so what they leave is common as far as those of
    any two homes have it in common, and the rest each place's own.
    """
    found = corrections.get(station)
    if isinstance(found, KrigedErrors) and found.corrects:
        common_db = found.in_common_db(*homes_m)
        own = np.maximum(found.deviation_db(*places_m) ** 2 - common_db**2, 0.0)
        return StationError(common_db, np.sqrt(own + found.alone_db**2))
    if isinstance(found, LocalCorrection):
        # A mean drawn towards nought by the weight w leaves 1 − w of the variance of the common error.
        return StationError(error.common_db * math.sqrt(1.0 - found.weight), error.place_db)
    return StationError(error.common_db, error.place_db)


def correction_words(corrections: Corrections) -> dict[str, str]:
    """Return the line of provenance that states the corrections; nothing where there is none."""
    if not corrections:
        return {}
    words = joined("; ", (correction.words for correction in corrections.values()))
    return {"local correction": tell("fields raised or lowered by survey: {words}", words=words)}


def error_words(error: ErrorOfProject, corrections: Corrections, asked: object = True) -> dict[str, str]:
    """Return the line of provenance that states the error of the prediction, where ranges are made of it."""
    if asked is None:
        return {}
    less = "; what the survey tells of it taken off where it corrects fields" if corrections else ""
    return {"error of the prediction": tell("{words}{less}", words=error.words, less=less)}
