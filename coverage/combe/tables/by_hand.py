"""Cells of tables that people fill in by hand: each checked, every fault told with its row, none trusted."""

from __future__ import annotations

import datetime
import difflib
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

from combe.errors import TableError
from combe.tables.cells import NUMBER, CellError, shown
from combe.tables.columns import Layout
from combe.tables.table import TableRow, read_table

LONGEST_CELL: Final = 300
EARLIEST: Final = datetime.date(1950, 1, 1)
_MOST_FAULTS: Final = 8
_ONE_AT_A_TIME: Final = "give one visit at a time"
FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula."""

_COMMA_NUMBER: Final = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def read_rows(
    path: Path,
    required: Sequence[str],
    optional: Sequence[str],
    example: str,
    layout: Layout | None = None,
    numbers: Sequence[str] = (),
) -> tuple[list[TableRow], list[str]]:
    """Read a table whole, as :func:`read_table` does.

    Returns
    -------
    rows, faults
        Rows that can be read, and one line for each of the others.

    Raises
    ------
    TableError
        For the file as a whole.
    """
    table = read_table(path, required, optional, example, layout, numbers=numbers, advice=_ONE_AT_A_TIME)
    rows = list(table.rows())
    return rows, table.faults


def raise_faults(path: Path, faults: Sequence[str]) -> None:
    """Raise one :class:`TableError` with all faults on its one line, or nothing where there are none."""
    if not faults:
        return
    groups = _alike(sorted(faults, key=_row_number))
    listed = " | ".join(words for words, _ in groups[:_MOST_FAULTS])
    rest = sum(count for _, count in groups[_MOST_FAULTS:])
    more = f" | and {rest} more" if rest else ""
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    raise TableError(path, f"{count}, nothing was taken: {listed}{more}")


def _row_number(fault: str) -> int:
    match = re.match(r"row (\d+)", fault)
    return int(match[1]) if match else 0


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
    if NUMBER.fullmatch(text):
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
