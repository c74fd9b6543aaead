"""An aerial pattern: relative gain against bearing or elevation, without gaps; and its small CSV table.

A table is refused where anything in it is not sure.
"""

from __future__ import annotations

import math
import os
import re
import uuid
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal, NamedTuple, TypeVar, get_args

import numpy as np

from combe.decibels import FloatArray
from combe.errors import OutputError, PatternError
from combe.files import advice

Angle = TypeVar("Angle", float, FloatArray)
PatternKind = Literal["horizontal", "vertical"]

LARGEST_GAP_DEG: Final = 30.0
"""Widest step between two rows; wider leaves lobes and nulls to chance (our own rule)."""

MOST_ROWS: Final = 4000
LOWEST_GAIN_DB: Final = -100.0
MAXIMUM_TOLERANCE_DB: Final = 0.05
"""How far the greatest gain of a table may lie under 0 dB, for tables printed with one decimal."""

_RANGES_DEG: Final = {"horizontal": (0.0, 360.0), "vertical": (-90.0, 90.0)}
_ANGLE_NAMES: Final = {"horizontal": "bearing", "vertical": "elevation"}


class PatternFault(NamedTuple):
    """What is wrong with a pattern, what to do, and the index of the row it shows at (None: all rows)."""

    problem: str
    advice: str = ""
    row: int | None = None


@dataclass(frozen=True)
class Pattern:
    """Relative gain of an aerial around one axis.

    Parameters
    ----------
    angle_deg : tuple of float, (n,)
        Ascending. Horizontal: bearings clockwise from true north, 0 to 360; vertical: elevations, −90
        (straight down) to 90, both ends present.
    relative_db : tuple of float, (n,)
        Gain against the maximum, so 0 or less, 0 somewhere.
    kind : {"horizontal", "vertical"}
    source : str
        Where the table is from: a file, a maker's sheet, an invention.

    Raises
    ------
    PatternError
        For a gap over 30 degrees, rows out of order or out of range, or a maximum that is not 0 dB.
    """

    angle_deg: tuple[float, ...]
    relative_db: tuple[float, ...]
    kind: PatternKind
    source: str

    def __post_init__(self) -> None:
        if self.kind not in get_args(PatternKind):
            raise PatternError(self.source, f"kind is {self.kind!r}", "write horizontal or vertical")
        fault = find_fault(self.angle_deg, self.relative_db, self.kind)
        if fault is not None:
            raise PatternError(self.source, fault.problem, fault.advice)
        object.__setattr__(self, "angle_deg", tuple(float(angle) for angle in self.angle_deg))
        object.__setattr__(self, "relative_db", tuple(float(gain) for gain in self.relative_db))


def pattern_gain_db(pattern: Pattern | None, angle_deg: Angle) -> Angle:
    """Return the gain relative to the maximum [dB] towards bearings or elevations.

    Parameters
    ----------
    pattern : Pattern or None
        None is an aerial that is equal in all directions: 0 dB.
    angle_deg : float or array of any shape
        Bearings (any turn, so −10 is 350) or elevations [degrees]. NaN gives NaN.

    Returns
    -------
    float or array
        Like ``angle_deg``; linear in dB between the rows.
    """
    angle = np.asarray(angle_deg, dtype=np.float64)
    if pattern is None:
        gain = np.where(np.isnan(angle), np.nan, 0.0)
    else:
        # On a circle 350 and 0 degrees are neighbours.
        period = 360.0 if pattern.kind == "horizontal" else None
        gain = np.interp(angle, pattern.angle_deg, pattern.relative_db, period=period)
    return float(gain) if isinstance(angle_deg, int | float) else gain


_ALIKE_DB: Final = 0.05
"""Rows nearer to the maximum than this are of one flat top."""


def main_bearings_deg(pattern: Pattern) -> tuple[float, ...]:
    """Return the middle of each maximum of a horizontal pattern [degrees], rising; 0 where it has no other.

    Rows at the maximum that follow one another are one maximum; all of them together are none.
    """
    count = len(pattern.angle_deg)
    top = [gain_db >= -_ALIKE_DB for gain_db in pattern.relative_db]
    if all(top):
        return (0.0,)
    # Begun behind a row below the maximum, no run of rows is cut in two by the end of the table.
    first = top.index(False) + 1
    found, run = [], []
    for step in range(count):
        at = (first + step) % count
        if top[at]:
            run.append(pattern.angle_deg[at] + (360.0 if first + step >= count else 0.0))
        elif run:
            found.append((run[0] + run[-1]) / 2.0 % 360.0)
            run = []
    return tuple(sorted(found))


