"""Runs a function in a process of its own, which may be killed, and need not import the package anew."""

from __future__ import annotations

import multiprocessing
import sys
import time
from collections.abc import Callable
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from combe.answers.cover import CoverReport, Progress
    from combe.study.file import Study

PRELOADED = (
    "combe.cli.cover",
    "combe.reports.cover_files",
    "combe.planning.network",
    "combe.answers.cover",
)
"""What the server imports once, before the first process is forked from it; none of these starts a thread."""

_FORKS = "forkserver" in multiprocessing.get_all_start_methods()


def started(run: Callable[..., None], *arguments: object) -> BaseProcess:
    """Start a function of a support file in a fresh process, forked from a server that has imported much."""
    context = multiprocessing.get_context("forkserver" if _FORKS else "spawn")
    if _FORKS:
        context.set_forkserver_preload(list(PRELOADED))
    process = context.Process(target=run, args=arguments)
    process.start()
    return process


def command_in_small_tiles(words: list[str], printed: Path, tile_bytes: int) -> None:
    """Run ``combe WORDS`` with coverage judged in tiles of a few rows, step by step; print into a file."""
    import combe.answers.cover as room
    from combe.cli import group

    report = room.cover_report

    def slowly(study: Study, told: Progress, **settings: Any) -> CoverReport:
        def step(done: int, total: int, what: str) -> None:
            told(done, total, what)
            time.sleep(0.005)  # so that who waits for a moment does not miss it

        return report(study, step, tile_bytes=tile_bytes, **settings)

    room.cover_report = slowly
    with printed.open("w", encoding="utf-8") as out:
        sys.stdout = sys.stderr = out
        group(words, prog_name="combe")
