"""Reads the text of a table: its encoding, as it says or as it is told, and what parts its cells.

UTF-8, and UTF-16 with its byte order mark, prove themselves. Any other encoding reads every file as some
text, right or wrong, so it is never guessed: the error shows how the text would read.
"""

from __future__ import annotations

import csv
import io
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from combe.errors import TableError, did_you_mean
from combe.tables.cells import shown
from combe.tables.columns import Layout

ENCODINGS: Final = (
    "utf-8", "utf-16", "utf-16-le", "utf-16-be", "windows-1250", "windows-1251", "windows-1252",
    "windows-1253",
    "windows-1254", "windows-1257", "windows-1258", "iso-8859-1", "iso-8859-2", "iso-8859-5", "iso-8859-7",
    "iso-8859-9", "iso-8859-15", "mac-roman", "cp437", "cp850", "cp852", "cp866", "koi8-r", "shift_jis",
    "euc-jp", "gb18030", "big5", "euc-kr", "tis-620",
)  # fmt: skip
"""What a study may write; Python's own names for them."""

SEPARATORS: Final = {"\t": "tabs", ";": "semicolons", ",": "commas", "|": "bars"}
"""What parts cells, the likeliest first where two would do: nobody writes tabs or semicolons in numbers."""

_MARKS: Final = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\0\0", "utf-32"),
    (b"\0\0\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_LIKELY: Final = "windows-1252"
_TRIED_ROWS: Final = 200


@dataclass(frozen=True)
class Records:
    """The text of a table, what parts its cells, and what its first line is if that is a comment."""

    path: Path
    text: str
    separator: str
    encoding: str

    def __iter__(self) -> Iterator[tuple[int, list[str]]]:
        """Yield the rows that hold something, each with its number as a spreadsheet shows it."""
        try:
            for number, cells in enumerate(_rows(self.text, self.separator), start=1):
                if _holds(cells):
                    yield number, cells
        except csv.Error as error:
            raise TableError(self.path, f"it is no CSV table ({error})", "check the quotes") from None


def read_records(path: Path, layout: Layout | None, largest_bytes: int, advice: str) -> Records:
    """Read a table's text.

    Parameters
    ----------
    path
        A text file.
    layout
        What a study says of it; None for a table of which none can say anything.
    largest_bytes, advice
        How large it may be, and what to do with one that is larger.

    Raises
    ------
    TableError
        Missing, too large, or text in no encoding that is known.
    """
    content = _content(path, largest_bytes, advice)
    text, named = _decoded(path, content, layout)
    return Records(path, text, separator_of(text), named)


def look_at_text(path: Path, largest_bytes: int) -> tuple[Records, str]:
    """Return a text whose encoding nobody told, and in words what was supposed of it, empty for nothing."""
    content = _content(path, largest_bytes, "cut it to the study area")
    try:
        text, named = _decoded(path, content, Layout())
    except TableError as error:
        if _is_two_bytes(content):
            raise
        text, named = content.decode("latin-1"), "latin-1"
        return Records(path, text, separator_of(text), named), error.problem
    return Records(path, text, separator_of(text), named), ""


def separator_of(text: str) -> str:
    r"""Return what parts the cells of a text: that which gives most rows as many cells as the first has.

    >>> separator_of("name;lat, deg;lon, deg\nHill;47,1;9,5\n")
    ';'
    """
    most, best = 0.0, ","
    for separator in SEPARATORS:
        share = _share_of_even_rows(text, separator)
        if share > most:
            most, best = share, separator
    return best


def _share_of_even_rows(text: str, separator: str) -> float:
    """Return which share of the first rows has as many cells as the header; 0 where it has but one."""
    try:
        rows = [row for row in itertools.islice(_rows(text, separator), _TRIED_ROWS) if _holds(row)]
    except csv.Error:
        return 0.0
    if not rows or len(rows[0]) < 2:
        return 0.0
    # A header alone counts too, but less than one with any row.
    return (sum(len(row) == len(rows[0]) for row in rows[1:]) + 0.5) / len(rows)


def _rows(text: str, separator: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)


def _holds(cells: list[str]) -> bool:
    """Tell whether a row is more than blank or a comment."""
    return any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")


def _content(path: Path, largest_bytes: int, advice: str) -> bytes:
    try:
        if not path.is_file():
            problem = "it is no regular file" if path.exists() else "there is no such file"
            raise TableError(path, problem, "give a CSV table")
        if path.stat().st_size > largest_bytes:
            raise TableError(path, f"it is larger than {largest_bytes // 1_000_000} MB", advice)
        return path.read_bytes()
    except OSError as error:
        raise TableError(path, f"it cannot be read ({error.strerror})") from None


def _decoded(path: Path, content: bytes, layout: Layout | None) -> tuple[str, str]:
    """Return the text of a table and the name of its encoding."""
    marked = next((name for mark, name in _MARKS if content.startswith(mark)), None)
    if layout is not None and layout.encoding is not None:
        return _as_told(path, content, layout.encoding, marked), layout.encoding
    name = marked or "utf-8"
    if not marked and _is_two_bytes(content):
        problem = "it is not UTF-8 text, for every second byte of it is zero"
        raise TableError(path, problem, _write_encoding(_likely_two_bytes(content), layout))
    try:
        return _without_zeros(path, content.decode(name)), name.removesuffix("-sig")
    except UnicodeDecodeError as error:
        raise TableError(path, *_not_utf_8(content, error.start, layout)) from None


def _as_told(path: Path, content: bytes, encoding: str, marked: str | None) -> str:
    """Read a text as it is told, unless it proves to be another."""
    if encoding not in ENCODINGS:
        raise TableError(path, f"encoding {encoding!r} is unknown", did_you_mean(encoding, ENCODINGS))
    own = marked or _proved_utf_8(content)
    if own and not own.startswith(encoding.removesuffix("-le").removesuffix("-be")):
        raise TableError(path, f"it is {own.removesuffix('-sig')} and not {encoding}", "take encoding out")
    try:
        # The codecs with an order of bytes in their names keep the mark as a sign of the text.
        return _without_zeros(path, content.decode(marked or encoding).removeprefix("\ufeff"))
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise TableError(path, f"row {line} is no {encoding} text", "name the encoding it has") from None


def _proved_utf_8(content: bytes) -> str | None:
    """Return utf-8 for bytes beyond ASCII that are UTF-8: no other encoding's text is so by chance."""
    if content.isascii():
        return None
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return None
    return "utf-8"


def _is_two_bytes(content: bytes) -> bool:
    head = content[:2000]
    return b"\0" in head and head.count(b"\0") * 4 >= len(head)


def _likely_two_bytes(content: bytes) -> str:
    return "utf-16-le" if content[1:2] == b"\0" else "utf-16-be"


def _without_zeros(path: Path, text: str) -> str:
    if "\0" in text:
        raise TableError(path, "a zero byte stands in it, so it is no text", "save it as CSV in UTF-8")
    return text


def _not_utf_8(content: bytes, at: int, layout: Layout | None) -> tuple[str, str]:
    """Return what is wrong with a text that is not UTF-8, and what to do."""
    start, end = content.rfind(b"\n", 0, at) + 1, content.find(b"\n", at)
    line = content[max(start, at - 12) : len(content) if end < 0 else end].strip()[:24]
    number = content[:at].count(b"\n") + 1
    reads = line.decode(_LIKELY, errors="replace")
    if layout is None:
        return "it is not UTF-8 text", "save it as CSV in UTF-8"
    if "\ufffd" in reads or not reads.isprintable():
        return "it is not UTF-8 text", _write_encoding("…", layout)
    problem = f"it is not UTF-8 text; as {_LIKELY}, row {number} has {shown(reads)}"
    return problem, f"if that reads well {_write_encoding(_LIKELY, layout)}"


def _write_encoding(name: str, layout: Layout | None) -> str:
    """Return what to write to have a text read in an encoding."""
    if layout is None:
        return "save it as CSV in UTF-8"
    told = f"give --encoding {name}" if layout.command else f'write encoding = "{name}"'
    return f"{told}, or save it as CSV in UTF-8"
