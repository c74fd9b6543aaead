"""Changes one thing of the package at a time and tells which changes no test notices.

    python tests/mutation.py            all changes of the table
    python tests/mutation.py harm scale those whose file or text has one of the words

Each change is made in a copy of the package in a temporary folder; the tests named beside it run against that
copy, and have to pass on an unchanged one first. The first that fails is told. A change that all of them pass
has *survived*: a test is missing, or the change is none. A text that is no longer in its file ends the run.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path
from typing import Final, NamedTuple

from mutation_engine import ENGINE
from mutation_house import HOUSE

REPOSITORY: Final = Path(__file__).resolve().parents[1]
PACKAGE: Final = REPOSITORY / "coverage"
LONGEST_RUN_S: Final = 900


class Change(NamedTuple):
    """A text of a file of the package, what stands there instead, and the tests that ought to notice."""

    file: str
    old: str
    new: str
    tests: str


CHANGES: Final = tuple(Change(*row) for row in (*ENGINE, *HOUSE))


def main(words: list[str]) -> int:
    """Run the changes asked for; return how many survived."""
    chosen = [
        each for each in CHANGES if not words or any(word in f"{each.file} {each.old}" for word in words)
    ]
    survived = [each for each in chosen if _survives(each)]
    print(f"{len(chosen)} changes, {len(chosen) - len(survived)} noticed, {len(survived)} survived")
    return len(survived)


def _survives(change: Change) -> bool:
    """Make one change in a copy, run its tests, and tell whether they all pass."""
    _check_sound(change.tests)
    with tempfile.TemporaryDirectory() as folder:
        package = _copied(Path(folder))
        file = package / "combe" / change.file
        text = file.read_text(encoding="utf-8")
        if change.old not in text:
            sys.exit(f"{change.file} no longer holds {change.old!r}; bring the table up to date")
        file.write_text(text.replace(change.old, change.new, 1), encoding="utf-8")
        failed = _first_failure(change.tests, package)
    told = f"by {failed}" if failed else "SURVIVED"
    print(f"{change.file}: {change.old.strip()[:60]!r} {told}", flush=True)
    return not failed


@cache
def _check_sound(tests: str) -> None:
    """End the run where tests fail on the package as it is: they would notice every change."""
    with tempfile.TemporaryDirectory() as folder:
        failed = _first_failure(tests, _copied(Path(folder)))
    if failed:
        sys.exit(f"{failed} fails without any change")


def _copied(folder: Path) -> Path:
    """Copy the package into a folder, with the samples beside it where it looks for them."""
    ignored = shutil.ignore_patterns("__pycache__")
    (folder / "terrain_samples").symlink_to(REPOSITORY / "terrain_samples")
    return Path(shutil.copytree(PACKAGE, folder / "coverage", ignore=ignored))


def _first_failure(tests: str, package: Path) -> str:
    """Run tests of the repository against a copy of the package; return the first that fails, or nothing."""
    words = [sys.executable, "-m", "pytest", "-x", "-q", "-rfE", "-p", "no:cacheprovider", *tests.split()]
    environment = {**os.environ, "PYTHONPATH": str(package), "CI": "true", "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        run = subprocess.run(
            words, cwd=REPOSITORY, env=environment, capture_output=True, timeout=LONGEST_RUN_S, check=False
        )
    except subprocess.TimeoutExpired:
        return f"{tests}, which have no end within {LONGEST_RUN_S} s"
    told = run.stdout.decode(errors="replace")
    if run.returncode not in (0, 1):
        sys.exit(f"the tests {tests} did not run: {told[-400:]}")
    found = re.search(r"^(?:FAILED|ERROR) (\S+)", told, re.MULTILINE)
    return "" if run.returncode == 0 else found[1] if found else tests


if __name__ == "__main__":
    sys.exit(min(main(sys.argv[1:]), 1))
