"""Reads what the project's documents say: code blocks, links, commands and what they print."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
DOCUMENTS = ("README.md", "DEVELOPERS.md")

_BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
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


def links(name: str) -> list[str]:
    """Return the targets of the links that are not addresses."""
    return [target for target in _LINK.findall(text(name)) if "://" not in target]


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
    actual = [line.rstrip() for line in printed.splitlines()]
    place, loose = 0, False
    for line in expected:
        if line == "...":
            loose = True
            continue
        found = actual.index(line, place) if loose and line in actual[place:] else place
        if actual[found : found + 1] != [line]:
            return line
        place, loose = found + 1, False
    return None if loose or not any(actual[place:]) else "(end)"
