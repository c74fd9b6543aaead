"""A network in memory that follows changes: what did not change is neither predicted nor judged again.

The answer is that of :func:`combe.planning.network.network_run`, bit by bit. Fields of stations are kept
under the keys of the store, so only a station that changed is predicted. Judged maps are kept too, and of
these only the cells are judged again in which the change can matter (:mod:`combe.reception.touched`).
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Final, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

from combe.planning.grid_tiles import Array, Judged, Layer, row_ranges, rows_a_tile, services_of
from combe.planning.network import (
    MOST_JUDGES,
    NetworkResult,
    NetworkTask,
    Progress,
    Steps,
    predict_stations,
    stations_swept,
    tile_of_fields,
)
from combe.planning.tile_judge import HARM, NetworkJudge
from combe.prediction import FIELD, FieldMemory, HeldArrays, StationFields
from combe.reception import Fields, MovedFields, change_of, touched_cells
from combe.terrain import cell_centres_m

MOST_TOUCHED: Final = 0.9
"""Share of the cells from which on all are judged: single cells cost a little more than those of a tile."""

_CELLS_A_BLOCK: Final = 1 << 14
_PARTS_OF_JUDGING: Final = 2
_BEFORE: Final = "margin_before_db"
_MARGINS: Final = ("margin_db", _BEFORE)

Made = TypeVar("Made")
Stations = Sequence[Sequence[StationFields]]
"""The fields of all stations under each of the conditions."""


class _Last(NamedTuple):
    """What was judged last: the task, the fields, and the arrays of the judge over the grid."""

    task: NetworkTask
    fields: Stations
    arrays: Mapping[str, Array]


class HeldNetwork:
    """Predicts and judges one network after another over the same ground, and keeps in memory what it can."""

    def __init__(self, memory: FieldMemory) -> None:
        self._memory = memory
        self._last: _Last | None = None

    def run(self, task: NetworkTask, progress: Progress | None = None) -> NetworkResult:
        """Predict and judge a network, in threads.

        Parameters
        ----------
        task
            What is asked, over the area of the memory; its judge is one of
            :func:`combe.planning.tile_judge.network_judge`.
        progress
            Told how far the work is. An exception that it raises gives the work up, and nothing is lost.
        """
        swept = stations_swept(task)
        sweeps = sum(len(each) for each in swept)
        steps = Steps(progress, sweeps + _PARTS_OF_JUDGING)
        fields = predict_stations(task, self._memory, swept, os.cpu_count() or 1, steps)
        arrays = self._judged(task, fields, steps)
        for array in arrays.values():
            # Every answer reads them, those to come too.
            array.setflags(write=False)
        # Only now: a run that is given up leaves what was there.
        self._last = _Last(task, fields, arrays)
        return NetworkResult(
            arrays=arrays,
            sweeps=sweeps,
            sweeps_from_cache=sum(
                fields[number][station].from_cache for number, each in enumerate(swept) for station in each
            ),
            tiles=1,
            tiles_from_before=0,
            fields=tuple(fields[0]),
        )

    def _judged(self, task: NetworkTask, fields: Stations, steps: Steps) -> Mapping[str, Array]:
        last = self._last
        if last is None or not _alike(last.task, task) or len(last.fields) != len(fields):
            return _judge_all(task, fields, steps)
        moved = [
            emission
            for emission, layers in enumerate(zip(*_layers(last.task, last.fields), strict=True))
            if not _same(layers, [each[emission] for each in _layers(task, fields)])
        ]
        if not moved:
            return last.arrays
        touched = _touched(last, task, fields, moved, steps)
        if touched.mean() > MOST_TOUCHED:
            return _judge_all(task, fields, steps)
        return _judge_again(last.arrays, task, fields, np.flatnonzero(touched), moved, steps)


def _alike(one: NetworkTask, other: NetworkTask) -> bool:
    """Return whether two tasks differ in nothing but where stations are, and so in fields."""
    a, b = one.judge, other.judge
    if not (isinstance(a, NetworkJudge) and isinstance(b, NetworkJudge)) or one.area is not other.area:
        return False
    scenes = [each.judges.scene.emissions.copy() for each in (a, b)]
    for scene in scenes:
        scene["x_m"] = scene["y_m"] = 0.0
    pairs = [each.judges.scene.pairs for each in (a, b)]
    roles = [each.roles.table for each in (a, b)]
    return (
        all(x.tobytes() == y.tobytes() for x, y in (scenes, pairs, roles))
        and a.judges.share == b.judges.share
        and a.roles.services == b.roles.services
        and [pair.victim for pair in a.roles.pairs] == [pair.victim for pair in b.roles.pairs]
        and len(one.stations) == len(other.stations)
    )


def _layers(task: NetworkTask, fields: Stations) -> Sequence[Sequence[Layer]]:
    """Return where the field of each emission is kept, by the conditions."""
    return tile_of_fields(task, fields, 0, 0).layers


def _same(one: Sequence[Layer], other: Sequence[Layer]) -> bool:
    return all(
        a.kept is b.kept and a.service == b.service and np.array_equal(a.offset_db, b.offset_db)
        for a, b in zip(one, other, strict=True)
    )


def _touched(
    last: _Last, task: NetworkTask, fields: Stations, moved: Sequence[int], steps: Steps
) -> npt.NDArray[np.bool_]:
    """Return the cells in which the fields of the moved emissions may matter, bool (rows, columns)."""
    assert isinstance(task.judge, NetworkJudge), "asked before"
    change = change_of(task.judge.judges, task.judge.roles, moved)
    old, new = _layers(last.task, last.fields), _layers(task, fields)

    def part(first: int, end: int) -> npt.NDArray[np.bool_]:
        def rows(layers: Sequence[Layer], emissions: Sequence[int]) -> npt.NDArray[np.float32]:
            return _stacked([_rows(layers[each], first, end) for each in emissions], end - first, task)

        was, now = (MovedFields(rows(layers[0], moved), rows(layers[-1], moved)) for layers in (old, new))
        wanted = rows(new[0], change.wanted)
        margins = [np.ascontiguousarray(last.arrays[name][1:, first:end]) for name in _MARGINS]
        return touched_cells(change, was, now, wanted, *margins)

    grid = task.area.grid
    ranges = row_ranges(grid, max(_CELLS_A_BLOCK * 2 // grid.columns, 1))
    return np.concatenate(list(_in_threads(part, ranges, steps, "what the change can touch")))


def _rows(layer: Layer, first: int, end: int) -> npt.NDArray[np.float32]:
    rows: npt.NDArray[np.float32] = _array(layer)[first:end]
    return rows + layer.offset_in(first, end) if np.any(layer.offset_db) else rows


def _array(layer: Layer) -> npt.NDArray[np.float32]:
    assert isinstance(layer.kept, HeldArrays), "a memory gives arrays"
    field: npt.NDArray[np.float32] = layer.kept.arrays[FIELD][layer.service]
    return field


def _stacked(
    rows: Sequence[npt.NDArray[np.float32]], count: int, task: NetworkTask
) -> npt.NDArray[np.float32]:
    return np.stack(rows) if rows else np.empty((0, count, task.area.grid.columns), dtype=np.float32)


def _judge_all(task: NetworkTask, fields: Stations, steps: Steps) -> Mapping[str, Array]:
    """Judge the whole grid, tile by tile."""
    emissions = len(services_of(task.stations)) * len(fields)
    rows = min(
        rows_a_tile(task.area.grid, emissions, task.tile_bytes),
        max(task.area.grid.rows // (2 * MOST_JUDGES), 1),
    )
    ranges = row_ranges(task.area.grid, rows)

    def part(first: int, end: int) -> Judged:
        return task.judge(tile_of_fields(task, fields, first, end))

    parts = list(_in_threads(part, ranges, steps, "judging the cells"))
    return {
        name: np.concatenate([each[name] for each in parts], axis=0 if name == HARM else -2)
        for name in parts[0]
    }


def _judge_again(
    before: Mapping[str, Array],
    task: NetworkTask,
    fields: Stations,
    cells: npt.NDArray[np.intp],
    moved: Sequence[int],
    steps: Steps,
) -> Mapping[str, Array]:
    """Return the arrays with some cells, by their flat numbers, judged again."""
    judge, grid, layers = task.judge, task.area.grid, _layers(task, fields)
    assert isinstance(judge, NetworkJudge), "asked before"
    # With the parents alone on the air nothing is otherwise where relays moved.
    parents = not (judge.parents_have_all and judge.roles.table["relay"][list(moved)].all())
    x_m, y_m = cell_centres_m(grid)

    def part(first: int, end: int) -> Judged:
        some = cells[first:end]
        row, column = np.divmod(some, grid.columns)
        heard = [np.stack([_at(layer, some) for layer in each])[:, None] for each in layers]
        return judge.judge_fields(
            Fields(x_m[column][None], y_m[row][None], heard[0], heard[-1]), before=parents
        )

    blocks = [(at, min(at + _CELLS_A_BLOCK, cells.size)) for at in range(0, cells.size, _CELLS_A_BLOCK)]
    arrays = {name: array.copy() for name, array in before.items() if name != HARM}
    touched = np.zeros(grid.rows * grid.columns, dtype=np.bool_)
    touched[cells] = True
    harm = [before[HARM][~touched[before[HARM][:, 1]]]]
    parts = _in_threads(part, blocks, steps, "judging the cells")
    for (first, end), judged in zip(blocks, parts, strict=True):
        for name, array in arrays.items():
            if name == _BEFORE and not parents:
                continue
            array.reshape(*array.shape[:-2], -1)[..., cells[first:end]] = judged[name][..., 0, :]
        entries = judged[HARM].copy()
        entries[:, 1] = cells[first:end][entries[:, 1]]
        harm.append(entries)
    return {**arrays, HARM: np.concatenate(harm)}


def _at(layer: Layer, cells: npt.NDArray[np.intp]) -> npt.NDArray[np.float32]:
    """Return the field of an emission in some cells, by their flat numbers."""
    field: npt.NDArray[np.float32] = _array(layer).ravel()[cells]
    offset = np.asarray(layer.offset_db, dtype=np.float32)
    return field + (offset.ravel()[cells] if offset.ndim else offset)


def _in_threads(
    part: Callable[[int, int], Made], ranges: Sequence[tuple[int, int]], steps: Steps, what: str
) -> Iterator[Made]:
    """Yield what is made of each range, in order, and tell of each; none is begun after a stop."""
    pool = ThreadPoolExecutor(min(os.cpu_count() or 1, MOST_JUDGES))
    try:
        for made in pool.map(lambda each: part(*each), ranges):
            steps.tell(0.5, what)
            yield made
        steps.end(what)
    finally:
        pool.shutdown(cancel_futures=True)
