"""Predicts and judges the network of a study tile by tile, and reads what came out, one map at a time.

Everything lies in files: the fields of the stations in the store, what was judged in the folder of the run.
So the memory does not grow with the number of stations, and a run that was killed is taken up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from combe.answers.corrections import Corrections, offset_over
from combe.answers.emissions import (
    disturbers,
    emissions_of,
    interfering_conditions,
    interfering_stations,
    partners_among,
    rules_of,
)
from combe.answers.network import ReadMap
from combe.answers.workspace import Place, Progress, open_workspace
from combe.decibels import FloatArray
from combe.planning import (
    DOUBTFUL,
    HARM,
    PREDICTED,
    SERVED,
    TILE_BYTES,
    Layer,
    Mask,
    NetworkResult,
    NetworkTask,
    StationService,
    flags_of,
    network_judge,
    result_array,
    row_ranges,
    rows_a_tile,
    services_of,
)
from combe.prediction import (
    FIELD,
    Area,
    FieldMap,
    StationFields,
    field_map_in,
    read_rows,
)
from combe.project import MinimumField, Project, minimum_field, service_conditions
from combe.reception import Field, Fields, Judges, Roles, judge_emission, make_judges, make_roles
from combe.terrain import cell_centres_m


@dataclass(frozen=True)
class CoverRun:
    """A study's network, predicted and judged.

    ``radiated`` has every service of every station, in their order; emissions are named by their place there.
    ``disturbers`` tells for each who may disturb it; ``corrected`` by station the words of its correction.
    """

    area: Area
    radiated: tuple[StationService, ...]
    minima: tuple[MinimumField, ...]
    disturbers: tuple[frozenset[int], ...]
    judges: Judges
    roles: Roles
    task: NetworkTask
    result: NetworkResult
    workspace: Place = field(repr=False)
    corrected: Mapping[str, str]
    opened: dict[int, StationFields] = field(default_factory=dict, repr=False)

    @property
    def services(self) -> tuple[str, ...]:
        """Each service name once, in the order of the emissions."""
        return self.roles.services


def run_network(
    project: Project,
    area: Area,
    corrections: Corrections,
    cache_folder: Path | None = None,
    progress: Progress | None = None,
    tile_bytes: int = TILE_BYTES,
    *,
    beside: Place | None = None,
    place: Place | None = None,
) -> CoverRun:
    """Predict every station, those that may disturb another one once more as interferers, and judge all.

    Parameters
    ----------
    cache_folder
        Where fields and judged maps are kept and found again; nothing is kept if not given.
    progress
        Told how far the work is.
    tile_bytes
        How much the fields of one tile may take.
    beside
        Folders of a run of the same study by another way of receiving, whose fields are taken up; what
        relays do to others is then not looked at.
    place
        Where to work, if not in the cache folder.

    Raises
    ------
    OutputError
        A cache folder that cannot be made or written.
    RangeError, TerrainGapError
        As the prediction and the judging.
    """
    radiated = services_of(project.stations)
    partners = partners_among(project, radiated)
    judges = make_judges(emissions_of(project, area.grid, radiated), rules_of(project), partners)
    minima = tuple(
        minimum_field(project, each.service.frequency_mhz, service=each.service) for each in radiated
    )
    relays = [each.station.role == "relay" for each in radiated]
    roles = make_roles(judges, relays, [each.median_dbuv_m for each in minima])
    if beside is not None:
        roles = replace(roles, pairs=())
    judge, key = network_judge(judges, roles)
    usual = [service_conditions(project, station.services) for station in project.stations]
    later = interfering_conditions(project)
    disturbing = frozenset(interfering_stations(project, radiated, partners))
    task = NetworkTask(
        area,
        project.stations,
        judge,
        key,
        (usual[0], later) if disturbing and any(each != later for each in usual) else (usual[0],),
        project.field_height_m,
        tile_bytes,
        disturbing,
        tuple(offset_over(corrections, each.name, area.grid) for each in project.stations),
        tuple(usual) if len(set(usual)) > 1 else (),
    )
    workspace: Place = (
        beside.within(project.way.name) if beside else place or open_workspace(project, cache_folder)
    )
    result = workspace.work_out(task, progress)
    words = {name: each.words for name, each in corrections.items()}
    return CoverRun(
        area, radiated, minima, disturbers(partners), judges, roles, task, result, workspace, words
    )


def map_reader(run: CoverRun, layer: int) -> ReadMap:
    """Return what reads the maps of a service, by its place in ``run.services`` and 1; 0 is all services."""
    return lambda name: np.array(result_array(run.result, name)[layer])


def field_map_of(run: CoverRun, emission: int) -> FieldMap:
    """Read the field map of an emission, corrected if the study is."""
    layer, station, task = _layer(run, emission), run.radiated[emission].station, run.task
    usual = task.conditions_of(int(run.roles.table["station"][emission]), 0)
    found = field_map_in(layer.kept, run.area.grid, station, layer.service, usual)
    if station.name not in run.corrected:
        return found
    field_dbuv_m = found.field_dbuv_m + np.asarray(layer.offset_db, dtype=np.float32)
    words = {**found.provenance, "local correction": run.corrected[station.name]}
    return replace(found, field_dbuv_m=field_dbuv_m, provenance=words)


def sweep_s(run: CoverRun, emission: int) -> float:
    """Return the time [s] of the sweep that an emission's field is from."""
    return float(_layer(run, emission).kept.about["sweep_s"])


