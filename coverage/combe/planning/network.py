"""Judges a network of any number of stations over the study grid, tile by tile, and resumes when interrupted.

First the stations whose fields are not in the store are predicted, one after the other. Then the tiles are
judged, each with the fields of all stations in its rows. Then the tiles are put together. Each step leaves a
whole file or none, so a run that is killed goes on from there, and ends with the same bytes.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning.grid_tiles import (
    TILE_BYTES,
    Judge,
    Layer,
    RunFolder,
    Tile,
    assemble,
    find_finished,
    judged_tile,
    open_run,
    row_ranges,
    rows_a_tile,
    services_of,
)
from combe.prediction import (
    Area,
    Conditions,
    FieldMemory,
    FieldStore,
    SealedFile,
    StationFields,
    array_hash,
    content_hash,
    field_key,
    open_store,
    program_salt,
    station_fields,
    trim_store,
)
from combe.stations import Station

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what is being done."""

MOST_JUDGES: Final = 4
"""Tiles that are judged at the same time, at most, so that memory does not grow with the machine."""

_STEPS: Final = 100


@dataclass(frozen=True)
class NetworkTask:
    """What is asked of a network.

    Parameters
    ----------
    area
        Study grid and the terrain under it.
    stations
        At least one; each on the grid.
    judge
        Judges one tile; several are judged at once, in threads. Its answer for a cell must not depend on the
        other cells of the tile.
    judge_key
        Words that change with everything the judge goes by beside the tile: standards, thresholds, options.
        The sources of Combe need not be told.
    conditions
        Models and air to predict for, such as 50 % and 1 % of time; at least one. A tile has the fields of
        each.
    rx_height_m
        Receiving aerials above ground [m].
    tile_bytes
        How much the fields of one tile may take.
    disturbing
        Which stations, by their place, are predicted under the conditions after the first too; the others
        have the same fields there. All of them if not given.
    offsets_db
        What is added to the fields of each station [dB], a number or an array over the grid; nothing if not
        given.
    first_conditions
        Of each station, in place of the first of the conditions, where these differ.

    Raises
    ------
    RangeError
        Without stations or conditions, or for another number of offsets than of stations.
    """

    area: Area
    stations: tuple[Station, ...]
    judge: Judge
    judge_key: str
    conditions: tuple[Conditions, ...] = (Conditions(),)
    rx_height_m: float = 10.0
    tile_bytes: int = TILE_BYTES
    disturbing: frozenset[int] | None = None
    offsets_db: tuple[float | FloatArray, ...] = ()
    first_conditions: tuple[Conditions, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "stations", tuple(self.stations))
        object.__setattr__(self, "conditions", tuple(self.conditions))
        for name, given in (("stations", self.stations), ("conditions", self.conditions)):
            if not given:
                raise RangeError(f"number of {name}", 0, "1 or more")
        if self.offsets_db and len(self.offsets_db) != len(self.stations):
            raise RangeError(
                "number of offsets", len(self.offsets_db), f"{len(self.stations)}, one a station"
            )

    def conditions_of(self, station: int, number: int) -> Conditions:
        """Return one of the conditions, by its number, as it is for a station."""
        own = self.first_conditions if number == 0 else ()
        return own[station] if own else self.conditions[number]


@dataclass(frozen=True)
class NetworkResult:
    """The judged arrays of a network, as files or in memory, and how much of the work was found done.

    ``arrays``: each array or its NumPy file, shape (..., rows, columns), row 0 north. A sweep is one station
    under one of the conditions. ``fields`` are the files of each station under the first of them; none where
    a finished run was found and nobody asked.
    """

    arrays: Mapping[str, Path | npt.NDArray[Any]]
    sweeps: int
    sweeps_from_cache: int
    tiles: int
    tiles_from_before: int
    fields: tuple[StationFields, ...] = ()


def network_run(
    task: NetworkTask,
    folder: Path,
    *,
    cache_folder: Path | None = None,
    threads: int | None = None,
    with_fields: bool = False,
    progress: Progress | None = None,
) -> NetworkResult:
    """Predict and judge a network; what an earlier run left is taken up.

    Parameters
    ----------
    task
        What is asked.
    folder
        Where the results go; made if needed. A run of another task in the same folder is replaced.
    cache_folder
        Where the fields of stations are kept; among the caches of the user if not given.
    threads
        Threads to use; all cores if not given. The result does not depend on it.
    with_fields
        Whether the fields under the first of the conditions are wanted, though a finished run is found.
    progress
        Told how far the work is.

    Raises
    ------
    RangeError, TerrainGapError
        A station outside the grid or on a void, before anything is predicted; or arrays of the judge that are
        not the tile's.
    OutputError, StoreError
        A folder that cannot be written, or files that are removed meanwhile.
    """
    store = open_store(task.area, cache_folder)
    rows = _rows(task)
    run = open_run(folder, _run_key(task, store, rows))
    ranges = row_ranges(task.area.grid, rows)
    swept = stations_swept(task)
    sweeps = sum(len(each) for each in swept)
    workers = threads or os.cpu_count() or 1
    finished = find_finished(run)
    if finished is not None:
        again = swept[:1] if with_fields else []
        fields = predict_stations(task, store, again, workers, Steps(progress, len(swept[0])))
        made = tuple(each for of_condition in fields for each in of_condition)
        missed = sum(not each.from_cache for each in made)
        return NetworkResult(finished, sweeps, sweeps - missed, len(ranges), len(ranges), made)
    steps = Steps(progress, sweeps + len(ranges))
    fields = predict_stations(task, store, swept, workers, steps)
    # Only now, and never what this run is about to read.
    trim_store(store, spared=_files(fields))
    tiles = [tile_of_fields(task, fields, first, last) for first, last in ranges]
    judged = _judge(task, run, tiles, workers, steps)
    return NetworkResult(
        arrays=assemble(run, [sealed for sealed, _ in judged], task.area.grid),
        sweeps=sweeps,
        sweeps_from_cache=sum(
            fields[number][station].from_cache for number, each in enumerate(swept) for station in each
        ),
        tiles=len(tiles),
        tiles_from_before=sum(before for _, before in judged),
        fields=tuple(fields[0]),
    )


