"""Runs the blocks of a siting on a cluster of machines (Dask distributed, the extra ``cluster``).

The question is sent once; a few more jobs are in flight than workers can run. When a worker dies, the
scheduler gives its jobs to others, and those go on without waiting for it. If the question itself went down
with the last worker that held it, it is sent anew. A job that is given up because workers died under it is
not lost for its neighbour's fault: all such jobs are run again, one at a time, and only the one that brings a
worker down alone is recorded as failed. Only when no worker at all is there for a minute is the rest recorded
as failed; nothing waits without end.
"""

from __future__ import annotations

import time
from collections import Counter, deque
from collections.abc import Iterable, Iterator
from functools import partial
from queue import Empty, SimpleQueue
from typing import Any, Final

from combe.errors import RangeError
from combe.planning.siting.jobs import Outcome, Runner, block_bytes, outcome
from combe.planning.siting.problem import Problem
from combe.planning.siting.score import Block

IN_FLIGHT_PER_THREAD: Final = 3
TIMES_ALONE: Final = 2
"""Tries of a job by itself, in case the worker died of something else."""

TIMES_LOST: Final = 3
"""How often a job may lose the question before it is run by itself."""

_CONNECT_S: Final = 20.0
_RETURN_S: Final = 60.0
_FETCH_S: Final = 20.0
"""For a result that is done; longer means that it went down with its worker, and the job is run again."""

_LOOK_S: Final = 0.5
_SETTLE_S: Final = 1.0
"""A worker takes jobs a moment before its keeper has noted that it runs; killed in that moment it would not
be brought back (seen with Dask's nanny), so a job that is suspected waits for so long."""


def on_cluster(address: str) -> Runner:
    """Return what runs jobs on the cluster whose scheduler listens at an address, such as tcp://host:8786.

    Raises
    ------
    RangeError
        When it runs: no cluster answers, it has no workers, or the extra is not installed.
    """
    return partial(_run, address)


def _run(address: str, problem: Problem, blocks: Iterable[Block]) -> Iterator[Outcome]:
    client = _connected(address)
    try:
        yield from _Flight(client, problem).run(blocks)
    finally:
        client.close(timeout=_CONNECT_S)


def _connected(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise RangeError(
            "cluster", address, "none without Dask", 'install it with: pip install "combe[cluster]"'
        ) from None
    try:
        client: Any = Client(  # type: ignore[no-untyped-call]
            address, timeout=_CONNECT_S, set_as_default=False
        )
    except (OSError, TimeoutError, ValueError) as error:
        raise _no_cluster(address, error) from error
    try:
        client.wait_for_workers(1, timeout=_CONNECT_S)
    except (OSError, TimeoutError) as error:
        client.close(timeout=_CONNECT_S)
        raise _no_cluster(address, error) from error
    return client


def _no_cluster(address: str, error: Exception) -> RangeError:
    words = " ".join(str(error).split())
    return RangeError("cluster", address, "the address of a Dask scheduler with workers", words)


class _DesertedError(Exception):
    """No worker is there, and none came within the time that is waited."""

    def __init__(self) -> None:
        super().__init__(f"no worker came back within {_RETURN_S:g} s")


class _Flight:
    """Jobs in flight on one client."""

    def __init__(self, client: Any, problem: Problem) -> None:
        self.client, self.problem = client, problem
        self.sent: Any = None
        self.running: dict[str, tuple[Block, Any]] = {}
        self.ended: SimpleQueue[str] = SimpleQueue()
        self.given_up: list[Block] = []
        self.lost: Counter[Block] = Counter()

    def run(self, blocks: Iterable[Block]) -> Iterator[Outcome]:
        """Yield the outcome of every block, as they come; those given up come last, one by one."""
        left = deque(blocks)
        try:
            while left or self.running:
                self._fill(left)
                block, future = self._next()
                ended = self._judged(block, future, left)
                if ended is not None:
                    yield ended
            while self.given_up:
                yield self._alone(self.given_up[0])
                self.given_up.pop(0)
        except _DesertedError as error:
            running = [block for block, _ in self.running.values()]
            # Whoever asked learns of every block what became of it, though nobody is left to run them.
            for block in sorted({*running, *left, *self.given_up}):
                yield block, None, str(error)

    def _fill(self, left: deque[Block]) -> None:
        """Send jobs until enough are in flight."""
        most = IN_FLIGHT_PER_THREAD * max(self._threads(), 1)
        while left and len(self.running) < most:
            self._submit(left[0])
            left.popleft()

    def _judged(self, block: Block, future: Any, left: deque[Block]) -> Outcome | None:
        """Return the outcome of a job that ended; None where it has to run again, and is noted for it."""
        ended = _outcome(block, future)
        if ended[1] is not None or not _lost(future):
            return ended
        self.lost[block] += 1
        # A job that may kill workers must not take others down with it: it waits till the end and runs by
        # itself.
        if _killed(future) or self.lost[block] >= TIMES_LOST:
            self.given_up = sorted([*self.given_up, block])
        else:
            left.appendleft(block)
        return None

    def _submit(self, block: Block) -> None:
        if self.sent is None or self.sent.status != "finished":
            self._send()
        # Not pure: after a worker has died the same job must run again and not be looked up.
        future = self.client.submit(block_bytes, self.sent, *block, pure=False)
        self.running[future.key] = (block, future)
        future.add_done_callback(lambda ended: self.ended.put(ended.key))

    def _send(self) -> None:
        """Send the question to all workers, again while workers die or are waited for."""
        until = time.monotonic() + _RETURN_S
        while True:
            self._await_worker()
            try:
                self.sent = self.client.scatter(self.problem, broadcast=True, hash=False, timeout=_CONNECT_S)
                return
            except (OSError, TimeoutError, KeyError, ValueError):
                if time.monotonic() > until:
                    raise _DesertedError from None
                time.sleep(_LOOK_S)

    def _next(self) -> tuple[Block, Any]:
        """Return a job that ended, waiting while any worker is there, or came back in time."""
        while True:
            try:
                return self.running.pop(self.ended.get(timeout=_LOOK_S))
            except Empty:
                self._await_worker()

    def _await_worker(self) -> None:
        """Return at once if any worker is there; else wait for one."""
        until = time.monotonic() + _RETURN_S
        while not self._threads():
            if time.monotonic() > until:
                raise _DesertedError
            time.sleep(min(_LOOK_S, _RETURN_S))

    def _threads(self) -> int:
        """Return the threads of all workers that are there; none where the scheduler does not answer."""
        try:
            return int(sum(self.client.nthreads().values()))
        except (OSError, TimeoutError, RuntimeError, ValueError):
            return 0

    def _alone(self, block: Block) -> Outcome:
        """Run one block by itself."""
        ended: Outcome = (block, None, "")
        for _ in range(TIMES_ALONE):
            self._await_worker()
            time.sleep(_SETTLE_S)
            self._submit(block)
            _, future = self._next()
            ended = _outcome(block, future)
            if ended[1] is not None or not _lost(future):
                return ended
        return block, None, f"workers die under it, even when it runs alone: {ended[2]}"


def _outcome(block: Block, future: Any) -> Outcome:
    """Return the outcome of a job; its worker may die even now, before the result is fetched."""
    return outcome(block, partial(future.result, timeout=_FETCH_S))


def _lost(future: Any) -> bool:
    """Tell whether a job without a result ended because workers died, and not of itself."""
    return future.status != "error" or _killed(future)


def _killed(future: Any) -> bool:
    """Tell whether the scheduler gave a job up because workers died under it."""
    from distributed import KilledWorker

    return future.status == "error" and isinstance(future.exception(), KilledWorker)