def served_where(run: CoverRun, emission: int) -> Mask:
    """Return where an emission serves, with all on air."""
    return flags_of(result_array(run.result, SERVED), emission)


def predicted_where(run: CoverRun, emission: int) -> Mask:
    """Return where an emission has a prediction."""
    return flags_of(result_array(run.result, PREDICTED), emission)


def judged_alone(run: CoverRun, emission: int) -> tuple[Field, Field]:
    """Judge one emission in every cell with all others on the air: margin [dB], and share of places served.

    Judged anew each time from the files of those that may disturb it; NaN where it has no prediction. The
    margin is that against noise, at most, and exactly where nothing may disturb the emission.
    """
    return judged_with(run, emission, range(len(run.radiated)))


def judged_with(run: CoverRun, emission: int, on_air: Iterable[int]) -> tuple[Field, Field]:
    """Judge one emission as :func:`judged_alone` does, with only some of the others on the air."""
    noise_db = field_map_of(run, emission).field_dbuv_m - run.minima[emission].median_dbuv_m
    others = run.disturbers[emission] & frozenset(on_air)
    air = _mask_of(run, emission, others)
    parts = [judge_emission(run.judges, each, emission, air) for each in _tiles_on_air(run, air)]
    margin_db = np.concatenate([each.margin_db for each in parts])
    share = np.concatenate([each.share for each in parts])
    if others and run.judges.emissions[emission].one_frequency is not None:
        # Its echoes may add: its own field over noise is no bound.
        return margin_db, share
    if others:
        return np.minimum(margin_db, noise_db), share
    return noise_db, share


def fields_by_tile(run: CoverRun, emission: int) -> Iterator[Fields]:
    """Read the fields of an emission and of all that may disturb it, or add to it, tile by tile."""
    return _tiles_on_air(run, _mask_of(run, emission, run.disturbers[emission]))


def heard_at(run: CoverRun, emission: int, cells: npt.NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """Return the fields of an emission [dB(µV/m)], as wanted and as interferer, in flat cells (n,)."""
    found = []
    for later in (False, True):
        layer = _layer(run, emission, later=later)
        values = read_rows(layer.kept, FIELD, layer.service, 0, run.area.grid.rows)
        corrected = values + np.asarray(layer.offset_db, dtype=np.float32)
        found.append(np.asarray(corrected.ravel()[cells], dtype=np.float64))
    return found[0], found[1]


def _mask_of(run: CoverRun, emission: int, others: Iterable[int]) -> Mask:
    """Return which emissions are on the air where one is with some others."""
    air = np.zeros(len(run.radiated), dtype=np.bool_)
    air[[emission, *others]] = True
    return air


def _tiles_on_air(run: CoverRun, on_air: Mask) -> Iterator[Fields]:
    """Read the fields of those on air from north to south, as many rows at a time as a tile may take."""
    rows = rows_a_tile(run.area.grid, 2 * len(run.radiated), run.task.tile_bytes)
    for first, last in row_ranges(run.area.grid, rows):
        yield _fields_on_air(run, on_air, first, last)


def _fields_on_air(run: CoverRun, on_air: Mask, first: int, last: int) -> Fields:
    """Read some rows of the fields of those on air; the others stay empty."""
    x_m, y_m = cell_centres_m(run.area.grid)
    stack = np.full((2, on_air.size, last - first, run.area.grid.columns), np.nan, dtype=np.float32)
    for emission in np.flatnonzero(on_air):
        for at_time in range(2):
            layer = _layer(run, int(emission), later=at_time > 0)
            stack[at_time, emission] = read_rows(layer.kept, FIELD, layer.service, first, last)
            stack[at_time, emission] += layer.offset_in(first, last)
    return Fields(x_m, y_m[first:last], stack[0], stack[1])


def harm_found(run: CoverRun) -> tuple[npt.NDArray[Any], npt.NDArray[Any]]:
    """Return what :func:`combe.planning.count_harm` counts, mapped from files: entries, and doubts."""
    return result_array(run.result, HARM), result_array(run.result, DOUBTFUL)


def _layer(run: CoverRun, emission: int, *, later: bool = False) -> Layer:
    """Return where the field of an emission lies, as wanted or as interferer."""
    station = int(run.roles.table["station"][emission])
    service = emission - int(run.roles.stations[station])
    found = _as_interferer(run, station) if later else run.result.fields[station]
    return Layer(found.kept, service, run.task.offsets_db[station])


def _as_interferer(run: CoverRun, station: int) -> StationFields:
    """Return the fields of a station as interferer, opened once."""
    task = run.task
    if len(task.conditions) == 1 or (task.disturbing is not None and station not in task.disturbing):
        return run.result.fields[station]
    if station not in run.opened:
        run.opened[station] = run.workspace.as_interferer(task, station)
    return run.opened[station]
