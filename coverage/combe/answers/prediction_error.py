"""How far the predictions of a project are off: as known of the model, as stated, or as its survey found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from combe.answers.survey_points import survey_errors, survey_of
from combe.errors import RangeError
from combe.planning import FEWEST_PLACES, MarginError, place_errors_db
from combe.project import Project
from combe.standards import PREDICTION_ERRORS, describe
from combe.words import joined, tell

_FEWEST_STATIONS = 2


@dataclass(frozen=True)
class ErrorOfProject:
    """Standard deviations [dB] of the error: common to the area, and of each place; where they are from."""

    common_db: float
    place_db: float
    source: str

    @property
    def margin_error(self) -> MarginError:
        """The error of margins: that of the wanted field, while interferers stand as predicted."""
        return MarginError(self.common_db, self.place_db)

    @property
    def words(self) -> str:
        """What made a range, in words."""
        return tell(
            "common to all wanted fields {common_db:.1f} dB, of each place {place_db:.1f} dB "
            "(standard deviations); {source}",
            common_db=self.common_db,
            place_db=self.place_db,
            source=self.source,
        )


def error_of(project: Project) -> ErrorOfProject:
    """Return how far the predictions of a project are off.

    Raises
    ------
    StudyError
        The error is to be that of a survey, and there is none.
    RangeError
        A survey of too few places.
    TableError, TerrainGapError, RasterError
        As the survey.
    """
    stated = project.stated_error
    if stated.from_survey:
        return _of_survey(project)
    known = PREDICTION_ERRORS[project.conditions.model]
    common, place = stated.common_db, stated.place_db
    of_model = [
        describe(each.reference, each.confidence)
        for each, own in ((known.common_db, common), (known.place_db, place))
        if own is None
    ]
    of_study = [] if common is None and place is None else ["as stated in the study"]
    return ErrorOfProject(
        known.common_db.value if common is None else common,
        known.place_db.value if place is None else place,
        joined("; ", dict.fromkeys([*of_study, *of_model])),
    )


def _of_survey(project: Project) -> ErrorOfProject:
    """Return the spread of stations' mean errors, and that of places about the mean of their station.

    Where fewer than two stations were measured at places enough, nothing tells how their means spread: the
    common error is then that known of the model.
    """
    survey = survey_of(project)
    errors = survey_errors(project, survey)
    names = dict.fromkeys(each.point.station for each in errors)
    measured = [np.array(place_errors_db(errors, name)) for name in names]
    enough = [each for each in measured if each.size >= FEWEST_PLACES]
    count = sum(each.size for each in enough)
    if not enough:
        raise RangeError(
            f"survey places of a station in {survey.points.name}",
            max((each.size for each in measured), default=0),
            f"{FEWEST_PLACES} or more for the error of the prediction",
            "measure at more places, or write common_db and place_db",
        )
    residual = np.concatenate([each - each.mean() for each in enough])
    place_db = float(np.sqrt(np.sum(residual**2) / (count - len(enough))))
    source = tell("residual error of {count} survey places of {name}", count=count, name=survey.points.name)
    if len(enough) >= _FEWEST_STATIONS:
        common_db = float(np.std([each.mean() for each in enough], ddof=1))
        return ErrorOfProject(
            common_db,
            place_db,
            tell("spread of {enough} stations' mean errors, {source}", enough=len(enough), source=source),
        )
    known = PREDICTION_ERRORS[project.conditions.model].common_db
    of_model = describe(known.reference, known.confidence)
    return ErrorOfProject(
        known.value,
        place_db,
        tell("{source}; common error as known of the model: {of_model}", source=source, of_model=of_model),
    )
