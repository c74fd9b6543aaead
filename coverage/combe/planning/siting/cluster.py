"""Runs the blocks of a siting on a cluster of machines (Dask distributed, the extra ``cluster``).

The question is sent once; a few more jobs are in flight than workers can run. When a worker dies, the
scheduler gives its jobs to others; a job that is given up because workers died under it is not lost for its
neighbour's fault: all such jobs are run again, one at a time, and only the one that brings a worker down
alone is recorded as failed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import Any, Final

from combe.errors import RangeError
from combe.planning.siting.jobs import Block, Outcome, Runner, block_bytes, outcome
from combe.planning.siting.problem import Problem

IN_FLIGHT_PER_THREAD: Final = 3
TIMES_ALONE: Final = 2
"""Tries of a job by itself, in case the worker died of something else."""

_CONNECT_S: Final = 20.0
_RETURN_S: Final = 60.0


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
        client.close()


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
        client.wait_for_workers(1, timeout=_CONNECT_S)
    except (OSError, TimeoutError, ValueError) as error:
        problem = " ".join(str(error).split())
        raise RangeError(
            "cluster", address, "the address of a Dask scheduler with workers", problem
        ) from error
    return client


class _Flight:
    """Jobs in flight on one client."""

    def __init__(self, client: Any, problem: Problem) -> None:
        self.client, self.problem = client, problem
        self.sent = self._send()

    def _send(self) -> Any:
        return self.client.scatter(self.problem, broadcast=True, hash=False)

    def run(self, blocks: Iterable[Block]) -> Iterator[Outcome]:
        """Yield the outcome of every block, as they come; those given up come last, one by one."""
        from distributed import as_completed

        left = iter(blocks)
        given_up: list[Block] = []
        running: dict[str, Block] = {}
        arriving: Any = as_completed(loop=self.client.loop)  # type: ignore[no-untyped-call]
        self._fill(left, running, arriving)
        while running:
            future = next(arriving)
            block = running.pop(future.key)
            if _lost(future):
                given_up.append(block)
            else:
                yield outcome(block, future.result)
            future.release()
            self._fill(left, running, arriving)
        for block in sorted(given_up):
            yield self._alone(block)

    def _fill(self, left: Iterator[Block], running: dict[str, Block], arriving: Any) -> None:
        """Send jobs until enough are in flight."""
        threads = sum(self.client.nthreads().values()) or 1
        while len(running) < IN_FLIGHT_PER_THREAD * threads and (block := next(left, None)) is not None:
            future = self._submit(block)
            running[future.key] = block
            arriving.add(future)

    def _submit(self, block: Block) -> Any:
        return self.client.submit(block_bytes, self.sent, *block, pure=False)

    def _alone(self, block: Block) -> Outcome:
        """Run one block by itself, with the question sent anew in case it went down with a worker."""
        found: Outcome = (block, None, "")
        for _ in range(TIMES_ALONE):
            try:
                self.client.wait_for_workers(1, timeout=_RETURN_S)
            except TimeoutError:
                return block, None, f"no worker came back within {_RETURN_S:g} s"
            self.sent = self._send()
            future = self._submit(block)
            found = outcome(block, future.result)
            if found[1] is not None or not _lost(future):
                break
        return found


def _lost(future: Any) -> bool:
    """Tell whether a job ended because workers died, and not of itself."""
    from distributed import KilledWorker

    if future.cancelled() or future.status == "lost":
        return True
    return future.status == "error" and isinstance(future.exception(), KilledWorker)