def find_fault(angle_deg: Sequence[float], relative_db: Sequence[float], kind: str) -> PatternFault | None:
    """Return the first fault of a table of angles and gains, or None where it makes a :class:`Pattern`."""
    return (
        _length_fault(angle_deg, relative_db)
        or _angle_fault(angle_deg, kind)
        or _gap_fault(angle_deg, kind)
        or _gain_fault(relative_db)
        or _seam_fault(angle_deg, relative_db, kind)
    )


def _length_fault(angle_deg: Sequence[float], relative_db: Sequence[float]) -> PatternFault | None:
    if len(angle_deg) != len(relative_db):
        return PatternFault(
            f"{len(angle_deg)} angles but {len(relative_db)} gains", "give one gain per angle"
        )
    if not 2 <= len(angle_deg) <= MOST_ROWS:
        return PatternFault(f"the number of rows is {len(angle_deg)}", f"give 2 to {MOST_ROWS} rows")
    return None


def _angle_fault(angle_deg: Sequence[float], kind: str) -> PatternFault | None:
    low, high = _RANGES_DEG[kind]
    for row, angle in enumerate(angle_deg):
        if not low <= angle <= high:
            return PatternFault(
                f"{_ANGLE_NAMES[kind]} {angle:g} degrees is out of range",
                f"allowed: {low:g} to {high:g}",
                row,
            )
        if row and angle <= angle_deg[row - 1]:
            return PatternFault(
                f"{_ANGLE_NAMES[kind]} {angle:g} degrees comes after {angle_deg[row - 1]:g}",
                "put the rows in ascending order, each angle once",
                row,
            )
    return None


def _gap_fault(angle_deg: Sequence[float], kind: str) -> PatternFault | None:
    name, advice = _ANGLE_NAMES[kind], f"add rows at most {LARGEST_GAP_DEG:g} degrees apart"
    for row in range(1, len(angle_deg)):
        if angle_deg[row] - angle_deg[row - 1] > LARGEST_GAP_DEG:
            return PatternFault(
                f"gap between {name} {angle_deg[row - 1]:g} and {angle_deg[row]:g} degrees", advice, row
            )
    first, last = angle_deg[0], angle_deg[-1]
    if kind == "horizontal" and first + 360.0 - last > LARGEST_GAP_DEG:
        return PatternFault(f"gap between {name} {last:g} and {first:g} degrees, through north", advice)
    if kind == "vertical" and (first, last) != _RANGES_DEG["vertical"]:
        return PatternFault(f"elevations run from {first:g} to {last:g} degrees", "give rows from -90 to 90")
    return None


def _gain_fault(relative_db: Sequence[float]) -> PatternFault | None:
    for row, gain in enumerate(relative_db):
        if not (math.isfinite(gain) and LOWEST_GAIN_DB <= gain <= 0.0):
            return PatternFault(
                f"relative gain {gain:g} dB is out of range",
                f"allowed: {LOWEST_GAIN_DB:g} to 0, relative to the maximum",
                row,
            )
    if max(relative_db) < -MAXIMUM_TOLERANCE_DB:
        return PatternFault(
            f"the greatest relative gain is {max(relative_db):g} dB, not 0",
            "subtract the maximum from every row; the ERP of a service is that at the maximum",
        )
    return None


def _seam_fault(angle_deg: Sequence[float], relative_db: Sequence[float], kind: str) -> PatternFault | None:
    both = kind == "horizontal" and (angle_deg[0], angle_deg[-1]) == _RANGES_DEG["horizontal"]
    if both and relative_db[0] != relative_db[-1]:
        return PatternFault(
            f"bearing 0 has {relative_db[0]:g} dB but bearing 360 has {relative_db[-1]:g} dB",
            "they are one direction: leave out the row of 360",
            len(angle_deg) - 1,
        )
    return None


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
    # repr writes the fewest digits that are read back as the same number.
    lines = [f"# {source}", HEADERS[pattern.kind], *(f"{angle!r},{gain!r}" for angle, gain in rows)]
    return "\n".join(lines) + "\n"


def _replace(final: Path, text: str) -> None:
    beside = final.with_name(f".{final.stem}-{uuid.uuid4().hex}.part")
    try:
        with beside.open("x", encoding="utf-8", errors="backslashreplace", newline="\n") as file:
            file.write(text)
            file.flush()
            # On the disk before the name: a crash soon after the renaming could else leave the name with
            # nothing in it.
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
            # One byte more than is allowed tells a larger file without reading all of it.
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
