"""A study at work on the desk: its edits with undo and redo, its variants, and the answers to each state.

One state is the present one. It is replaced as a whole, so whoever reads while the next is worked out reads
of one state alone; and an edit that is at fault, or given up, leaves it as it was.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

from combe.answers.live_cover import LiveCover, never
from combe.answers.site import HILLS_WORTH
from combe.answers.site_candidates import Candidate
from combe.answers.site_report import site_report
from combe.answers.workspace import Progress
from combe.compile_watch import told_of_compiling
from combe.desk import views
from combe.desk.protocol import Layer, Stop, Told
from combe.desk.settled import Edit, Settled, told_by_names, with_edit
from combe.desk.variants import Variant, variant_row
from combe.errors import Cancelled, CombeError, RangeError, did_you_mean, quoted, require_name
from combe.study.edit import edited
from combe.study.file import Study, checked_study, checked_table, read_study
from combe.study.project_of import Rasters, open_rasters, project_of
from combe.study.save import write_study

SKETCHED_CELLS: Final = 3
"""A cell of a sketch is as wide as so many of the study."""

_SKETCHES_BYTES: Final = 16 << 20

MOST_VARIANTS: Final = 12
"""Each keeps its maps in memory."""

_COVERED_SHARE: Final = 0.4
"""About what of a search for hills has gone when it knows who lacks a service, and looks at the hills."""

_NEARLY: Final = 0.99
"""All of the share that can be told before the answer is there."""


class _Step(NamedTuple):
    """A state in the history, by what leads to it; what it was found to be is worked out again."""

    edits: tuple[Edit, ...]
    table: Mapping[str, Any]


class _Present(NamedTuple):
    """The present state, and its place in the history."""

    settled: Settled
    steps: tuple[_Step, ...]
    at: int = 0
    revision: int = 1

    def after(self, edits: tuple[Edit, ...], table: Mapping[str, Any]) -> tuple[tuple[_Step, ...], int]:
        """Return the history with another step behind this one, and that step's place."""
        return (*self.steps[: self.at + 1], _Step(edits, table)), self.at + 1


class _File(NamedTuple):
    """The study's file: what it was when it was read, and the table and numbers that this stands for here."""

    study: Study
    read: Mapping[str, Any]
    table: Mapping[str, Any]
    numbers: Mapping[str, Any]


class _Hills(NamedTuple):
    """How far a search for hills is."""

    state: str = "none"
    share: float = 0.0
    found: tuple[Candidate, ...] = ()
    fault: str | None = None


