"""Reads a table of heights of ground cover by class from a small CSV file, and writes a legend as one."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Final

from combe.errors import TableError

HEADER: Final = ("class", "height_m")
HIGHEST_M: Final = 150.0
"""Above this a height is taken for a mistake of unit."""

LARGEST_FILE_BYTES: Final = 1_000_000


def read_heights_m(path: Path | str) -> dict[int, float]:
    """Read heights of ground cover [m] by class number.

    The file is UTF-8 text: a header line ``class,height_m`` (columns after these are left alone), then a row
    for each class. Blank lines and lines that begin with ``#`` are passed over.

    Raises
    ------
    TableError
        Naming the file, the line, what stands there and what to write: a missing or unreadable file, another
        header, a class that is no whole number or stands twice, a height that is not 0 to 150 m.
    """
    file = Path(path)
    lines = [(number, line) for number, line in enumerate(_text(file).splitlines(), start=1) if _counts(line)]
    if not lines or tuple(part.strip() for part in lines[0][1].split(",")[:2]) != HEADER:
        raise TableError(file, f"it does not begin with {','.join(HEADER)}", "write that header line first")
    heights: dict[int, float] = {}
    for number, line in lines[1:]:
        code, height_m = _row(file, number, line)
        if code in heights:
            raise TableError(file, f"line {number}: class {code} stands twice", "take one of them out")
        heights[code] = height_m
    if not heights:
        raise TableError(file, "it holds no class", "write a row for each class: number,height")
    return heights


def _counts(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _row(file: Path, number: int, line: str) -> tuple[int, float]:
    cells = [cell.strip() for cell in next(csv.reader([line]))]
    try:
        code, height_m = int(cells[0]), float(cells[1])
    except (ValueError, IndexError):
        shown = ",".join(cells)[:40]
        raise TableError(
            file, f"line {number}: {shown!r} is no class and height", "write for example 10,15"
        ) from None
    if not 0.0 <= height_m <= HIGHEST_M:
        raise TableError(
            file, f"line {number}: height {height_m:g} m is out of range", f"write 0 to {HIGHEST_M:g}"
        )
    return code, height_m


def _text(file: Path) -> str:
    try:
        if not file.is_file():
            raise TableError(file, "there is no such file" if not file.exists() else "is not a regular file")
        if file.stat().st_size > LARGEST_FILE_BYTES:
            raise TableError(file, "is larger than 1 MB", "a table of classes is a short text")
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise TableError(file, "is not UTF-8 text", "save it as UTF-8") from None
    except OSError as error:
        raise TableError(file, f"cannot be read ({error.strerror})") from None
