"""Runs the command line inside the test's process, or in one of its own."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
from click.testing import CliRunner, Result

from combe.cli import group
from combe.cli.progress import COMPILING

REPOSITORY = Path(__file__).resolve().parents[1]


def all_commands() -> dict[str, click.Command]:
    """Return every command by its words: ``cover``, ``ground fetch``; groups by what is in them."""
    found: dict[str, click.Command] = {}
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        inner = command.list_commands(context) if isinstance(command, click.Group) else ()
        found |= {f"{name} {each}": command.get_command(context, each) for each in inner} or {name: command}
    return found


def run(*words: object) -> Result:
    """Run ``combe WORDS`` in this process."""
    return CliRunner().invoke(group, [str(word) for word in words], prog_name="combe")


def run_json(*words: object, code: int = 0) -> dict[str, Any]:
    """Run ``combe WORDS --json``, check the exit code, and return what was printed."""
    result = run(*words, "--json")
    assert result.exit_code == code, result.output
    printed: dict[str, Any] = json.loads(result.stdout)
    return printed


def remarks(result: Result) -> list[str]:
    """Return the lines on standard error but those of progress, which a slow machine or a first run shows.

    Work that may take long, which on a busy machine is much of it, is told beforehand as well.
    """
    lines = (line for line in result.stderr.splitlines() if not line.endswith((" % done", COMPILING)))
    return [line for line in lines if not re.match(r"(combe: )?[\d ]+ cells × .* MiB$", line)]


def complaint(*words: object) -> str:
    """Run a command line that has to fail; return its one line without the program's name.

    A study with several faults has a line for each; these come behind the first, with bars between.
    """
    result = run(*words)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    lines = remarks(result)
    assert lines[0].startswith("combe: ")
    told, *faults = lines
    assert not faults or (told.startswith("combe: study ") and told.endswith(f" has {len(faults)} faults"))
    assert all(line.startswith("  ") for line in faults), result.stderr
    said = told[len("combe: ") :]
    return f"{said}: {' | '.join(line.strip() for line in faults)}" if faults else said


def python(*words: object, folder: Path = REPOSITORY, code: str | None = None, **settings: str) -> Any:
    """Run Python in a process of its own: ``-m combe WORDS``, or some code, with environment settings."""
    start = ["-c", code] if code is not None else ["-m", "combe"]
    # A warning that one library has for another, which Python hides from users, may be a UserWarning as well.
    warnings = "error::UserWarning,ignore::DeprecationWarning"
    environment = {**os.environ, "PYTHONWARNINGS": warnings, **settings}
    return subprocess.run(
        [sys.executable, *start, *map(str, words)],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
