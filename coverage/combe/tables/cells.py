"""Numbers in other people's tables: decimal commas, thousands, blanks; what may be either is asked."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final, Literal

Sign = Literal[".", ","]

NUMBER: Final = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_BLANKS: Final = re.compile(r"(?<=\d)[ '\u00a0\u2009\u202f\u2019](?=\d{3}(?!\d))")
"""What parts thousands in print: blanks of all widths and apostrophes."""

_GROUPED: Final = {
    ".": re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d*)?", re.ASCII),
    ",": re.compile(r"[+-]?\d{1,3}(\.\d{3})+(,\d*)?", re.ASCII),
}
_EITHER: Final = {
    ",": re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII),
    ".": re.compile(r"[+-]?[1-9]\d{0,2}\.\d{3}", re.ASCII),
}
"""A sign that may stand before decimals as well as before thousands."""

_SIGNS: Final[tuple[Sign, Sign]] = (",", ".")
_SURE: Final = {
    ",": re.compile(r"[+-]?(\d*,\d+|\d{1,3}(\.\d{3})+,\d*)", re.ASCII),
    ".": re.compile(r"[+-]?(\d*\.\d+|\d{1,3}(,\d{3})+\.\d*)", re.ASCII),
}


class CellError(ValueError):
    """What is wrong with one cell, in words without its place."""


def shown(text: str) -> str:
    """Return a stranger's text fit for one line of an error."""
    return repr(text if len(text) <= 40 else text[:40] + "...")


def decimal_sign(cells: Iterable[str]) -> Sign:
    """Return the sign before decimals in the numbers of a table; point where there are none.

    Raises
    ------
    CellError
        Where a comma may part thousands or decimals, and no other number tells.

    >>> decimal_sign(["47,1", "1.250"])
    ','
    """
    sure: dict[Sign, str] = {}
    either = ""
    for cell in cells:
        if "," not in cell and "." not in cell:
            continue
        text = _tidy(cell)
        if _EITHER[","].fullmatch(text):
            either = either or text
        elif not _EITHER["."].fullmatch(text):
            for sign in _SIGNS:
                if _SURE[sign].fullmatch(text):
                    sure.setdefault(sign, text)
    if len(sure) == 2:
        # Each cell with a comma is then told by itself.
        return "."
    if either and not sure:
        raise CellError(f"{either} may be {either.replace(',', '.')} or {either.replace(',', '')}")
    return "," if "," in sure else "."


def plain_number(cell: str, decimal: Sign) -> str:
    """Return a cell with a number written as Python reads it; any other cell as it is.

    >>> plain_number("1 250,5", ","), plain_number("1,250.5", "."), plain_number("47,1", ".")
    ('1250.5', '1250.5', '47,1')
    """
    text = _tidy(cell)
    if _GROUPED[decimal].fullmatch(text):
        text = text.replace("." if decimal == "," else ",", "")
    elif decimal == "," and "." in text:
        raise CellError(f"{shown(cell)} has a decimal point, and the table decimal commas; write one sign")
    if decimal == ",":
        text = text.replace(",", ".")
    return text if NUMBER.fullmatch(text) else cell


def _tidy(cell: str) -> str:
    """Return a cell without blanks among thousands, its minus a hyphen."""
    return _BLANKS.sub("", cell.strip()).replace("\u2212", "-")
