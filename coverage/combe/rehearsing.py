"""Has kernels compiled by a second process, while this one works on what does not need them yet.

A first run compiles, and one process compiles one thing at a time. A *rehearsal* is a module with a function
``rehearse()`` that calls kernels on something small; its machine code lies in the cache when they are needed.
"""

from __future__ import annotations

import importlib
import importlib.metadata
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from combe.kernel_cache import cache_folder

LONGEST_S: Final = 120.0
"""A rehearsal that takes longer is given up; the kernels are then compiled where they are called."""


@contextmanager
def rehearsed_meanwhile(rehearsal: str) -> Iterator[None]:
    """Rehearse in a second process while the block runs, and let it end before the block is left.

    Nothing is done where it was rehearsed before, where machine code cannot be kept, or on one processor.
    A rehearsal that fails costs time and nothing else.

    Parameters
    ----------
    rehearsal
        Name of the module.
    """
    done = _mark(rehearsal)
    if done is None or done.exists() or (os.cpu_count() or 1) < 2:
        yield
        return
    process = subprocess.Popen(
        # -P: a file of the folder one stands in must not be taken for a module.
        [sys.executable, "-P", "-m", __name__, rehearsal],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield
        with suppress(subprocess.TimeoutExpired):
            process.wait(LONGEST_S)
    finally:
        process.kill()
        process.wait()


def _mark(rehearsal: str) -> Path | None:
    """Return the file that tells that a rehearsal was done with the kernels as they are."""
    folder = cache_folder(importlib.metadata.version("numba"))
    return None if folder is None else folder / f"{rehearsal}.rehearsed"


def rehearse_here(rehearsal: str) -> None:
    """Rehearse in this process, and leave the mark that it was done."""
    importlib.import_module(rehearsal).rehearse()
    done = _mark(rehearsal)
    if done is not None:
        done.touch()


if __name__ == "__main__":
    rehearse_here(sys.argv[1])
