"""Runs the blocks of a siting: one job for every machine, one result file a block, whole or not there.

A block's result is bytes made by :func:`block_bytes`, wherever it runs; who asked for it writes them beside
their place and renames them into it. Files carry the hash of the question in their folder's name, so a run
that was killed finds its blocks again, and a run on many machines leaves the same bytes as one on threads.
"""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from combe.files import clear_remains, ensure_folder, replacing
from combe.planning.siting.problem import Problem, Scores, digest, score_hills
from combe.planning.siting.score import Block

BLOCK_HILLS: Final = 256

_ARRAYS: Final = ("people", "harmed", "option", "served")

Outcome = tuple[Block, bytes | None, str]
"""A block with its bytes, or None and what went wrong."""

Runner = Callable[[Problem, Iterable[Block]], Iterator[Outcome]]
Progress = Callable[[int, int], None]
"""Called with hills done and hills in all."""


@dataclass(frozen=True)
class Failure:
    """A block that could not be scored, and why, in one line."""

    first: int
    last: int
    words: str


@dataclass(frozen=True)
class BlockRun:
    """The scores of all hills, whatever became of single blocks.

    Hills of a block that failed serve nobody in ``scores`` and are named in ``failures``. ``found`` blocks
    were there from an earlier run.
    """

    scores: Scores
    failures: tuple[Failure, ...]
    blocks: int
    found: int
    folder: Path


def blocks_of(size: int, block_hills: int = BLOCK_HILLS) -> list[Block]:
    """Return hills 0 to ``size`` in blocks."""
    return [(first, min(first + block_hills, size)) for first in range(0, size, block_hills)]


def block_bytes(problem: Problem, first: int, last: int) -> bytes:
    """Score a block and return its result file: the job that every machine runs."""
    scores = score_hills(problem, first, last)
    buffer = io.BytesIO()
    np.savez(
        buffer,
        hills=np.array([first, last]),
        people=scores.people,
        harmed=scores.harmed,
        option=scores.option,
        served=scores.served,
        priced=np.array(scores.priced),
    )
    return buffer.getvalue()


def run_blocks(
    problem: Problem,
    folder: Path | str,
    *,
    runner: Runner | None = None,
    block_hills: int = BLOCK_HILLS,
    progress: Progress | None = None,
) -> BlockRun:
    """Score all hills, block by block, and keep what is done.

    Parameters
    ----------
    folder
        Where the folder of this question is made, or found again.
    runner
        What runs the jobs: threads of this machine if not given.
    progress
        Called as the work goes on.

    Raises
    ------
    OutputError
        A folder or file that cannot be written.
    """
    place = ensure_folder(Path(folder) / digest(problem))
    clear_remains(place)
    blocks = blocks_of(problem.size, block_hills)
    waiting = [block for block in blocks if _read(place, block) is None]
    failures, done = [], problem.size - sum(last - first for first, last in waiting)
    for block, content, words in (runner or on_threads)(problem, waiting):
        if content is None:
            failures.append(Failure(*block, words))
        else:
            _write(place, block, content)
        done += block[1] - block[0]
        if progress is not None:
            progress(done, problem.size)
    failed = sorted(failures, key=lambda each: each.first)
    # Read back from the files, those just written too: a run that was taken up and one that ran through put
    # together the same bytes.
    scores = _joined(problem, [_read(place, block) or _nothing(problem, block) for block in blocks])
    return BlockRun(scores, tuple(failed), len(blocks), len(blocks) - len(waiting), place)


def on_threads(problem: Problem, blocks: Iterable[Block], threads: int | None = None) -> Iterator[Outcome]:
    """Run jobs on threads of this machine, a few more in hand than can run at once."""
    workers, left = threads or os.cpu_count() or 1, iter(blocks)
    with ThreadPoolExecutor(workers) as pool:
        running: dict[Future[bytes], Block] = {}
        while True:
            while len(running) < 2 * workers and (block := next(left, None)) is not None:
                running[pool.submit(block_bytes, problem, *block)] = block
            if not running:
                return
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                yield outcome(running.pop(future), future.result)


def outcome(block: Block, result: Callable[[], bytes]) -> Outcome:
    """Return the outcome of a block; an error of the job becomes words."""
    try:
        return block, result(), ""
    # Whatever a job dies of is told of its block, and the others go on.
    except Exception as error:
        return block, None, " ".join(f"{type(error).__name__}: {error}".split())


def block_path(folder: Path, block: Block) -> Path:
    """Return the file of a block."""
    return folder / f"hills-{block[0]:08d}-{block[1]:08d}.npz"


def _write(folder: Path, block: Block, content: bytes) -> None:
    with replacing(block_path(folder, block)) as beside:
        beside.write_bytes(content)


def _read(folder: Path, block: Block) -> Scores | None:
    """Return the scores of a block's file, or None where it is not there or no result."""
    try:
        with block_path(folder, block).open("rb") as file, np.load(file, allow_pickle=False) as kept:
            if tuple(kept["hills"].tolist()) != block:
                return None
            people, harmed, option, served = (kept[name] for name in _ARRAYS)
            return Scores(*block, people, harmed, option, served, int(kept["priced"]))
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def _nothing(problem: Problem, block: Block) -> Scores:
    """Return scores of hills that serve nobody."""
    count, targets = block[1] - block[0], problem.targets.row.size
    served = np.packbits(np.zeros((count, targets), dtype=np.bool_), axis=1)
    return Scores(*block, np.zeros(count), np.zeros(count), np.zeros(count, dtype=np.int64), served, 0)


def _joined(problem: Problem, parts: list[Scores]) -> Scores:
    if not parts:
        return _nothing(problem, (0, 0))
    return Scores(
        0,
        problem.size,
        np.concatenate([part.people for part in parts]),
        np.concatenate([part.harmed for part in parts]),
        np.concatenate([part.option for part in parts]),
        np.concatenate([part.served for part in parts]),
        sum(part.priced for part in parts),
    )
