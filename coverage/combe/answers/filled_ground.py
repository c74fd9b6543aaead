"""What of a coverage hangs on ground that was filled in: cells whose path crosses it, and their people."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import reduce

import numpy as np

from combe.answers.cover_run import CoverRun, predicted_where
from combe.planning import Census, Mask, count_reach
from combe.prediction import cells_across_fills
from combe.terrain import has_fills


@dataclass(frozen=True)
class AcrossFills:
    """Cells with a prediction whose path crosses filled ground, and the people who live there.

    ``station`` is empty where the path from any station counts. ``people`` is None where nobody is counted.
    """

    station: str
    cells: int
    people: float | None
    where: Mask = field(repr=False, compare=False)


@dataclass(frozen=True)
class FilledGround:
    """The same from any station and from each."""

    any_station: AcrossFills
    stations: tuple[AcrossFills, ...]


def filled_ground(run: CoverRun, census: Census | None) -> FilledGround | None:
    """Return what of a coverage hangs on filled ground; None where no void is filled at all.

    Raises
    ------
    RasterError
        A tile that can no longer be read.
    """
    if not has_fills(run.area.terrain):
        return None
    stations = run.task.stations
    crossed = cells_across_fills(run.area, stations)
    found = []
    for number, (station, cells) in enumerate(zip(stations, crossed, strict=True)):
        emissions = range(run.roles.stations[number], run.roles.stations[number + 1])
        predicted = reduce(np.logical_or, [predicted_where(run, each) for each in emissions])
        found.append(_across(station.name, cells & predicted, census))
    everywhere = reduce(np.logical_or, [each.where for each in found])
    return FilledGround(_across("", everywhere, census), tuple(found))


def _across(station: str, where: Mask, census: Census | None) -> AcrossFills:
    people = count_reach(census, where, np.ones_like(where))
    return AcrossFills(station, int(where.sum()), None if people is None else people.served, where)
