"""Has kernels compiled by a second process, while this one works on what does not need them yet.

A first run compiles, and one process compiles one thing at a time. A *rehearsal* is a module with ``ACTS``:
functions that call kernels on something small, each kernels of its own. Their machine code lies in the cache
when it is needed. The second process begins with the first act; what it has not begun when this one is free,
this one takes from the last act on, so that neither waits long for the other.
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
from tempfile import TemporaryDirectory
from typing import Final

from combe.kernel_cache import cache_folder

LONGEST_S: Final = 120.0
"""A rehearsal that takes longer is given up; the kernels are then compiled where they are called."""


@contextmanager
def rehearsed_meanwhile(rehearsal: str) -> Iterator[None]:
    """Rehearse in a second process while the block runs, and share what is left once it is through.

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
    with TemporaryDirectory() as begun:
        process = subprocess.Popen(
            # -P: a file of the folder one stands in must not be taken for a module.
            [sys.executable, "-P", "-m", __name__, rehearsal, begun],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            yield
            with suppress(Exception):
                rehearse(rehearsal, Path(begun), from_the_last=True)
                if process.wait(LONGEST_S) == 0:
                    done.touch()
        finally:
            process.kill()
            process.wait()


def _mark(rehearsal: str) -> Path | None:
    """Return the file that tells that a rehearsal was done with the kernels as they are."""
    folder = cache_folder(importlib.metadata.version("numba"))
    return None if folder is None else folder / f"{rehearsal}.rehearsed"


def rehearse(rehearsal: str, begun: Path, *, from_the_last: bool = False) -> None:
    """Go through the acts of a rehearsal that nobody has begun.

    Parameters
    ----------
    begun
        A folder that all share who go through the rehearsal; what is begun has a file there.
    """
    acts = list(enumerate(importlib.import_module(rehearsal).ACTS))
    for number, act in reversed(acts) if from_the_last else acts:
        try:
            (begun / str(number)).touch(exist_ok=False)
        except FileExistsError:
            continue
        act()


if __name__ == "__main__":
    rehearse(sys.argv[1], Path(sys.argv[2]))
