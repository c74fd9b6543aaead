"""A document as text for a terminal: the answer in twelve lines, or on demand all of it.

No table is wider than a hundred signs: heads take two lines, texts are broken, or columns go below one
another. Files and commands stand as they are; all else has plain spaces and true minus signs.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from combe.digits import for_terminal
from combe.publishing.cautions import CAUTION_LINES
from combe.publishing.document import (
    Document,
    Facts,
    Filling,
    Part,
    Picture,
    Room,
    Section,
    Table,
    Words,
)
from combe.publishing.fields import Mark, cells, fact, is_number, read
from combe.publishing.text import capital, in_lines, plain, shortened, width_of

WIDEST: Final = 100
MOST_LINES: Final = 12
"""Of an answer that is shown in brief, with its cautions."""

_INDENT: Final = "  "
_GAP: Final = "  "
_LONGEST_WORDS: Final = (24, 12)
"""Longer words are broken where a column of text has to be narrow: at first few of them, then more."""

_NOUGHTS: Final = {"0", "0.0"}


def as_text(document: Document, *, full: bool = False) -> str:
    """Return the document as lines for a terminal: the answer alone, or with ``full`` all of it."""
    return "\n".join(_whole(document) if full else _in_brief(document))


def _in_brief(document: Document) -> list[str]:
    """Return the answer, as much of the tables that belong to it as there is room for, and two cautions."""
    invented = document.study.invented if document.study else ""
    tail = [*(_wrapped(invented, "", "  ") if invented else []), *_files(document), *document.next_words]
    # What is fixed: title, cautions, and a line on what is left out.
    room = MOST_LINES - 1 - len(tail) - len(CAUTION_LINES) - 1
    said = _cut(_sentences(document.headline), max(room, 1))
    room -= len(said)
    shown: list[Part] = []
    brief = [*_brief(document.parts)]
    alone = sum(isinstance(part, Table) for _, part in brief) == 1
    # Sentences and facts come first and take what they need; tables share what room is left.
    for under, part in sorted(brief, key=lambda each: isinstance(each[1], Table)):
        lines = _with_room(part, room, under, bare=alone)
        said += lines
        room -= len(lines)
        if lines and not isinstance(part, Facts):
            shown.append(part)
    left_out = [title for part in document.parts for title in _untold(part, shown)]
    more = [shortened(f"More with --full: {'; '.join(dict.fromkeys(left_out))}", WIDEST)] if left_out else []
    run = _sentences(document.of_this_run)
    if len(run) <= room:
        tail, room = [*run, *tail], room - len(run)
    gap = [""] if room > 0 else []
    return [_title(document), *said, *map(for_terminal, more), *tail, *gap, *CAUTION_LINES]


def _brief(parts: Sequence[Part], under: str = "") -> Iterator[tuple[str, Words | Facts | Table]]:
    """Return the parts that belong to the answer in brief, each with the title of the section it is in."""
    for part in parts:
        if isinstance(part, Section):
            yield from _brief(part.parts, f"{part.title}: " if part.title else under)
        elif isinstance(part, Words | Facts | Table) and part.brief:
            yield under, part


def _untold(part: Part, shown: list[Part]) -> list[str]:
    """Return the titles of what a terminal can show of a part and was not shown."""
    if isinstance(part, Section):
        inner = [title for each in part.parts for title in _untold(each, shown)]
        shows = [each for each in part.parts if not isinstance(each, Filling | Picture | Room)]
        bare = shows and not any(getattr(each, "title", "") for each in shows)
        return [part.title] if bare and part.title else inner
    if not isinstance(part, Words | Facts | Table) or any(part is each for each in shown):
        return []
    return [part.title] if part.title else []


def _whole(document: Document) -> list[str]:
    """Return all that a terminal can show of a document."""
    lines = [_title(document), *_sentences(document.headline)]
    for part in document.parts:
        lines += _part(part)
    if document.made_by:
        lines += ["", "How this was made"]
        for name, words in document.made_by.items():
            lines += _wrapped(words if name == "invented" else f"{name}: {words}", "  ", "    ")
    beside = [f"written: {path}" for paths in document.beside.values() for path in paths]
    tail = [
        *_sentences(document.of_this_run),
        *(f"written: {path}" for path in document.files.values()),
        *beside,
        *document.next_words,
    ]
    lines += ["", *tail] if tail else []
    lines += ["", "Cautions"]
    for caution in document.cautions:
        lines += _wrapped(caution, "  - ", "    ")
    return lines


def _title(document: Document) -> str:
    asked = f"{document.study.title}: {document.title}" if document.study else capital(document.title)
    return for_terminal(plain(asked))


def _files(document: Document) -> list[str]:
    """Return what was written, a line for each folder; of what fields name the number alone."""
    lines: dict[Path, str] = {}
    for path in document.files.values():
        told = lines.get(path.parent)
        lines[path.parent] = f"{told}, {path.name}" if told else f"written: {path}"
    found = [*lines.values()] or ["written"]
    counted = [f"{len(paths)} {words}" for words, paths in document.beside.items() if paths]
    if counted:
        found[0] += f", {', '.join(counted)}; --full names them"
    return found if document.files or counted else []


def _sentences(lines: Iterable[str]) -> list[str]:
    return [line for words in lines for line in _wrapped(words, "", "  ")]


def _wrapped(words: str, first: str, then: str) -> list[str]:
    """Return words in lines no wider than a table, with what stands before the first line and the others."""
    told = in_lines(plain(words), WIDEST - max(width_of(first), width_of(then)))
    return [f"{then if at else first}{for_terminal(line)}" for at, line in enumerate(told)]


def _cut(lines: list[str], most: int) -> list[str]:
    """Return as many lines as there is room for, the last saying how many are left out."""
    if len(lines) <= most:
        return lines
    return [*lines[: most - 1], f"… and {len(lines) - most + 1} more lines; see --full"]


def _with_room(part: Words | Facts | Table, room: int, under: str, *, bare: bool) -> list[str]:
    """Return a part in so many lines at most: what there is no room for is left out."""
    if isinstance(part, Words) and part.listed:
        return _list_with_room(part, room)
    if isinstance(part, Words):
        lines = _sentences(f"{under}{_words(each)}" for each in part.lines)
        return _cut(lines, room) if room > 0 else []
    titled = isinstance(part, Table) and bool(part.title) and not bare
    head = _wrapped(f"{under}{part.title}", "", "  ") if titled else []
    lines = [*head, *_part(part, bare=True)]
    if len(lines) <= room:
        return lines
    if isinstance(part, Facts):
        return lines[: max(room, 0)]
    if not isinstance(part, Table) or part.across is not None:
        return []
    # A row may take several lines, so how many rows fit is tried, from the most downwards.
    for count in range(min(room, len(part.rows) - 1), 0, -1):
        rest = f"{_INDENT}… and {len(part.rows) - count} more; see --full"
        lines = [*head, *_table(part, part.rows[:count]), rest]
        if len(lines) <= room:
            return lines
    return []


def _list_with_room(part: Words, room: int) -> list[str]:
    """Return a list in so many lines at most; its last line counts the items that are left out."""
    for count in range(len(part.lines), 0, -1):
        lines = _part(replace(part, lines=part.lines[:count]), bare=True)
        if count < len(part.lines):
            lines.append(f"{_INDENT}… and {len(part.lines) - count} more; see --full")
        if len(lines) <= room:
            return lines
    return []


def _part(part: Part, *, bare: bool = False) -> list[str]:
    """Return the lines of a part, under its title unless it is to stand bare."""
    if isinstance(part, Section):
        inner = [line for each in part.parts for line in _part(each)]
        if not inner and not part.verdict and not part.note:
            return []
        if not part.title:
            return inner
        begin = inner[1:] if inner[:1] == [""] and not getattr(part.parts[0], "title", "") else inner
        return ["", *_wrapped(f"{part.title}{_told(part.verdict)}", "", "  "), *_note(part.note), *begin]
    if not isinstance(part, Words | Facts | Table):
        return []
    if isinstance(part, Table) and part.folded:
        inner = _wrapped(f"{part.summary}{_told(part.verdict)}", _INDENT, _INDENT * 2)
    elif isinstance(part, Table):
        inner = [*_note("" if bare else part.note), *_table(part, part.rows)]
    elif isinstance(part, Facts):
        inner = _facts(part)
    else:
        lines = [_words(each) for each in part.lines]
        starts = ("  - ", "    ") if part.listed else ("", "  ")
        inner = [line for words in lines for line in _wrapped(words, *starts)]
    if bare or not inner:
        return inner
    return ["", *_wrapped(part.title, "", "  "), *inner] if part.title else ["", *inner]


def _words(words: str | Mark) -> str:
    return words.words if isinstance(words, Mark) else words


def _told(verdict: Mark | None) -> str:
    return f": {verdict.words}" if verdict else ""


def _note(words: str) -> list[str]:
    return _wrapped(words, _INDENT, _INDENT) if words else []


def _facts(part: Facts) -> list[str]:
    """Return names and values in two columns."""
    shown = [field for field in part.fields if field.kind != "blank"]
    rows = [[plain(field.head), for_terminal(plain(fact(field, part.of)))] for field in shown]
    return _laid_out(["", ""], ["", ""], rows, [False, False]) if rows else []


def table_lines(table: Table) -> list[str]:
    """Return a table alone in lines for a terminal."""
    return _table(table, table.rows)


def _table(table: Table, rows: Sequence[object]) -> list[str]:
    """Return a table in lines, with a line of its own over the rows of each group."""
    fields = [field for field in table.fields if field.head and field.kind != "blank"]
    body = [[for_terminal(plain(words)) for words in cells(fields, row)] for row in rows]
    heads, units = [plain(field.head) for field in fields], [field.unit.name for field in fields]
    right = [is_number(field) for field in fields]
    if table.across is not None:
        names = [plain(read(row, table.across)) for row in rows]
        turned = [list(line) for line in zip(heads, units, *body, strict=True)]
        return _laid_out(
            ["", "", *names], [""] * (len(names) + 2), turned, [False, False] + [True] * len(names)
        )
    kept = [
        at
        for at, head in enumerate(heads)
        if head not in table.unless_zero or any(line[at] not in _NOUGHTS for line in body)
    ]
    heads, units, right = ([each[at] for at in kept] for each in (heads, units, right))  # type: ignore[assignment]
    body = [[line[at] for at in kept] for line in body]
    groups = ["" if table.group is None else str(read(row, table.group)) for row in rows]
    body = _told_once(body, [at for at, i in enumerate(kept) if fields[i].once])
    return _laid_out(heads, units, body, right, groups)


def _told_once(body: list[list[str]], once: list[int]) -> list[list[str]]:
    """Return rows without the cells of some columns, all of which they share with the row above."""
    told = [[line[at] for at in once] for line in body]
    return [
        ["" if i and at in once and told[i] == told[i - 1] else words for at, words in enumerate(line)]
        for i, line in enumerate(body)
    ]


def _laid_out(
    heads: list[str], units: list[str], body: list[list[str]], right: list[bool], groups: Sequence[str] = ()
) -> list[str]:
    """Return heads and rows in aligned columns, in the first way that is no wider than allowed."""
    in_one = [[f"{head} {unit}".rstrip() for head, unit in zip(heads, units, strict=True)]]
    # Units beside the heads where there is room, below them where there is not.
    for over in (in_one, [heads, units]):
        widths = _widths([*over, *body])
        if _line_width(widths) <= WIDEST:
            return _lines(over, body, widths, right, groups)
    over = [heads, units]
    for longest_word in _LONGEST_WORDS:
        narrowed = _narrowed(widths, [*over, *body], right, longest_word)
        if _line_width(narrowed) <= WIDEST:
            return _lines(over, body, narrowed, right, groups)
    return _in_blocks(over, body, widths, right, groups)


def _narrowed(widths: list[int], lines: list[list[str]], right: list[bool], longest_word: int) -> list[int]:
    """Return widths with columns of text as narrow as need be, none narrower than its words up to so long."""
    widths = [*widths]
    floors = {
        at: min(max((width_of(word) for line in lines for word in line[at].split()), default=1), longest_word)
        for at, to_right in enumerate(right)
        if not to_right
    }
    while floors and (excess := _line_width(widths) - WIDEST) > 0:
        # Who has most to give gives first.
        at = max(floors, key=lambda at: widths[at] - floors[at])
        if widths[at] <= floors[at]:
            break
        widths[at] = max(floors[at], widths[at] - excess)
    return widths


def _in_blocks(
    over: list[list[str]], body: list[list[str]], widths: list[int], right: list[bool], groups: Sequence[str]
) -> list[str]:
    """Return a table as several below one another, each with the first column."""
    widths[0] = min(widths[0], WIDEST // 3)
    blocks: list[list[int]] = [[0]]
    for at in range(1, len(widths)):
        widths[at] = min(widths[at], WIDEST - len(_INDENT) - widths[0] - len(_GAP))
        if _line_width([widths[i] for i in (*blocks[-1], at)]) > WIDEST:
            blocks.append([0])
        blocks[-1].append(at)
    lines: list[str] = []
    for block in blocks:
        heads, rows = ([[line[at] for at in block] for line in each] for each in (over, body))
        chosen = [widths[at] for at in block], [right[at] for at in block]
        lines += ([""] if lines else []) + _lines(heads, rows, *chosen, groups)
    return lines


def _lines(
    over: list[list[str]], body: list[list[str]], widths: list[int], right: list[bool], groups: Sequence[str]
) -> list[str]:
    lines = [line for heads in over if any(heads) for line in _row_lines(heads, widths, right)]
    told = ""
    for row, group in itertools.zip_longest(body, groups[: len(body)], fillvalue=""):
        if group and group != told:
            lines += _wrapped(group, " ", "   ")
            told = group
        lines += _row_lines(list(row), widths, right)
    return lines


def _row_lines(row: list[str], widths: list[int], right: list[bool]) -> list[str]:
    """Return a row, over several lines where a text is wider than its column."""
    pieces = [
        [piece for line in words.split("\n") for piece in _fitting(line, width)]
        for words, width in zip(row, widths, strict=True)
    ]
    return [
        _line([piece[at] if at < len(piece) else "" for piece in pieces], widths, right)
        for at in range(max(map(len, pieces)))
    ]


def _fitting(words: str, width: int) -> list[str]:
    return in_lines(words, width) if width_of(words) > width else [words]


def _line(row: Sequence[str], widths: list[int], right: list[bool]) -> str:
    parts = [
        _padded(words, width, to_right=to_right)
        for words, width, to_right in zip(row, widths, right, strict=True)
    ]
    return (_INDENT + _GAP.join(parts)).rstrip()


def _padded(words: str, width: int, *, to_right: bool) -> str:
    space = " " * max(width - width_of(words), 0)
    return space + words if to_right else words + space


def _widths(lines: list[list[str]]) -> list[int]:
    return [
        max(width_of(piece) for words in column for piece in words.split("\n"))
        for column in zip(*lines, strict=True)
    ]


def _line_width(widths: Sequence[int]) -> int:
    return len(_INDENT) + sum(widths) + len(_GAP) * (len(widths) - 1)
