"""Reads an aerial pattern from a small CSV table, refusing what it cannot be sure of, and writes one."""

from __future__ import annotations

import os
import re
import uuid
from contextlib import suppress
from pathlib import Path
from typing import Final, NamedTuple, get_args

from combe.errors import OutputError, PatternError
from combe.files import advice
from combe.stations.pattern import Pattern, PatternKind, find_fault

LARGEST_FILE_BYTES: Final = 1_000_000
HEADERS: Final = {"horizontal": "bearing_deg,relative_db", "vertical": "elevation_deg,relative_db"}

_NUMBER: Final = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_SHOWN: Final = 40

LONGEST_SOURCE: Final = 500
"""Characters of a pattern's source that are written with it."""


class _Row(NamedTuple):
    """A line of the table with its number in the file, counted from 1."""

    line: int
    text: str


def read_pattern(path: Path | str, kind: PatternKind) -> Pattern:
    """Read a pattern table.

    The file is UTF-8 text of at most 1 MB: a header line, ``bearing_deg,relative_db`` or
    ``elevation_deg,relative_db``, then rows of two numbers with decimal points, angles ascending. Blank
    lines and lines that begin with ``#`` are passed over.

    Parameters
    ----------
    path : Path or str
    kind : {"horizontal", "vertical"}

    Returns
    -------
    Pattern
        Its source is the path.

    Raises
    ------
    PatternError
        One line naming the file, the line in it, and what to do: a file that is missing, no plain text or
        too large, a wrong header, a row that is not two numbers, and every fault of :class:`Pattern`.
    """
    if kind not in get_args(PatternKind):
        raise PatternError(path, f"kind is {kind!r}", "write horizontal or vertical")
    rows = _rows(_text(Path(path)))
    _check_header(path, rows, kind)
    pairs = [_pair(path, row) for row in rows[1:]]
    angles, gains = tuple(pair[0] for pair in pairs), tuple(pair[1] for pair in pairs)
    fault = find_fault(angles, gains, kind)
    if fault is not None:
        place = "" if fault.row is None else f"line {rows[fault.row + 1].line}: "
        raise PatternError(path, place + fault.problem, fault.advice)
    return Pattern(angles, gains, kind, str(path))


def write_pattern(path: Path | str, pattern: Pattern) -> None:
    """Write a pattern as the table that :func:`read_pattern` reads: the same numbers come back.

    The source goes into a comment line. The file is written beside its place and renamed, so that it is whole
    or as it was.

    Parameters
    ----------
    path : Path or str
        A file in a folder that exists; an older file is replaced.
    pattern : Pattern

    Raises
    ------
    OutputError
        The folder is not there or may not be written, or a folder is in the way.
    """
    final = Path(path)
    if final.is_dir():
        raise OutputError(final, "a folder of this name is in the way", "remove it or choose another name")
    try:
        _replace(final, _table(pattern))
    except OSError as error:
        problem = (error.strerror or type(error).__name__).lower()
        raise OutputError(final, problem, advice(error)) from error


def _table(pattern: Pattern) -> str:
    source = " ".join(pattern.source.split())[:LONGEST_SOURCE]
    rows = zip(pattern.angle_deg, pattern.relative_db, strict=True)
    lines = [f"# {source}", HEADERS[pattern.kind], *(f"{angle!r},{gain!r}" for angle, gain in rows)]
    return "\n".join(lines) + "\n"


def _replace(final: Path, text: str) -> None:
    beside = final.with_name(f".{final.stem}-{uuid.uuid4().hex}.part")
    try:
        with beside.open("x", encoding="utf-8", errors="backslashreplace", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(final)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise


def _text(path: Path) -> str:
    if not path.exists():
        raise PatternError(path, "there is no such file", "paths count from the study file")
    if not path.is_file():
        raise PatternError(path, "it is no regular file", "give a CSV table")
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise PatternError(path, f"it cannot be read ({error.strerror})") from error
    if len(raw) > LARGEST_FILE_BYTES:
        raise PatternError(
            path, f"it is larger than {LARGEST_FILE_BYTES} bytes", "one row per degree is plenty"
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PatternError(path, "it is not UTF-8 text", "save the table as CSV in UTF-8") from error


def _rows(text: str) -> list[_Row]:
    numbered = ((number, line.strip()) for number, line in enumerate(text.splitlines(), start=1))
    return [_Row(number, line) for number, line in numbered if line and not line.startswith("#")]


def _check_header(path: Path | str, rows: list[_Row], kind: str) -> None:
    header = HEADERS[kind]
    if not rows:
        raise PatternError(path, "it holds no rows", f"begin with the header {header}")
    names = ",".join(name.strip() for name in rows[0].text.split(","))
    if names != header:
        raise PatternError(path, f"line {rows[0].line}: the header is {_shown(names)}", f"write {header}")


def _pair(path: Path | str, row: _Row) -> tuple[float, float]:
    fields = [field.strip() for field in row.text.split(",")]
    if len(fields) != 2:
        raise PatternError(
            path,
            f"line {row.line}: the number of fields is {len(fields)} in {_shown(row.text)}",
            "write two numbers with decimal points and one comma between them",
        )
    for field in fields:
        if not _NUMBER.fullmatch(field):
            raise PatternError(path, f"line {row.line}: {_shown(field)} is no number", "write it as -3.5")
    return float(fields[0]), float(fields[1])


def _shown(text: str) -> str:
    """Return a stranger's text fit for one line of an error."""
    return repr(text if len(text) <= _SHOWN else text[:_SHOWN] + "...")
