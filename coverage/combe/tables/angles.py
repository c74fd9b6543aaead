"""Longitudes and latitudes as people write them: degrees, minutes and seconds, with letters or signs."""

from __future__ import annotations

import re
from typing import Final, Literal

from combe.tables.cells import NUMBER, CellError, shown

Axis = Literal["longitude", "latitude"]

_PARTS: Final = re.compile(
    r"""(?P<before>[NSEWO]?)\s*(?P<sign>[+-]?)\s*
    (?P<degrees>\d{1,3}(?:\.\d+)?)\s*(?:[°ºd:]|deg)?\s*
    (?:(?P<minutes>\d{1,2}(?:\.\d+)?)\s*(?:['′’m:]|min)?\s*
    (?:(?P<seconds>\d{1,2}(?:\.\d+)?)\s*(?:["″”s]|''|′′|sec)?)?)?
    \s*(?P<behind>[NSEWO]?)""",
    re.VERBOSE | re.ASCII,
)
_PACKED: Final = re.compile(r"(\d{2,3})([NSEW])(\d{2})(\d{2}(?:\.\d+)?)", re.ASCII)
"""Degrees, letter, minutes and seconds without signs, as in notices of stations (ITU; from memory)."""

_SIGNS: Final = re.compile(r"[°ºNSEWnsewdm'′’:]")
_LETTERS: Final = {"longitude": "EW", "latitude": "NS"}


def angle_in(cell: str, axis: Axis) -> float:
    r"""Return a longitude, east positive, or a latitude, north positive [degrees].

    Raises
    ------
    CellError
        What is no angle, or one of the other axis.

    >>> angle_in("9°30'36\"E", "longitude"), angle_in("S 47 30", "latitude")
    (9.51, -47.5)
    """
    text = cell.strip().replace("\u2212", "-")
    if NUMBER.fullmatch(text):
        return float(text)
    if _SIGNS.search(text):
        text = text.replace(",", ".")
    upper = text.upper()
    packed = _PACKED.fullmatch(upper)
    if packed:
        degrees, letter, minutes, seconds = packed.groups()
        return _made(cell, axis, (degrees, minutes, seconds), "", letter)
    found = _PARTS.fullmatch(_capital_ends(text))
    if found is None or not found["degrees"]:
        raise CellError(f"{axis} {shown(cell)} is no angle; write degrees, as 47.2094 or 47°12'34\"N")
    if found["before"] and found["behind"]:
        raise CellError(f"{axis} {shown(cell)} has two letters; write one")
    parts = (found["degrees"], found["minutes"] or "0", found["seconds"] or "0")
    return _made(cell, axis, parts, found["sign"], found["before"] or found["behind"])


def _capital_ends(text: str) -> str:
    """Return an angle whose letter of the compass, first or last, is a capital; ``d m s`` stay small."""
    body = text[:1].upper() + text[1:]
    return (
        body[:-1] + body[-1].upper() if len(body) > 1 and body[-1] in "news" and _is_compass(body) else body
    )


def _is_compass(text: str) -> bool:
    # The s of seconds stands right behind a digit.
    return text[-1] != "s" or not text[-2].isdigit()


def _made(cell: str, axis: Axis, parts: tuple[str, str, str], sign: str, letter: str) -> float:
    degrees, minutes, seconds = map(float, parts)
    if letter == "O":
        raise CellError(f"{axis} {shown(cell)}: O may be Ost, east, or Ouest, west; write E or W")
    if letter and letter not in _LETTERS[axis]:
        other = "latitude" if axis == "longitude" else "longitude"
        raise CellError(f"{axis} {shown(cell)} is a {other}; are the columns exchanged?")
    if letter and sign:
        raise CellError(f"{axis} {shown(cell)} has a sign and a letter; write one of them")
    if minutes >= 60.0 or seconds >= 60.0:
        raise CellError(f"{axis} {shown(cell)} has 60 minutes or seconds, or more; correct it")
    size = degrees + minutes / 60.0 + seconds / 3600.0
    return -size if sign == "-" or letter in ("S", "W") else size
