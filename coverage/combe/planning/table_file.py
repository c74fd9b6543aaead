"""Reads tables that people fill in by hand: strict CSV, every fault told with its row, none of it trusted."""

from __future__ import annotations

import csv
import datetime
import difflib
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from combe.errors import TableError

LARGEST_FILE_BYTES: Final = 4_000_000
LONGEST_CELL: Final = 300
EARLIEST: Final = datetime.date(1950, 1, 1)
_MOST_FAULTS: Final = 8
FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula."""

_NUMBER: Final = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_COMMA_NUMBER: Final = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class CellError(ValueError):
    """What is wrong with one cell, in words without its place."""


class TableRow(NamedTuple):
    """A row of the file; rows count from 1, the header's, as spreadsheets show them."""

    number: int
    cells: Mapping[str, str]


def read_rows(
    path: Path, required: Sequence[str], optional: Sequence[str], example: str
) -> tuple[list[TableRow], list[str]]:
    """Read a table with a header line, columns in any order.

    Parameters
    ----------
    path : Path
        UTF-8 text of at most 4 MB, commas between cells. Empty rows and rows that begin with ``#`` are passed
        over.
    required, optional : sequence of str
        Names of columns.
    example : str
        A row, for advice.

    Returns
    -------
    rows, faults
        Rows with as many cells as the header, and one line for each of the others.

    Raises
    ------
    TableError
        For the file as a whole: missing, unreadable, too large, no UTF-8 text, or a wrong header.
    """
    records = list(_records(path, _text(path)))
    if not records:
        raise TableError(path, "it holds no rows", f"begin with the header {','.join(required)}")
    header = [cell.strip() for cell in records[0][1]]
    _check_header(path, header, required, optional)
    rows, faults = [], []
    for number, cells in records[1:]:
        if len(cells) == len(header):
            named = {name: cell.strip() for name, cell in zip(header, cells, strict=True)}
            rows.append(TableRow(number, named))
        else:
            faults.append(_wrong_count(number, cells, len(header), example))
    return rows, faults


def raise_faults(path: Path, faults: Sequence[str]) -> None:
    """Raise one :class:`TableError` with all faults on its one line, or nothing where there are none."""
    if not faults:
        return
    groups = _alike(faults)
    listed = " | ".join(words for words, _ in groups[:_MOST_FAULTS])
    rest = sum(count for _, count in groups[_MOST_FAULTS:])
    more = f" | and {rest} more" if rest else ""
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    raise TableError(path, f"{count}, nothing was taken: {listed}{more}")


def _alike(faults: Sequence[str]) -> list[tuple[str, int]]:
    """Return each text of ``row 4: words`` once, with all its rows, and how many faults it stands for."""
    rows: dict[str, list[int]] = {}
    for fault in faults:
        match = re.fullmatch(r"row (\d+): (.*)", fault, re.DOTALL)
        rows.setdefault(match[2] if match else fault, []).extend([int(match[1])] if match else [])
    return [(f"{_rows_text(at)}{words}", max(len(at), 1)) for words, at in rows.items()]


def _rows_text(rows: Sequence[int]) -> str:
    """Return ``row 4: ``, ``rows 2 to 9, 12: ``, or nothing for no row.

    >>> _rows_text([2, 3, 4, 12])
    'rows 2 to 4, 12: '
    """
    if not rows:
        return ""
    runs: list[list[int]] = []
    for row in rows:
        if runs and row == runs[-1][-1] + 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    shown = [f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs]
    more = f" and {len(shown) - _MOST_FAULTS} more" if len(shown) > _MOST_FAULTS else ""
    return f"row{'s' if len(rows) > 1 else ''} {', '.join(shown[:_MOST_FAULTS])}{more}: "


def number_in(text: str, what: str) -> float:
    """Return the number of a cell; a decimal comma, a formula or other text is a :class:`CellError`."""
    if _NUMBER.fullmatch(text):
        return float(text)
    if _COMMA_NUMBER.fullmatch(text):
        raise CellError(f"{what} {shown(text)} has a decimal comma; write {text.replace(',', '.')}")
    if not text:
        raise CellError(f"{what} is empty; write a number")
    raise CellError(f"{what} {shown(text)} is no number; write it as -52.3")


