"""Finds where everything stands in a TOML text: tables, keys and values, so that one can be changed alone.

The text is TOML already, which tomllib has seen to; what would be a fault there is not looked for here.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from typing import Final, NamedTuple

from combe.study.fault import Place

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_BLANKS: Final = re.compile(r"[ \t]*")
_LINE_END: Final = re.compile(r"[ \t]*(?:#[^\n]*)?(?:\r?\n|$)")
_PASSED_OVER: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_QUOTES: Final = ('"""', "'''", '"', "'")
_SCALAR: Final = re.compile(r"[^,\]}#\r\n]*[^,\]}#\r\n \t]")


class Span(NamedTuple):
    """A stretch of the text."""

    start: int
    end: int


class Heading(NamedTuple):
    """The line that begins a table, whole, and the table's place."""

    place: Place
    line: Span


class TomlText:
    """A TOML text and where everything stands in it.

    Attributes
    ----------
    headings
        Of all tables that have one, in the order of the text.
    lines
        Of each key that stands on lines of its own, these lines, with what follows on the last.
    values
        Of each value, also those within lists and tables on one line.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.headings: list[Heading] = []
        self.lines: dict[Place, Span] = {}
        self.values: dict[Place, Span] = {}
        self._counts: dict[Place, int] = {}
        self._read()

    def section(self, heading: Heading) -> Span:
        """Return what stands between a heading and the next one."""
        starts = [each.line.start for each in self.headings if each.line.start > heading.line.start]
        return Span(heading.line.end, min(starts, default=len(self.text)))

    def own_lines(self, heading: Heading) -> list[Span]:
        """Return the lines of the keys that stand under a heading."""
        section = self.section(heading)
        return [line for line in self.lines.values() if section.start <= line.start < section.end]

    def _read(self) -> None:
        table: Place = ()
        at = _skip(_PASSED_OVER, self.text, 0)
        while at < len(self.text):
            if self.text[at] == "[":
                at, table = self._heading(at)
            else:
                at = self._line(at, table)
            at = _skip(_PASSED_OVER, self.text, at)

    def _heading(self, at: int) -> tuple[int, Place]:
        start, listed = self._line_start(at), self.text.startswith("[[", at)
        keys, at = self._keys(at + 1 + listed)
        place: Place = (*self._latest(keys[:-1]), keys[-1])
        if listed:
            self._counts[place] = self._counts.get(place, 0) + 1
        place = self._latest_of(place)
        end = self._line_end(at + 1 + listed)
        self.headings.append(Heading(place, Span(start, end)))
        return end, place

    def _latest(self, keys: Iterable[str]) -> Place:
        """Return the place of keys, in the latest entry of each list of tables on the way."""
        place: Place = ()
        for key in keys:
            place = self._latest_of((*place, key))
        return place

    def _latest_of(self, place: Place) -> Place:
        return (*place, self._counts[place] - 1) if place in self._counts else place

    def _line(self, at: int, table: Place) -> int:
        start = self._line_start(at)
        keys, at = self._keys(at)
        place = (*table, *keys)
        end = self._line_end(self._value(_skip(_BLANKS, self.text, at + 1), place))
        self.lines[place] = Span(start, end)
        return end

    def _keys(self, at: int) -> tuple[list[str], int]:
        """Return the keys of a dotted key, and what comes after them."""
        keys: list[str] = []
        while True:
            at = _skip(_BLANKS, self.text, at)
            end = self._string(at) if self.text[at] in "\"'" else _skip(_BARE, self.text, at)
            written = self.text[at:end]
            keys.append(tomllib.loads(f"x = {written}")["x"] if written[0] in "\"'" else written)
            at = _skip(_BLANKS, self.text, end)
            if self.text[at] != ".":
                return keys, at
            at += 1

    def _value(self, at: int, place: Place) -> int:
        """Note where a value stands and return its end."""
        first = self.text[at]
        if first == "[":
            end = self._list(at, place)
        elif first == "{":
            end = self._inline_table(at, place)
        elif first in "\"'":
            end = self._string(at)
        else:
            end = _skip(_SCALAR, self.text, at)
        self.values[place] = Span(at, end)
        return end

    def _list(self, at: int, place: Place) -> int:
        at, index = _skip(_PASSED_OVER, self.text, at + 1), 0
        while self.text[at] != "]":
            at = _skip(_PASSED_OVER, self.text, self._value(at, (*place, index)))
            at = _skip(_PASSED_OVER, self.text, at + (self.text[at] == ","))
            index += 1
        return at + 1

    def _inline_table(self, at: int, place: Place) -> int:
        at = _skip(_PASSED_OVER, self.text, at + 1)
        while self.text[at] != "}":
            keys, at = self._keys(at)
            at = self._value(_skip(_BLANKS, self.text, at + 1), (*place, *keys))
            at = _skip(_PASSED_OVER, self.text, at)
            at = _skip(_PASSED_OVER, self.text, at + (self.text[at] == ","))
        return at + 1

    def _string(self, at: int) -> int:
        quotes = next(each for each in _QUOTES if self.text.startswith(each, at))
        end = at + len(quotes)
        while not self.text.startswith(quotes, end):
            end += 2 if self.text[end] == "\\" and quotes[0] == '"' else 1
        end += len(quotes)
        # Up to two quotes may stand before the three that end a long text.
        while len(quotes) == 3 and self.text.startswith(quotes[0], end):
            end += 1
        return end

    def _line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def _line_end(self, at: int) -> int:
        return _skip(_LINE_END, self.text, at)


def _skip(pattern: re.Pattern[str], text: str, at: int) -> int:
    found = pattern.match(text, at)
    return found.end() if found else at
