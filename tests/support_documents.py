"""Reads what the project's documents say: code blocks, links, commands and what they print."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
GUIDE = tuple(
    sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "coverage/combe/guide").glob("*.md"))
)
DOCUMENTS = ("README.md", "DEVELOPERS.md", *GUIDE)

_BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_NUMBER = re.compile(r"[-−]?\d+(?:\.\d+)?")
_THOUSANDS = re.compile(r"(?<=\d)[\u00a0\u202f\u2009 ](?=\d{3}\b)")
_LINK = re.compile(r"\]\(([^)#]+)[^)]*\)")


class Shown(NamedTuple):
    """A command as a document shows it, and the lines that it says are printed."""

    command: str
    lines: tuple[str, ...]


def text(name: str) -> str:
    return (ROOT / name).read_text("utf-8")


def blocks(name: str, language: str) -> list[str]:
    """Return the code blocks of one language."""
    return [body for found, body in _BLOCK.findall(text(name)) if found == language]


def links(name: str) -> list[Path]:
    """Return the files that links lead to, those to addresses aside."""
    folder = (ROOT / name).parent
    return [folder / target for target in _LINK.findall(text(name)) if "://" not in target]


def shell_lines(name: str) -> list[str]:
    """Return the command lines of a document's sh blocks, comments cut off."""
    lines = [line.partition("  #")[0].strip() for body in blocks(name, "sh") for line in body.splitlines()]
    return [line for line in lines if line]


def shown(name: str) -> list[Shown]:
    """Return the commands of a document's console blocks with what is printed, in order."""
    found: list[Shown] = []
    for body in blocks(name, "console"):
        for part in re.split(r"^\$ ", body, flags=re.MULTILINE)[1:]:
            command, *lines = part.rstrip("\n").split("\n")
            found.append(Shown(command, tuple(lines)))
    return found


def missing_line(expected: tuple[str, ...], printed: str) -> str | None:
    """Return the first line that is not printed where it should be; ``...`` stands for any lines."""
    actual = printed.splitlines()
    place, loose = 0, False
    for line in expected:
        if line == "...":
            loose = True
            continue
        ahead = range(place, len(actual) if loose else min(place + 1, len(actual)))
        found = next((index for index in ahead if alike(line, actual[index])), None)
        if found is None:
            return line
        place, loose = found + 1, False
    return None if loose or not any(actual[place:]) else "(end)"


def alike(line: str, other: str) -> bool:
    """Return whether two lines say the same: words exactly, numbers within 0.2 % or 0.1, spacing aside.

    Versions of GDAL and PROJ differ in the last person counted.
    """
    (words, numbers), (other_words, other_numbers) = _taken_apart(line), _taken_apart(other)
    return words == other_words and all(
        math.isclose(a, b, rel_tol=0.002, abs_tol=0.11) for a, b in zip(numbers, other_numbers, strict=True)
    )


def _taken_apart(line: str) -> tuple[list[str], list[float]]:
    """Return the words with each number as #, and the numbers."""
    joined = _THOUSANDS.sub("", line)
    numbers = [float(number.replace("−", "-")) for number in _NUMBER.findall(joined)]
    return _NUMBER.sub("#", joined).split(), numbers
