"""The command line: one file per command, each imported only when it is used."""

from __future__ import annotations

import gc
import io
import sys
from typing import Final

from combe.cli.group import CombeGroup

_RARELY: Final = (50_000, 20, 50)

group = CombeGroup(
    name="combe",
    help="""Plan low-power television relays over real terrain.

    \b
    Start with:  combe demo
    Then:        combe new valley
                 combe check valley/study.toml
    To read on:  combe guide

    Exit codes: 0 done; 1 done, and the verdict is negative; 2 bad input.
    """,
)


def main() -> None:
    """Run the command line; a terminal that lacks a sign (µ, −) shows another in its place."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    # Libraries make objects by the hundred thousand that live to the end. To look through them for rubbish,
    # time and again and once more on leaving, would take a sixth of a coverage that is found in the cache.
    gc.set_threshold(*_RARELY)
    try:
        group.main(prog_name="combe")
    finally:
        gc.freeze()
