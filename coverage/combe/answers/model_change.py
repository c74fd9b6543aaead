"""What another model changes in a study, and what fields of a small share of time are over the study's."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from combe.answers.cover import CoverReport, Progress, StationCoverage, cover_report
from combe.decibels import FloatArray
from combe.prediction import FieldMap, predict_coverage


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


def model_change(cover: CoverReport, other_model: str, progress: Progress | None = None) -> ModelChange:
    """Predict and judge the study of a report by another model; tell the difference.

    Raises
    ------
    CombeError
        As :func:`combe.answers.cover.cover_report` does.
    """
    there = cover.project.by_model(other_model)
    other = cover_report(there.received_by(there.way), progress)
    changes = [
        station_change(one, (each.field_map for each in two.services))
        for one, two in zip(cover.stations, other.stations, strict=True)
    ]
    people = other.all_services.people
    return ModelChange(
        other_model,
        people.served_before if people else None,
        people.newly_served if people else None,
        tuple(changes),
    )


def time_change(cover: CoverReport, time_percent: float) -> tuple[StationChange, ...]:
    """Predict the fields of each station for another share of time, 1 to 50 %; nobody is counted on them.

    Raises
    ------
    RangeError
        For a percentage out of range, or a model without statistics of time.
    """
    task = cover.run.task
    conditions = replace(task.conditions[0], time_percent=time_percent)
    changes = []
    for one, offset_db in zip(cover.stations, task.offsets_db, strict=True):
        maps = predict_coverage(task.area, one.station, conditions=conditions, rx_height_m=task.rx_height_m)
        changes.append(station_change(one, maps, offset_db))
    return tuple(changes)


def station_change(
    one: StationCoverage, others: Iterable[FieldMap], offset_db: float | FloatArray = 0.0
) -> StationChange:
    """Return how far the fields of a station are over others of its services, place by place."""
    difference = np.concatenate(
        [
            (
                each.field_map.field_dbuv_m - other.field_dbuv_m - np.asarray(offset_db, dtype=np.float32)
            ).ravel()
            for each, other in zip(one.services, others, strict=True)
        ]
    )
    low, median, high = (float(np.nanpercentile(difference, q)) for q in (0.0, 50.0, 100.0))
    return StationChange(one.station.name, median, low, high)
