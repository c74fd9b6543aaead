"""What model and share of time change: the same study predicted otherwise, and the difference."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from combe.study.file import Study
from combe.study.run_cover import CoverReport, Progress, cover_report


@dataclass(frozen=True)
class StationChange:
    """Fields of one station as the study has them, less those of the other run [dB], over all its cells."""

    station: str
    median_db: float
    lowest_db: float
    highest_db: float


@dataclass(frozen=True)
class ModelChange:
    """The other run's model, what it says of the people, and how the fields of each station differ.

    People are None where the study has none.
    """

    other_model: str
    served_before: float | None
    newly_served: float | None
    stations: tuple[StationChange, ...]


def varied(study: Study, model: str, time_percent: float = 50.0) -> Study:
    """Return the study with another model and time percentage; models without cover and zones lose them."""
    content = study.content
    update: dict[str, object] = {
        "study": content.study.model_copy(update={"model": model}),
        "air": content.air.model_copy(update={"time_percent": time_percent}),
    }
    if model != "p1812":
        update["clutter"] = update["zones"] = None
    return replace(study, content=content.model_copy(update=update))


def model_change(
    cover: CoverReport, other_model: str, time_percent: float = 50.0, progress: Progress | None = None
) -> ModelChange:
    """Predict the study of a report by another model or for another share of time; tell the difference.

    Raises
    ------
    CombeError
        As :func:`combe.study.run_cover.cover_report` does.
    """
    other = cover_report(varied(cover.study, other_model, time_percent), progress)
    changes = []
    for one, two in zip(cover.stations, other.stations, strict=True):
        difference = np.concatenate(
            [
                (a.field_map.field_dbuv_m - b.field_map.field_dbuv_m).ravel()
                for a, b in zip(one.services, two.services, strict=True)
            ]
        )
        low, median, high = (float(np.nanpercentile(difference, q)) for q in (0.0, 50.0, 100.0))
        changes.append(StationChange(one.station.name, median, low, high))
    people = other.all_services.people
    return ModelChange(
        other_model,
        people.served_before if people else None,
        people.newly_served if people else None,
        tuple(changes),
    )