class DeskSession:
    """The session of one study; see :class:`combe.desk.protocol.Session`.

    What changes here is replaced as a whole, each in one assignment: so who reads needs no lock, and takes
    what is read of one subject at once.

    Parameters
    ----------
    study
        As its file has it, without faults.
    table
        Its table, with stations of a table behind those of the file.
    progress
        Told how far the first state is.
    """

    def __init__(self, study: Study, table: Mapping[str, Any], progress: Progress | None = None) -> None:
        self._study = study
        self._rasters: Rasters = open_rasters(study)
        self._fine, self._rough = LiveCover(), LiveCover(SKETCHED_CELLS, _SKETCHES_BYTES)
        first = _Step((), table)
        self._present = _Present(self._settle(first, never, progress), (first,))
        self._file = _File(study, table, table, views.numbers_of_file(self._now))
        self._variants: Mapping[str, Variant] = {}
        self._hills = _Hills()

    @property
    def _now(self) -> Settled:
        return self._present.settled

    def page(self) -> str:
        """Return the whole page."""
        return views.page_of(self._now, f"{self._study.path.stem}-2.toml")

    def state(self, ranges: bool = True) -> dict[str, Any]:
        """Return the numbers of the present state; without the ranges of its people where these may wait."""
        present, file, hills = self._present, self._file, self._hills
        now = present.settled
        return {
            **views.state_of(now, ranges=ranges),
            "revision": present.revision,
            "undo": present.at,
            "redo": len(present.steps) - 1 - present.at,
            "changed": now.table != file.table,
            "file": file.numbers,
            "patterns": self._patterns(now),
            "variants": [each.row for each in self._variants.values()],
            "hills": {"none": None, "running": "running"}.get(hills.state, len(hills.found)),
        }

    def edit(self, edit: Edit, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make one edit and return the new state."""
        now = self._now
        step = self._present.after(with_edit(now.edits, edit), edited(now.table, edit))
        return self._go(*step, stop, ranges)

    def undo(self, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Take the last edit back."""
        return self._move(-1, "undone", stop, ranges)

    def redo(self, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make the edit again that was taken back last."""
        return self._move(1, "made again", stop, ranges)

    def replay(self, edits: Sequence[Edit], stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make these edits on the study of the file; they are one step."""
        made, table = self._present.steps[0]
        for edit in edits:
            made, table = with_edit(made, edit), edited(table, edit)
        return self._go(*self._present.after(made, table), stop, ranges)

    def sketch(self, edit: Edit, stop: Stop) -> Layer:
        """Return a coarse preview of an edit, which is not kept."""
        now = self._now
        table = edited(now.table, edit)
        with told_by_names(table):
            project = project_of(checked_table(self._study, table), self._rasters)
            sketch = self._rough.sketch(project, stop)
        return views.sketch_of(sketch, now.report.grid, self._rough.every)

    def layers(self) -> list[dict[str, Any]]:
        """List the layers that can be shown."""
        return views.layers_of(self._now)

    def layer(self, key: str, variant: str | None) -> Layer:
        """Return one layer, of the present state or of a variant."""
        present = self._present
        found = views.layer_of(present.settled if variant is None else self._variant(variant).settled, key)
        found.headers["X-Combe-Revision"] = str(present.revision)
        return found

    def marks(self) -> dict[str, Any]:
        """Return how each mark of people stands."""
        return views.marks_of(self._now)

    def explain(self, longitude_deg: float, latitude_deg: float) -> dict[str, Any]:
        """Explain one place."""
        return views.explained(self._now, longitude_deg, latitude_deg)

    def feed(self, station: str) -> dict[str, Any]:
        """Return the feed of a relay."""
        return views.feed_of(self._now, station)

    def start_hills(self, told: Told, stop: Stop) -> None:
        """Search for hills, and return when that is done."""

        def tell(done: int, steps: int, what: str) -> None:
            if stop():
                raise Cancelled
            whole = done / steps
            share = _COVERED_SHARE * whole
            if what == HILLS_WORTH:
                share = _COVERED_SHARE + (_NEARLY - _COVERED_SHARE) * whole
            # Several parts of the work count from their own beginning.
            self._hills = _Hills("running", max(self._hills.share, share))
            told(self._hills.share)

        now, self._hills = self._now, _Hills("running")
        over = _Hills()
        try:
            with told_by_names(now.table), tempfile.TemporaryDirectory(prefix="combe-desk-") as folder:
                found = site_report(now.project, Path(folder), progress=tell).candidates
            over = _Hills("done", 1.0, tuple(found))
        except Cancelled:
            raise
        except CombeError as error:
            over = _Hills(fault=str(error))
            raise
        finally:
            self._hills = over

    def hills(self) -> dict[str, Any]:
        """Return what is found of hills, or why nothing is."""
        hills = self._hills
        found = [views.hill_of(each) for each in hills.found]
        return {"state": hills.state, "share": hills.share, "hills": found, "fault": hills.fault}

    def keep(self, name: str) -> dict[str, Any]:
        """Keep the present state as a variant, in place of one of that name."""
        require_name("name of a variant", name)
        if len({*self._variants, name}) > MOST_VARIANTS:
            raise RangeError("variants", MOST_VARIANTS, f"at most {MOST_VARIANTS}", "drop one first")
        self._variants = {**self._variants, name: Variant(self._now, variant_row(name, self._now))}
        return self.state()

    def show(self, name: str, stop: Stop, ranges: bool = True) -> dict[str, Any]:
        """Make a variant the present state."""
        variant = self._variant(name).settled
        return self._go(*self._present.after(variant.edits, variant.table), stop, ranges)

    def forget(self, name: str) -> dict[str, Any]:
        """Remove a variant."""
        gone = self._variant(name)
        self._variants = {key: each for key, each in self._variants.items() if each is not gone}
        return self.state()

    def save(self, path: str, overwrite: bool) -> dict[str, Any]:
        """Write the present state as a study file."""
        file, now = self._file, self._now
        saved = write_study(file.study, file.read, now.table, path, overwrite=overwrite)
        if saved.path.samefile(file.study.path):
            # What is saved next is held against the file as it is now.
            reading = read_study(file.study.path)
            numbers = views.numbers_of_file(now)
            self._file = _File(checked_study(reading), reading.table, now.table, numbers)
        return {"path": str(saved.path), "changed": list(saved.changed)}

    def _variant(self, name: str) -> Variant:
        variants = self._variants
        if name not in variants:
            kept = ", ".join(variants) or "none is kept"
            raise RangeError("variant", quoted(name), kept, did_you_mean(name, variants))
        return variants[name]

    def _move(self, by: int, what: str, stop: Stop, ranges: bool) -> dict[str, Any]:
        at, steps = self._present.at + by, self._present.steps
        if not 0 <= at < len(steps):
            raise RangeError("step", "none", f"an edit that can be {what}", f"nothing is left to be {what}")
        return self._go(steps, at, stop, ranges)

    def _go(self, steps: tuple[_Step, ...], at: int, stop: Stop, ranges: bool) -> dict[str, Any]:
        """Settle a step and make it the present one; all stays as it was where that fails."""
        settled = self._settle(steps[at], stop)
        self._present = _Present(settled, steps, at, self._present.revision + 1)
        return self.state(ranges)

    def _settle(self, step: _Step, stop: Stop, progress: Progress | None = None) -> Settled:
        started = time.perf_counter()
        if not step.edits:
            # The file's own faults are told with their places in it.
            return self._settled(step, self._study, started, stop, progress)
        with told_by_names(step.table):
            return self._settled(step, checked_table(self._study, step.table), started, stop, progress)

    def _settled(
        self, step: _Step, study: Study, started: float, stop: Stop, progress: Progress | None
    ) -> Settled:
        project = project_of(study, self._rasters)
        report = self._fine.cover(project, stop, progress)
        return Settled(step.edits, step.table, study, project, report, time.perf_counter() - started)

    def _patterns(self, now: Settled) -> list[str]:
        """Return the patterns that may be chosen: those of the study, and tables that lie beside it."""
        named = [
            name
            for station in now.study.content.stations
            for name in (station.horizontal_pattern, station.vertical_pattern)
        ]
        beside = sorted(path.name for path in self._study.path.parent.glob("*pattern*.csv"))
        return list(dict.fromkeys(["omni", *named, *beside]))


def _to_nobody(words: str) -> None:
    """Tell nobody."""


def open_session(study: Path, told: Callable[[str], None] = _to_nobody) -> DeskSession:
    """Open a study on the desk; ``told`` hears in words how far that is, from whatever thread does it.

    Raises
    ------
    StudyError
        With every fault of the file.
    RasterError, TableError, TerrainGapError, RangeError
        What it names cannot be used, or what it asks is impossible.
    """
    spent_s, at, last = 0.0, "Ground and people are read", ""

    def tell() -> None:
        nonlocal last
        compiled = (
            f"; {spent_s:.0f} s went into compiling kernels, as a first run has to" if spent_s >= 1.0 else ""
        )
        if last != f"{at}{compiled}.":
            last = f"{at}{compiled}."
            told(last)

    def compiling(seconds: float) -> None:
        nonlocal spent_s
        spent_s += seconds
        tell()

    def progress(done: int, steps: int, what: str) -> None:
        nonlocal at
        at = f"{what}, {100 * done // steps} % of all done"
        tell()

    reading = read_study(study)
    checked = checked_study(reading)
    tell()
    with told_of_compiling(compiling):
        return DeskSession(checked, reading.table, progress)
