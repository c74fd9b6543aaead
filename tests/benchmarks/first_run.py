"""The first run and later ones: ``combe --help``, and ``combe demo`` cold and warm, with time and memory.

Run from the checkout: ``python tests/benchmarks/first_run.py [ROUNDS]``. Each run is a process of its own.
Kernels and fields are kept in folders made for it, empty before the cold run.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import NamedTuple

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line

EVERY_S = 0.02
"""How often the memory of all processes is added up."""


class Run(NamedTuple):
    """One run: time [s], that of all processors [s], greatest memory of the command and of all processes."""

    time_s: float
    cpu_s: float
    memory_mib: float
    together_mib: float


def start(folder: Path, words: tuple[str, ...], checkout: Path | None = None) -> subprocess.Popen[bytes]:
    """Start the command, of another checkout if one is named, with its caches in a folder."""
    kept = {"NUMBA_CACHE_DIR": str(folder / "kernels"), "COMBE_CACHE": str(folder / "fields")}
    if checkout is not None:
        kept |= {
            "PYTHONPATH": str(checkout / "coverage"),
            "PYTHONPYCACHEPREFIX": str(folder.parent / "bytecode"),
        }
    return subprocess.Popen(
        [sys.executable, "-m", "combe", *words],
        cwd=folder,
        # As a user has it: Python keeps the bytecode of what it imports.
        env={name: each for name, each in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | kept,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def family(pid: int) -> list[int]:
    """Return a process and all that it started, as far as the system tells."""
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split()
    except OSError:
        return [pid]
    return [pid, *(each for child in children for each in family(int(child)))]


def resident_mib(pid: int) -> float:
    """Return the memory of a process now; 0 where the system does not tell, or it has ended."""
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1])
    except (OSError, IndexError):
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def watch(pid: int, ended: threading.Event, most: list[float]) -> None:
    """Keep the greatest sum of memory of a process and all that it started."""
    while not ended.wait(EVERY_S):
        most[0] = max(most[0], sum(map(resident_mib, family(pid))))


def run(folder: Path, *words: str, checkout: Path | None = None) -> Run:
    """Run the command to its end."""
    started, ended, most = time.perf_counter(), threading.Event(), [0.0]
    process = start(folder, words, checkout)
    watcher = threading.Thread(target=watch, args=(process.pid, ended, most))
    watcher.start()
    _, status, used = os.wait4(process.pid, 0)
    took_s = time.perf_counter() - started
    ended.set()
    watcher.join()
    if status:
        raise SystemExit("the command failed")
    own_mib = used.ru_maxrss / 1024.0
    return Run(took_s, used.ru_utime + used.ru_stime, own_mib, max(own_mib, most[0]))


def tell(name: str, runs: list[Run], aim: str = "") -> None:
    """Print the median of some runs of one command line."""
    middle = [statistics.median(figures) for figures in zip(*runs, strict=True)]
    line(f"{name}, s", f"{middle[0]:.2f}", aim)
    line("  of all processors together, s", f"{middle[1]:.2f}")
    line("  greatest memory of the command, of all its processes, MiB", f"{middle[2]:.0f}, {middle[3]:.0f}")


def main(rounds: int) -> None:
    """Print all figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print(f"combe on {os.cpu_count()} processors, median of {rounds} runs, but one cold run")
        run(folder, "--help")
        tell("combe --help, warm", [run(folder, "--help") for _ in range(rounds)])
        tell("combe demo, cold: nothing compiled, nothing kept", [run(folder, "demo")])
        tell("combe demo, warm", [run(folder, "demo") for _ in range(rounds)])


if __name__ == "__main__":
    main(int(dict(enumerate(sys.argv[1:])).get(0, 3)))