def date_in(text: str, what: str, latest: datetime.date) -> datetime.date:
    """Return the date of a cell, from 1950 to ``latest``; else a :class:`CellError`."""
    if not text:
        raise CellError(f"{what} is empty; write year-month-day, for example 2026-05-01")
    try:
        if not _DATE.fullmatch(text):
            raise ValueError
        date = datetime.date.fromisoformat(text)
    except ValueError:
        raise CellError(
            f"{what} {shown(text)} is no date; write year-month-day, for example 2026-05-01"
        ) from None
    if not EARLIEST <= date <= latest:
        side = "lies after" if date > latest else "lies before"
        raise CellError(f"{what} {text} {side} {latest if date > latest else EARLIEST}; correct it")
    return date


def text_in(text: str, what: str) -> str:
    """Return the text of a cell; a formula, a sign that does not print, or too much, is a CellError."""
    if text.startswith(FORMULA_STARTS):
        raise CellError(f"{what} {shown(text)} looks like a formula; begin it with a letter or digit")
    if not text.isprintable():
        raise CellError(f"{what} {shown(text)} holds a sign that does not print; write it on one line")
    if len(text) > LONGEST_CELL:
        raise CellError(f"{what} is longer than {LONGEST_CELL} characters; shorten it")
    return text


def choice_in(text: str, what: str, choices: Iterable[str]) -> str:
    """Return the choice that a cell names, letter case aside; else a :class:`CellError` with the nearest."""
    words = list(choices)
    folded = {" ".join(word.casefold().split()): word for word in words}
    given = " ".join(text.casefold().split())
    if given in folded:
        return folded[given]
    near = difflib.get_close_matches(given, folded, n=1, cutoff=0.6)
    advice = f"did you mean {folded[near[0]]}?" if near else f"allowed: {', '.join(words)}"
    raise CellError(f"{what} {shown(text)} is unknown; {advice}" if text else f"{what} is empty; {advice}")


def shown(text: str) -> str:
    """Return a stranger's text fit for one line of an error."""
    return repr(text if len(text) <= 40 else text[:40] + "...")


def _check_header(path: Path, header: list[str], required: Sequence[str], optional: Sequence[str]) -> None:
    wanted = ",".join(required)
    if len(header) == 1 and ";" in header[0]:
        raise TableError(
            path, "row 1: cells are parted by semicolons", "save it with commas and decimal points"
        )
    missing = [name for name in required if name not in header]
    if missing:
        raise TableError(path, f"row 1: no column {missing[0]!r}", f"write the header {wanted}")
    strange = [name for name in header if name not in (*required, *optional)]
    if strange:
        raise TableError(path, f"row 1: column {shown(strange[0])} is unknown", f"write the header {wanted}")
    twice = [name for name in header if header.count(name) > 1]
    if twice:
        raise TableError(path, f"row 1: column {twice[0]!r} stands twice", "take one of them out")


def _wrong_count(number: int, cells: list[str], columns: int, example: str) -> str:
    words = f"row {number}: {len(cells)} cells where the header has {columns}"
    if len(cells) > columns:
        return f"{words}; is there a decimal comma? write {example}"
    return f"{words}; write {example}"


def _records(path: Path, text: str) -> Iterable[tuple[int, list[str]]]:
    """Yield the rows that hold something, each with its number."""
    try:
        for number, cells in enumerate(csv.reader(io.StringIO(text, newline=""), strict=True), start=1):
            if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
                yield number, cells
    except csv.Error as error:
        raise TableError(path, f"it is no CSV table ({error})", "check the quotes") from None


def _text(path: Path) -> str:
    try:
        if not path.is_file():
            problem = "it is no regular file" if path.exists() else "there is no such file"
            raise TableError(path, problem, "give a CSV table")
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise TableError(path, "it is larger than 4 MB", "give one visit at a time")
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise TableError(path, "it is not UTF-8 text", "save it as CSV in UTF-8") from None
    except OSError as error:
        raise TableError(path, f"it cannot be read ({error.strerror})") from None
