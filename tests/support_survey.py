"""Studies with a survey whose measured fields are the predicted ones and errors that are known."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from combe.answers.survey_points import survey_errors
from combe.project import Project
from combe.study.project_of import load_project
from support_study import STUDY, edited, write_study

HEADER = "longitude_deg,latitude_deg,station,service,field_dbuv_m,height_m"
PLACES = [(-84.20 + 0.01 * (step % 4), 36.56 + 0.01 * (step // 4)) for step in range(8)]

Place = tuple[float, float]


def study_with(
    folder: Path, points: Sequence[str], *, apply: str = "false", error: str = "", text: str = STUDY
) -> Project:
    """Write a study with a survey, and return its project."""
    section = f'[survey]\npoints = "points.csv"\napply_correction = {apply}\n\n'
    section += f"[error]\n{error}\n\n" if error else ""
    write_points(folder, points)
    return load_project(write_study(folder, edited(("[[stations]]", section + "[[stations]]"), text=text)))


def write_points(folder: Path, points: Sequence[str]) -> Path:
    """Write a table of points into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "points.csv"
    path.write_text("\n".join([HEADER, *points]) + "\n", encoding="utf-8")
    return path


def measured_off_by(
    folder: Path,
    errors_db: Sequence[float],
    station: str = "Combe Relay",
    places: Sequence[Place] = PLACES,
) -> list[str]:
    """Return rows whose measured field is the predicted one and an error, one for each place."""
    rows = [f"{lon},{lat},{station},Mux 1,50.0,10" for lon, lat in places]
    study = study_with(folder / "first", rows)
    assert study.survey is not None
    found = survey_errors(study, study.survey)
    return [
        f"{lon},{lat},{station},Mux 1,{each.predicted_dbuv_m + off_db:.6f},10"
        for (lon, lat), each, off_db in zip(places, found, errors_db, strict=True)
    ]
