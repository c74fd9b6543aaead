"""Where a coverage is worked out: a folder among the caches that a later run takes up, or one for this run.

A folder belongs to a study file, so a study that changes replaces what was there. It is held while a report
of it is in use. A second run of the same study meanwhile works in a folder of its own, which is removed with
its report; what a killed process leaves there, the next run clears away.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import weakref
from collections.abc import Callable
from pathlib import Path
from typing import IO, Final, Protocol, Self

from combe.files import HOLD, ensure_folder, hold_folder
from combe.planning import HeldNetwork, NetworkResult, NetworkTask, network_run
from combe.prediction import FieldMemory, FieldStore, StationFields, open_store, station_fields
from combe.project import Project

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what is being done."""

LARGEST_RUNS_BYTES: Final = 2 << 30
"""How much the judged maps of all studies may take among the caches."""

_RUNS: Final = "runs"
_OWN: Final = "combe-cover-"


class Place(Protocol):
    """Where the network of a coverage is worked out, and its fields are read."""

    def work_out(self, task: NetworkTask, progress: Progress | None) -> NetworkResult:
        """Predict and judge a network; errors as :func:`combe.planning.network.network_run`."""
        ...

    def as_interferer(self, task: NetworkTask, station: int) -> StationFields:
        """Return the fields of a station, by its place in the task, under the last of the conditions."""
        ...

    @property
    def folder(self) -> Path | None:
        """The folder of the run; None for one in memory."""
        ...

    def within(self, name: str) -> Self:
        """Return a place of its own for a run beside this one, with the same fields; it holds this one."""
        ...


class HeldWorkspace:
    """A place in memory, where a coverage that follows changes finds what did not change."""

    def __init__(self, memory: FieldMemory) -> None:
        self._memory = memory
        self._network = HeldNetwork(memory)
        self._inner: dict[str, HeldWorkspace] = {}

    def work_out(self, task: NetworkTask, progress: Progress | None) -> NetworkResult:
        """Predict and judge what changed of a network."""
        return self._network.run(task, progress)

    @property
    def folder(self) -> Path | None:
        """None: nothing is written."""
        return None

    def as_interferer(self, task: NetworkTask, station: int) -> StationFields:
        """Return fields that the memory has, or predict them again."""
        return _last_fields(self._memory, task, station)

    def within(self, name: str) -> HeldWorkspace:
        """Return the place of another way of receiving, the same one each time."""
        if name not in self._inner:
            self._inner[name] = HeldWorkspace(self._memory)
        return self._inner[name]


def _last_fields(store: FieldStore | FieldMemory, task: NetworkTask, station: int) -> StationFields:
    return station_fields(
        store, task.stations[station], conditions=task.conditions[-1], rx_height_m=task.rx_height_m
    )


class Workspace:
    """Folders of a run: ``fields`` of the stations, ``run`` for what is judged; held while this lives."""

    def __init__(self, fields: Path, run: Path, held: IO[bytes] | None, *, passing: bool) -> None:
        self.fields = fields
        self.run = run
        weakref.finalize(self, _let_go, run if passing else None, held)
        self.around: Workspace | None = None

    def work_out(self, task: NetworkTask, progress: Progress | None) -> NetworkResult:
        """Predict and judge a network; what an earlier run left is taken up."""
        return network_run(task, self.run, cache_folder=self.fields, with_fields=True, progress=progress)

    @property
    def folder(self) -> Path | None:
        """The folder of the run."""
        return self.run

    def as_interferer(self, task: NetworkTask, station: int) -> StationFields:
        """Open the fields of a station as interferer."""
        return _last_fields(open_store(task.area, self.fields), task, station)

    def within(self, name: str) -> Workspace:
        """Return a place of its own for a run beside this one, with the same fields; it holds this one."""
        inner = Workspace(self.fields, self.run / name.replace(" ", "-"), None, passing=False)
        inner.around = self
        return inner


def open_workspace(project: Project, cache_folder: Path | None) -> Workspace:
    """Return where to work out a study; without a cache folder nothing is kept.

    Raises
    ------
    OutputError
        A cache folder that cannot be made or written.
    """
    _clear_left_over()
    if cache_folder is None:
        return _passing(None)
    folder = ensure_folder(ensure_folder(cache_folder) / _RUNS / _name(project))
    held = hold_folder(folder)
    if held is None:
        return _passing(cache_folder)
    _trim(folder)
    return Workspace(cache_folder, folder, held, passing=False)


def _passing(fields: Path | None) -> Workspace:
    """Return a folder that goes with the report."""
    folder = Path(tempfile.mkdtemp(prefix=_OWN))
    return Workspace(fields or folder / "fields", folder, hold_folder(folder), passing=True)


def _let_go(remove: Path | None, held: IO[bytes] | None) -> None:
    if remove is not None:
        shutil.rmtree(remove, ignore_errors=True)
    if held is not None:
        held.close()


def _name(project: Project) -> str:
    """Return the name of a study's folder; variants of one file on other grids and models have their own."""
    way = (str(project.way),) if project.way.portable else ()
    words = (project.key, str(project.conditions), str(project.grid), str(project.shown_time_percent), *way)
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:16]


def _trim(spared: Path) -> None:
    """Remove the runs that were not used for longest until the rest fits; those in use stay."""
    os.utime(spared)
    found = sorted((path.stat().st_mtime, path) for path in spared.parent.iterdir() if path.is_dir())
    total = sum(_size(path) for _, path in found)
    for _, path in found:
        if total <= LARGEST_RUNS_BYTES:
            break
        if path != spared:
            total -= _remove_unused(path)


def _clear_left_over() -> None:
    """Remove the folders of runs that were killed before they could; only those of this user."""
    for folder in Path(tempfile.gettempdir()).glob(f"{_OWN}*"):
        if (folder / HOLD).is_file() and os.access(folder, os.W_OK) and not folder.is_symlink():
            _remove_unused(folder)


def _remove_unused(folder: Path) -> int:
    """Remove a folder that nobody holds; return how many bytes went."""
    held = hold_folder(folder)
    if held is None:
        return 0
    size = _size(folder)
    shutil.rmtree(folder, ignore_errors=True)
    held.close()
    return size


def _size(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
