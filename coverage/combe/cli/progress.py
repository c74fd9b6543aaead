"""Progress on standard error: how far long work is, and that kernels are compiled."""

from __future__ import annotations

import math
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from typing import Any, Final, Protocol

import click

from combe.compile_watch import told_of_compiling

_QUIET_S: Final = 2.0
"""Work shorter than this shows no progress."""

_LINE_EVERY_S: Final = 5.0
"""Plain progress lines come no more often than this."""


COMPILING: Final = "compiling numeric kernels, as a first run has to"

_NOTE: Final = "combe.compiling"
"""Where the context of a command keeps its note on compiling."""


class Report(Protocol):
    """What long work calls to say how far it is."""

    def __call__(self, done: int, total: int, what: str) -> None:
        """Say that ``done`` of ``total`` steps of ``what`` are behind."""


@contextmanager
def progress() -> Iterator[Report]:
    """Show progress on standard error once the work has taken two seconds.

    A bar where standard error is a terminal, else plain lines. What is noted meanwhile goes above the bar.
    """
    shown = _Bar() if sys.stderr.isatty() else _Lines()
    lock, start = threading.Lock(), time.monotonic()

    def report(done: int, total: int, what: str) -> None:
        with lock:
            if time.monotonic() - start >= _QUIET_S:
                shown.show(done, total, what)

    def note(words: str) -> None:
        with lock:
            shown.note(words)

    context = click.get_current_context(silent=True)
    compiling = context.meta.get(_NOTE) if context else None
    try:
        with compiling.by_way_of(note) if compiling else nullcontext():
            yield report
    finally:
        shown.close()


@contextmanager
def compiling_told(context: click.Context) -> Iterator[None]:
    """Say once on standard error, while a command runs, that it compiles, when that has taken two seconds."""
    note = context.meta[_NOTE] = _CompilingNote()
    with told_of_compiling(note.told):
        yield


class _CompilingNote:
    """Says that kernels are compiled, as soon as that is what one waits for."""

    def __init__(self) -> None:
        self.spent_s, self.said = 0.0, False
        self.say: Callable[[str], None] = _line

    def told(self, seconds: float) -> None:
        """Take note of time that went into compiling, and say so once."""
        self.spent_s += seconds
        if self.spent_s >= _QUIET_S and not self.said:
            self.said = True
            self.say(COMPILING)

    @contextmanager
    def by_way_of(self, say: Callable[[str], None]) -> Iterator[None]:
        """Say it in another way while the block runs."""
        before, self.say = self.say, say
        try:
            yield
        finally:
            self.say = before


def _line(words: str) -> None:
    """Print a plain line of progress."""
    click.echo(f"combe: {words}", err=True)


class _Lines:
    """Plain lines, for files and pipes."""

    def __init__(self) -> None:
        self.last_s = -math.inf

    def show(self, done: int, total: int, what: str) -> None:
        """Print a line if the last one is old enough."""
        now_s = time.monotonic()
        if now_s - self.last_s >= _LINE_EVERY_S:
            self.last_s = now_s
            _line(f"{what}, {100 * done // total} % done")

    def note(self, words: str) -> None:
        """Print a line."""
        _line(words)

    def close(self) -> None:
        """Do nothing: lines need no end."""


class _Bar:
    """A bar of rich's, for terminals."""

    def __init__(self) -> None:
        self.bar: Any = None
        self.task: Any = None

    def show(self, done: int, total: int, what: str) -> None:
        """Move the bar, and make it first where there is none."""
        if self.bar is None:
            from rich.console import Console
            from rich.progress import Progress

            self.bar = Progress(console=Console(stderr=True), transient=True)
            self.task = self.bar.add_task(what)
            self.bar.start()
        self.bar.update(self.task, description=what, completed=done, total=total)

    def note(self, words: str) -> None:
        """Print a line, above the bar where there is one."""
        if self.bar is None:
            _line(words)
        else:
            self.bar.console.print(f"combe: {words}", markup=False, highlight=False)

    def close(self) -> None:
        """Take the bar away."""
        if self.bar is not None:
            self.bar.stop()
