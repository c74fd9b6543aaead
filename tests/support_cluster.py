"""A Dask cluster of separate processes for tests: own ports, own folders, a keeper that can be told off."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

_START_S = 90.0

# The end of this pipe's other side is the end of who started the process, however that came about.
_TIED = """
import os, runpy, sys, threading
threading.Thread(target=lambda: (os.read(0, 1), os._exit(1)), daemon=True).start()
runpy.run_module(sys.argv.pop(1), run_name="__main__", alter_sys=True)
"""

_QUIET = {
    "DASK_DISTRIBUTED__ADMIN__LOG_FORMAT": "%(message)s",
    "DASK_DISTRIBUTED__LOGGING__DISTRIBUTED": "critical",
    # A job that dies takes those that wait on its worker along: the hardest case for who runs them.
    "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "0",
    # A machine with much to do must not look like a dead worker.
    "DASK_DISTRIBUTED__SCHEDULER__WORKER_TTL": "10 minutes",
    "DASK_DISTRIBUTED__COMM__TIMEOUTS__CONNECT": "60s",
    "DASK_DISTRIBUTED__COMM__TIMEOUTS__TCP": "120s",
}


class Cluster:
    """A scheduler and workers of one thread each; dead workers are replaced while ``keeps`` is true."""

    def __init__(self, workers: int = 2) -> None:
        self._home = tempfile.TemporaryDirectory(prefix="combe-cluster-", ignore_cleanup_errors=True)
        self.folder = Path(self._home.name)
        self.keeps, self._open = True, True
        self._file = self.folder / "scheduler.json"
        self._started = 0
        words = ("--host", "127.0.0.1", "--port", "0", "--no-dashboard")
        self._scheduler = self._start("dask_scheduler", *words, "--scheduler-file", str(self._file))
        self.workers = [self._worker() for _ in range(workers)]
        self._keeper = threading.Thread(target=self._keep, daemon=True)
        self._keeper.start()
        self.address = self._found_address()

    def kill(self, number: int) -> None:
        """Kill the process of a worker, as a machine that loses power would."""
        process = self.workers[number]
        os.kill(process.pid, signal.SIGKILL)
        _let_go(process)

    def wait_until_whole(self) -> None:
        """Wait until no worker is dead, and the scheduler knows all of them."""
        from distributed import Client

        while any(process.poll() is not None for process in self.workers):
            time.sleep(0.05)
        with Client(self.address, timeout=_START_S, set_as_default=False) as client:
            client.wait_for_workers(len(self.workers), timeout=_START_S)

    def close(self) -> None:
        """End all processes of this cluster, and remove its folder."""
        self._open = False
        self._keeper.join()
        for process in (*self.workers, self._scheduler):
            if process.poll() is None:
                process.kill()
            _let_go(process)
        self._home.cleanup()

    def _start(self, command: str, *words: str) -> subprocess.Popen[bytes]:
        env = os.environ | _QUIET | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
        with (self.folder / f"{command}.log").open("ab") as log:
            return subprocess.Popen(
                [sys.executable, "-c", _TIED, f"distributed.cli.{command}", *words],
                env=env, cwd=self.folder, stdin=subprocess.PIPE, stdout=log, stderr=log,
            )  # fmt: skip

    def _worker(self) -> subprocess.Popen[bytes]:
        self._started += 1
        return self._start("dask_worker", "--scheduler-file", str(self._file), "--host", "127.0.0.1",
                           "--nthreads", "1", "--no-nanny", "--no-dashboard", "--memory-limit", "0",
                           "--name", f"worker-{self._started}", "--death-timeout", str(_START_S),
                           "--local-directory", str(self.folder / "space"))  # fmt: skip

    def _keep(self) -> None:
        while self._open:
            for number, process in enumerate(self.workers):
                if self.keeps and process.poll() is not None:
                    _let_go(process)
                    self.workers[number] = self._worker()
            time.sleep(0.05)

    def _found_address(self) -> str:
        import json

        until = time.monotonic() + _START_S
        while time.monotonic() < until:
            try:
                return str(json.loads(self._file.read_text())["address"])
            except (OSError, ValueError, KeyError):
                time.sleep(0.05)
        log = (self.folder / "dask_scheduler.log").read_text()[-2000:]
        self.close()
        raise RuntimeError(f"no scheduler within {_START_S:g} s: {log}")


def deadly(problem, first: int, last: int) -> bytes:
    """Score a block, but for the one that kills the process that works on it."""
    from combe.planning.siting.jobs import block_bytes

    if first == 500:
        os.kill(os.getpid(), signal.SIGKILL)
    return block_bytes(problem, first, last)


def _let_go(process: subprocess.Popen[bytes]) -> None:
    """Wait for a process that was killed, and close the pipe that it lived by."""
    process.wait()
    if process.stdin is not None:
        process.stdin.close()
