"""What is at work for a desk: threads, whose turn it is, and what tells work to stop.

The server's loop answers and never computes. Work runs in threads that do not keep the process from ending,
for not all of it can be told to stop. One piece of work on the state is done at a time, in the order asked;
one that a newer makes useless is stopped.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from concurrent.futures import Future, wait
from contextlib import asynccontextmanager, contextmanager
from contextvars import copy_context
from dataclasses import dataclass, field
from typing import Any, Final, TypeVar

from combe.desk.protocol import Stop
from combe.errors import Cancelled

T = TypeVar("T")

MOST_THREADS: Final = 4
"""Work on the state, a search for hills, and two questions beside them."""

GRACE_S: Final = 1.0
"""How long the end waits for work that was told to stop."""


class EndedError(Exception):
    """The desk ends, and what was asked is not answered any more."""


@dataclass(eq=False)
class Turn:
    """Work on the state that was asked for: what kind, what it sets, and whether it is still wanted."""

    kind: str
    settings: frozenset[tuple[str, ...]] = frozenset()
    unwanted: threading.Event = field(default_factory=threading.Event)

    def replaces(self, older: Turn) -> bool:
        """Tell whether the older one is of no use after this.

        A sketch is, after anything newer. A change is only where the newer one sets all that it sets, of the
        same station: else a planner's work would be lost.
        """
        if older.kind == "sketch":
            return True
        return self.kind == older.kind == "change" and older.settings <= self.settings


def settings_of(edit: Mapping[str, Any]) -> frozenset[tuple[str, ...]]:
    """Return what a change of a station sets: its name with each key, and with each key of a table.

    >>> sorted(settings_of({"station": "A", "tilt_deg": 1.0, "erp_w": {"Mux 1": 5.0}}))
    [('A', 'erp_w', 'Mux 1'), ('A', 'tilt_deg')]
    """
    name = str(edit.get("station"))
    keys = ((key, value) for key, value in edit.items() if key != "station")
    return frozenset(
        (name, key, *inner)
        for key, value in keys
        for inner in ([(each,) for each in value] if isinstance(value, Mapping) else [()])
    )


class Work:
    """The threads of a desk and the order of what they do."""

    def __init__(self) -> None:
        self._stopping = threading.Event()
        self._ended = asyncio.Event()
        self._places = asyncio.Semaphore(MOST_THREADS)
        self._state = asyncio.Lock()
        self._turns: list[Turn] = []
        self._running: set[Future[Any]] = set()

    def stop(self) -> None:
        """Tell all work to stop; a signal may call this."""
        self._stopping.set()

    def end(self) -> None:
        """Let all who wait for work go; to be called in the loop."""
        self.stop()
        self._ended.set()

    def stops(self, turn: Turn | None = None) -> Stop:
        """Return what tells work whether it is to stop, with the desk or because it is unwanted."""
        return lambda: self._stopping.is_set() or (turn is not None and turn.unwanted.is_set())

    def started(self, function: Callable[[], T]) -> Future[T]:
        """Start a function in a thread of its own and return what becomes of it."""
        done: Future[T] = Future()
        # Who waits may go; what runs cannot be cancelled that way, and is not to be told so.
        done.set_running_or_notify_cancel()
        self._running.add(done)
        done.add_done_callback(self._running.discard)
        # What is told is told in the language of who asks, which a bare thread would not know.
        run = copy_context().run
        threading.Thread(target=run, args=(_run, function, done), daemon=True).start()
        return done

    async def answer_of(self, done: Future[T]) -> T:
        """Wait for work that was started; raises :class:`EndedError` where the desk ends first."""
        awaited = asyncio.wrap_future(done)
        ended = asyncio.ensure_future(self._ended.wait())
        either: set[asyncio.Future[Any]] = {awaited, ended}
        try:
            await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
            if awaited.done():
                return awaited.result()
            raise EndedError
        finally:
            ended.cancel()
            awaited.cancel()

    async def in_thread(self, function: Callable[[], T]) -> T:
        """Run a function in a thread when there is a place for it, and return its answer."""
        async with self._places:
            if self._ended.is_set():
                raise EndedError
            return await self.answer_of(self.started(function))

    @asynccontextmanager
    async def turn(self, turn: Turn) -> AsyncIterator[Stop]:
        """Wait until it is a piece of work's turn; what is given tells it to stop.

        Raises
        ------
        Cancelled
            It became unwanted while it waited.
        """
        with self._listed(turn):
            async with self._state:
                if turn.unwanted.is_set():
                    raise Cancelled(f"this {turn.kind}")
                yield self.stops(turn)

    @contextmanager
    def _listed(self, turn: Turn) -> Iterator[None]:
        """Tell older work that this one replaces it, and let newer work find it."""
        for older in self._turns:
            if turn.replaces(older):
                older.unwanted.set()
        self._turns.append(turn)
        try:
            yield
        finally:
            self._turns.remove(turn)

    def all_ended(self, within_s: float = GRACE_S) -> bool:
        """Wait a little for threads that are still at work; tell whether none is left."""
        return not wait(set(self._running), timeout=within_s).not_done


def _run(function: Callable[[], T], done: Future[T]) -> None:
    try:
        answer = function()
    except Cancelled as error:
        # Nobody looks where it was given up, and a trace would hold the fields of that place for long.
        done.set_exception(error.with_traceback(None))
    except BaseException as error:
        done.set_exception(error)
    else:
        done.set_result(answer)