def result_array(result: NetworkResult, name: str) -> npt.NDArray[Any]:
    """Return one array of a result, mapped from its file and not read before it is used.

    Raises
    ------
    RangeError
        For a name that the judge did not give.
    """
    if name not in result.arrays:
        raise RangeError("array", repr(name), ", ".join(result.arrays))
    kept = result.arrays[name]
    if isinstance(kept, np.ndarray):
        return kept
    # No pickle: a file that somebody exchanged must not run code.
    array: npt.NDArray[Any] = np.load(kept, mmap_mode="r", allow_pickle=False)
    return array


@dataclass
class Steps:
    """Counts steps and tells them; the only thing here that changes."""

    progress: Progress | None
    parts: int
    done: int = 0

    def tell(self, share: float, what: str) -> None:
        """Tell that a share of the present part is done."""
        if self.progress is not None:
            self.progress(self.done + round(_STEPS * share), _STEPS * self.parts, what)

    def end(self, what: str) -> None:
        """Tell that the present part is done."""
        self.tell(1.0, what)
        self.done += _STEPS


def _rows(task: NetworkTask) -> int:
    fields = len(services_of(task.stations)) * len(task.conditions)
    return rows_a_tile(task.area.grid, fields, task.tile_bytes)


def _run_key(task: NetworkTask, store: FieldStore, rows: int) -> str:
    """Return the hash of all that makes the result; finds stations that cannot be predicted."""
    keys = [
        field_key(
            task.area,
            store.area_key,
            task.stations[station],
            task.conditions_of(station, number),
            task.rx_height_m,
        )
        for number in range(len(task.conditions))
        for station in _swept(task, number)
    ]
    return content_hash(
        {
            "fields": keys,
            "disturbing": _swept(task, len(task.conditions) - 1),
            "stations": [asdict(station) for station in task.stations],
            "judge": task.judge_key,
            "offsets": [
                array_hash(each) if isinstance(each, np.ndarray) else each for each in task.offsets_db
            ],
            "rows a tile": rows,
            "program": program_salt(None),
        }
    )


def stations_swept(task: NetworkTask) -> list[list[int]]:
    """Return for each of the conditions the stations that are predicted under it."""
    return [_swept(task, number) for number in range(len(task.conditions))]


def _swept(task: NetworkTask, number: int) -> list[int]:
    every = range(len(task.stations))
    return [each for each in every if number == 0 or task.disturbing is None or each in task.disturbing]


def predict_stations(
    task: NetworkTask,
    store: FieldStore | FieldMemory,
    swept: Sequence[Sequence[int]],
    workers: int,
    steps: Steps,
) -> list[list[StationFields]]:
    """Return the fields of all stations under each of the conditions."""
    fields: list[list[StationFields]] = []
    for condition, stations in enumerate(swept):
        # Stations that disturb nobody are not predicted for the rare time; the median holds their places in
        # the list.
        made = list(fields[0]) if fields else []
        for number in stations:
            station, conditions = task.stations[number], task.conditions_of(number, condition)
            what = f"coverage of {station.name}, {conditions.time_percent:g} % of time"
            fields_made = station_fields(
                store,
                station,
                conditions=conditions,
                rx_height_m=task.rx_height_m,
                threads=workers,
                progress=lambda share, what=what: steps.tell(min(share, 0.99), what),  # type: ignore[misc]
            )
            made[number : number + 1] = [fields_made]
            steps.end(what)
        fields.append(made)
    return fields


def _files(fields: Sequence[Sequence[StationFields]]) -> set[Path]:
    """Return the files in which fields are kept."""
    return {each.kept.path for made in fields for each in made if isinstance(each.kept, SealedFile)}


def tile_of_fields(
    task: NetworkTask, fields: Sequence[Sequence[StationFields]], first: int, last: int
) -> Tile:
    """Return rows of the grid with the fields of all stations, by the conditions."""
    offsets_db = task.offsets_db or (0.0,) * len(task.stations)
    layers = tuple(
        tuple(
            Layer(each.kept, service, offset_db)
            for each, station, offset_db in zip(made, task.stations, offsets_db, strict=True)
            for service in range(len(station.services))
        )
        for made in fields
    )
    return Tile(task.area.grid, first, last, services_of(task.stations), layers)


def _judge(
    task: NetworkTask, run: RunFolder, tiles: Sequence[Tile], workers: int, steps: Steps
) -> list[tuple[SealedFile, bool]]:
    """Return the file of each judged tile, and whether it was there before."""
    judged = []
    pool = ThreadPoolExecutor(min(workers, MOST_JUDGES))
    try:
        for done in pool.map(lambda tile: judged_tile(run, tile, task.judge), tiles):
            judged.append(done)
            steps.end("judging the cells")
    finally:
        # After an error, or where the run is stopped, no further tile is begun.
        pool.shutdown(cancel_futures=True)
    return judged
