"""A study at work on the desk: its edits with undo and redo, its variants, and the answers to each state.

One state is the present one. It is replaced as a whole, so whoever reads while the next is worked out reads
of one state alone; and an edit that is at fault, or given up, leaves it as it was.
"""

from __future__ import annotations

import tempfile
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from combe.answers.live_cover import LiveCover, never
from combe.answers.site_candidates import Candidate
from combe.answers.site_report import site_report
from combe.desk import views
from combe.desk.protocol import Layer, Stop, Told
from combe.desk.settled import Edit, Settled, with_edit
from combe.desk.variants import Variant, variant_row
from combe.errors import Cancelled, RangeError, did_you_mean, quoted, require_name
from combe.study.edit import edited
from combe.study.file import Study, checked_study, checked_table, read_study
from combe.study.project_of import Rasters, open_rasters, project_of
from combe.study.save import write_study

SKETCHED_CELLS: Final = 3
"""A cell of a sketch is as wide as so many of the study."""

_SKETCHES_BYTES: Final = 64 << 20


@dataclass(frozen=True)
class _Step:
    """A state in the history: what leads to it, and what it was found to be, if that is still known."""

    edits: tuple[Edit, ...]
    table: Mapping[str, Any] = field(repr=False)


class DeskSession:
    """The session of one study; see :class:`combe.desk.protocol.Session`.

    Parameters
    ----------
    study
        As its file has it, without faults.
    table
        Its table, with stations of a table behind those of the file.
    """

    def __init__(self, study: Study, table: Mapping[str, Any]) -> None:
        self._study = study
        self._written = study, table
        self._rasters: Rasters = open_rasters(study)
        self._fine, self._rough = LiveCover(), LiveCover(SKETCHED_CELLS, _SKETCHES_BYTES)
        self._steps = [_Step((), table)]
        self._at, self._revision = 0, 1
        self._in_file = table
        self._variants: dict[str, Variant] = {}
        self._hills: list[Candidate] | str | None = None
        self._share = 0.0
        self._guard = threading.Lock()
        self._now = self._settle(self._steps[0], never)

    def page(self) -> str:
        """Return the whole page."""
        return views.page_of(self._now, f"{self._study.path.stem}-2.toml")

    def state(self) -> dict[str, Any]:
        """Return the numbers of the present state."""
        with self._guard:
            now, at, revision = self._now, self._at, self._revision
            redo = len(self._steps) - 1 - at
        found = self._hills
        return {
            **views.state_of(now),
            "revision": revision,
            "undo": at,
            "redo": redo,
            "changed": now.table != self._in_file,
            "patterns": self._patterns(now),
            "variants": [each.row for each in self._variants.values()],
            "hills": len(found) if isinstance(found, list) else found,
        }

    def edit(self, edit: Edit, stop: Stop) -> dict[str, Any]:
        """Make one edit and return the new state."""
        now = self._now
        step = _Step(with_edit(now.edits, edit), edited(now.table, edit))
        return self._go(step, [*self._steps[: self._at + 1], step], self._at + 1, stop)

    def undo(self, stop: Stop) -> dict[str, Any]:
        """Take the last edit back."""
        return self._move(-1, "undone", stop)

    def redo(self, stop: Stop) -> dict[str, Any]:
        """Make the edit again that was taken back last."""
        return self._move(1, "made again", stop)

    def replay(self, edits: Sequence[Edit], stop: Stop) -> dict[str, Any]:
        """Make these edits on the study of the file; they are one step."""
        made: tuple[Edit, ...] = ()
        table: Mapping[str, Any] = self._steps[0].table
        for edit in edits:
            made, table = with_edit(made, edit), edited(table, edit)
        step = _Step(made, table)
        return self._go(step, [*self._steps[: self._at + 1], step], self._at + 1, stop)

    def sketch(self, edit: Edit, stop: Stop) -> Layer:
        """Return a coarse preview of an edit, which is not kept."""
        now = self._now
        study = checked_table(self._study, edited(now.table, edit))
        sketch = self._rough.sketch(project_of(study, self._rasters), stop)
        return views.sketch_of(sketch, now.report.grid)

    def layers(self) -> list[dict[str, Any]]:
        """List the layers that can be shown."""
        return views.layers_of(self._now)

    def layer(self, key: str, variant: str | None) -> Layer:
        """Return one layer, of the present state or of a variant."""
        found = views.layer_of(self._now if variant is None else self._variant(variant).settled, key)
        found.headers["X-Combe-Revision"] = str(self._revision)
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
            del what
            if stop():
                raise Cancelled
            self._share = done / steps
            told(self._share)

        self._hills, self._share = "running", 0.0
        found: list[Candidate] | None = None
        try:
            with tempfile.TemporaryDirectory(prefix="combe-desk-") as folder:
                found = list(site_report(self._now.project, Path(folder), progress=tell).candidates)
        finally:
            self._hills = found

    def hills(self) -> dict[str, Any]:
        """Return what is found of hills."""
        found = self._hills
        if not isinstance(found, list):
            return {"state": found or "none", "share": self._share, "hills": []}
        return {"state": "done", "share": 1.0, "hills": [views.hill_of(each) for each in found]}

    def keep(self, name: str) -> dict[str, Any]:
        """Keep the present state as a variant, in place of one of that name."""
        require_name("name of a variant", name)
        self._variants[name] = Variant(self._now, variant_row(name, self._now))
        return self.state()

    def show(self, name: str, stop: Stop) -> dict[str, Any]:
        """Make a variant the present state."""
        variant = self._variant(name).settled
        step = _Step(variant.edits, variant.table)
        return self._go(step, [*self._steps[: self._at + 1], step], self._at + 1, stop)

    def forget(self, name: str) -> dict[str, Any]:
        """Remove a variant."""
        self._variant(name)
        del self._variants[name]
        return self.state()

    def save(self, path: str, overwrite: bool) -> dict[str, Any]:
        """Write the present state as a study file."""
        (study, before), now = self._written, self._now
        saved = write_study(study, before, now.table, path, overwrite=overwrite)
        if saved.path.samefile(study.path):
            # What is saved next is held against the file as it is now.
            reading = read_study(study.path)
            self._written, self._in_file = (checked_study(reading), reading.table), now.table
        return {"path": str(saved.path), "changed": list(saved.changed)}

    def _variant(self, name: str) -> Variant:
        if name not in self._variants:
            kept = ", ".join(self._variants) or "none is kept"
            raise RangeError("variant", quoted(name), kept, did_you_mean(name, self._variants))
        return self._variants[name]

    def _move(self, by: int, what: str, stop: Stop) -> dict[str, Any]:
        at = self._at + by
        if not 0 <= at < len(self._steps):
            raise RangeError("step", "none", f"an edit that can be {what}", f"nothing is left to be {what}")
        return self._go(self._steps[at], self._steps, at, stop)

    def _go(self, step: _Step, steps: list[_Step], at: int, stop: Stop) -> dict[str, Any]:
        """Settle a step and make it the present one; the history stays as it was where that fails."""
        settled = self._settle(step, stop)
        with self._guard:
            self._now, self._steps, self._at = settled, steps, at
            self._revision += 1
        return self.state()

    def _settle(self, step: _Step, stop: Stop) -> Settled:
        started = time.perf_counter()
        study = checked_table(self._study, step.table) if step.edits else self._study
        project = project_of(study, self._rasters)
        report = self._fine.cover(project, stop)
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


def open_session(study: Path, told: Callable[[str], None] | None = None) -> DeskSession:
    """Open a study on the desk.

    Raises
    ------
    StudyError
        With every fault of the file.
    RasterError, TableError, TerrainGapError, RangeError
        What it names cannot be used, or what it asks is impossible.
    """
    del told
    reading = read_study(study)
    return DeskSession(checked_study(reading), reading.table)
