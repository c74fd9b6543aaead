"""The command line: one file per command, each imported only when it is used."""

from __future__ import annotations

import io
import sys

from combe.cli.group import CombeGroup

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
    group.main(prog_name="combe")
