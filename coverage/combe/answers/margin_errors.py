"""How unsure the margins of networks are, cell by cell, where a survey corrects some of their stations."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.answers.corrections import Corrections, StationError, station_error
from combe.answers.cover_run import CoverRun, field_map_of
from combe.answers.network import NetworkError
from combe.answers.prediction_error import ErrorOfProject
from combe.decibels import FloatArray
from combe.planning import Census, MarginError
from combe.terrain import cell_centres_m, people_on_grid

_HOMES: Final = 400
"""Cells that stand for all in which people live."""


class _Strongest(NamedTuple):
    """The margin [dB] of a service's strongest station, NaN without any, and its errors, (rows, columns)."""

    margin_db: FloatArray
    common_db: FloatArray
    place_db: FloatArray


def network_errors(
    run: CoverRun, corrections: Corrections, error: ErrorOfProject, census: Census | None
) -> list[NetworkError]:
    """Return the errors of all services, then of each, in the order of ``run.services``.

    A margin is as unsure as the field of the strongest station against noise, and in all services as that of
    the weakest service. Without corrections the error is everywhere that of the project.
    """
    if not corrections or census is None:
        return [NetworkError(error.margin_error, error.margin_error)] * (1 + len(run.services))
    x_m, y_m = np.meshgrid(*cell_centres_m(run.area.grid))
    people = people_on_grid(census.grid, census.people)
    # Nobody is counted where nobody lives, and to work it out takes long: what stands there is of no account.
    lived = people > 0.0
    homes = _homes(people.ravel())
    places_m, homes_m = (x_m[lived], y_m[lived]), (x_m.ravel()[homes], y_m.ravel()[homes])
    errors = {}
    for station in run.task.stations:
        found = station_error(corrections, station.name, error, places_m, homes_m)
        place_db = np.zeros(people.shape)
        place_db[lived] = found.place_db
        errors[station.name] = StationError(found.common_db, place_db)
    parents = {each.name for each in run.task.stations if each.role == "parent"}
    after, before = (_of_services(run, errors, among) for among in (set(errors), parents))
    return [NetworkError(*pair) for pair in zip(after, before, strict=True)]


def _homes(people: FloatArray) -> npt.NDArray[np.intp]:
    """Return cells in which people live, as many of them as there are people there."""
    steps = (np.arange(_HOMES) + 0.5) / _HOMES * people.sum()
    cells: npt.NDArray[np.intp] = np.searchsorted(np.cumsum(people), steps)
    return np.minimum(cells, people.size - 1)


def _of_services(run: CoverRun, errors: dict[str, StationError], among: set[str]) -> list[MarginError]:
    each = [
        _strongest(
            run,
            errors,
            (
                index
                for index, (station, radiated) in enumerate(run.radiated)
                if radiated.name == service and station.name in among
            ),
        )
        for service in run.services
    ]
    return [MarginError(one.common_db, one.place_db) for one in (_weakest(each), *each)]


def _strongest(run: CoverRun, errors: dict[str, StationError], emissions: Iterable[int]) -> _Strongest:
    """Return the strongest of some emissions in each cell."""
    shape = run.area.grid.rows, run.area.grid.columns
    found = _Strongest(np.full(shape, np.nan), np.zeros(shape), np.zeros(shape))
    for index in emissions:
        margin_db = field_map_of(run, index).field_dbuv_m - run.minima[index].median_dbuv_m
        stronger = ~np.isnan(margin_db) & ~(margin_db <= found.margin_db)
        own = errors[run.radiated[index].station.name]
        for layer, values in zip(found, (margin_db, own.common_db, own.place_db), strict=True):
            layer[stronger] = np.broadcast_to(values, shape)[stronger]
    return found


def _weakest(services: Sequence[_Strongest]) -> _Strongest:
    """Return the service with the least margin in each cell."""
    margins = np.stack([np.nan_to_num(each.margin_db, nan=-np.inf) for each in services])
    least = np.argmin(margins, axis=0)[None]
    layers = (np.take_along_axis(np.stack(layer), least, axis=0)[0] for layer in zip(*services, strict=True))
    return _Strongest(*layers)
