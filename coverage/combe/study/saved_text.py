"""Puts what was changed of a study into its text: comments, order and line ends stay, and all else is kept.

A value is replaced where it stands; a key that is new goes behind the others of its own table, or where it
stands as a comment; a table goes with the comment right above it; one more station comes last.
"""

from __future__ import annotations

import difflib
import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from combe.errors import RangeError
from combe.study.crosscheck import Table
from combe.study.fault import Place, is_within, path_text
from combe.study.toml_text import Heading, Span, TomlText

_MARK: Final = "\ufeff"
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_COMMENT_AHEAD: Final = re.compile(r"([ \t]{2,})#")
_UNUSED_KEY: Final = re.compile(r"[ \t]*#[ \t]*[A-Za-z0-9_-]+[ \t]*=")
_UNUSED_TABLE: Final = re.compile(r"[ \t]*#[ \t]*\[")

Pair = tuple[int | None, int | None]
"""Which entry of a list has become which: None before for a new one, None after for one that is gone."""


def saved_text(text: str, before: Table, after: Table) -> str:
    r"""Return the text of a study as a change of its table leaves it.

    Parameters
    ----------
    text
        Of the file as it was read, with its line ends, and with its byte order mark if it has one.
    before, after
        What the text says, and what it is to say; stations of a table of stations are not among them.

    Raises
    ------
    RangeError
        A text that is written so that the change cannot be put into it.

    Examples
    --------
    >>> saved_text("a = 1  # one\n[b]\n", {"a": 1, "b": {}}, {"a": 2, "b": {"c": True}})
    'a = 2  # one\n[b]\nc = true\n'
    """
    mark = _MARK if text.startswith(_MARK) else ""
    changed = _Change(text.removeprefix(mark))
    changed.put((), before, after)
    found = changed.text()
    if tomllib.loads(found) != after:
        raise _not_here(())
    return mark + found


def toml_value(value: Any) -> str:
    """Return a value as TOML; but for tables and the DEL sign, JSON's text is TOML for all in a study."""
    if isinstance(value, Mapping):
        inner = ", ".join(f"{toml_key(key)} = {toml_value(each)}" for key, each in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml_value, value))}]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_key(key: str) -> str:
    """Return a key as TOML."""
    return key if _BARE.fullmatch(key) else toml_value(key)


def _not_here(place: Place) -> RangeError:
    what = path_text(place) or "this"
    allowed = "[[stations]] tables with each key on a line of its own"
    return RangeError("the study's text", f"such that {what} cannot be changed in it", allowed)


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and any(isinstance(each, Mapping) for each in value)


def _table_lines(heading: str, table: Table, *, listed: bool) -> Iterator[str]:
    """Yield a table and the tables in it, keys first."""
    yield f"[[{heading}]]" if listed else f"[{heading}]"
    inner = {key: each for key, each in table.items() if isinstance(each, Mapping) or _is_tables(each)}
    yield from (f"{toml_key(key)} = {toml_value(each)}" for key, each in table.items() if key not in inner)
    for key, each in inner.items():
        for entry in each if isinstance(each, list) else [each]:
            yield ""
            yield from _table_lines(f"{heading}.{toml_key(key)}", entry, listed=isinstance(each, list))


class _Change:
    """A text, and what is to stand in place of which stretches of it."""

    def __init__(self, text: str) -> None:
        self._of = TomlText(text)
        self._new: list[tuple[Span, str]] = []
        self._newline = "\r\n" if re.match(r"[^\n]*\r\n", text) else "\n"

    def text(self) -> str:
        """Return the text with all of it changed."""
        parts: list[str] = []
        at, old = 0, self._of.text
        for span, new in sorted(self._new, key=lambda each: each[0]):
            if span.start < at:
                raise _not_here(())
            parts += [old[at : span.start], new]
            at = span.end
        return "".join([*parts, old[at:]])

    def put(self, place: Place, before: Any, after: Any) -> None:
        """Change what stands at a place."""
        if before == after:
            return
        if isinstance(before, Mapping) and isinstance(after, Mapping):
            self._put_table(place, before, after)
        elif isinstance(before, list) and isinstance(after, list):
            self._put_list(place, before, after)
        else:
            self._replace(place, after)

    def _put_table(self, place: Place, before: Table, after: Table) -> None:
        if place in self._of.values and set(before) != set(after):
            self._replace(place, after)
            return
        for key in before:
            if key not in after:
                self._remove((*place, key))
        for key, value in after.items():
            if key in before:
                self.put((*place, key), before[key], value)
            else:
                self._add(place, key, value)

    def _put_list(self, place: Place, before: list[Any], after: list[Any]) -> None:
        tables = _is_tables(before) or _is_tables(after)
        pairs = _pairs_of_tables(place, before, after) if tables else _pairs(before, after)
        for old, new in pairs:
            if old is not None and new is not None:
                self.put((*place, old), before[old], after[new])
        if place in self._of.values:
            if not before or not after:
                self._replace(place, after)
            else:
                self._put_entries(place, pairs, after)
            return
        for old, new in pairs:
            if new is not None and old is None:
                self._append(place, after[new])
            elif new is None and old is not None:
                self._remove((*place, old))

    def _put_entries(self, place: Place, pairs: Sequence[Pair], after: list[Any]) -> None:
        """Take out and put in entries of a list within brackets."""
        entries = [
            self._of.values[*place, number] for number in range(sum(old is not None for old, _ in pairs))
        ]
        gone = [old for old, new in pairs if new is None and old is not None]
        for number in gone:
            self._cut(_entry_span(self._of.text, entries, number, gone))
        last: int | None = None
        for old, new in pairs:
            if old is None and new is not None:
                value = toml_value(after[new])
                at = entries[0].start if last is None else entries[last].end
                self._new.append((Span(at, at), f"{value}, " if last is None else f", {value}"))
            elif old is not None:
                last = old

    def _replace(self, place: Place, value: Any) -> None:
        """Put a value in place of another; a comment behind it stays in its column while there is room."""
        if place not in self._of.values:
            raise _not_here(place)
        span, new = self._of.values[place], toml_value(value)
        blanks = _COMMENT_AHEAD.match(self._of.text, span.end) if place in self._of.lines else None
        if blanks is None:
            self._new.append((span, new))
            return
        left = len(blanks[1]) - (len(new) - (span.end - span.start))
        self._new.append((Span(span.start, blanks.end(1)), new + " " * max(2, left)))

    def _cut(self, span: Span) -> None:
        self._new.append((span, ""))

    def _add(self, place: Place, key: str, value: Any) -> None:
        """Write a key that the table does not have, where it stands as a comment or behind the others."""
        if not place and _is_tables(value):
            for entry in value:
                self._append((key,), entry)
            return
        heading = next((each for each in self._of.headings if each.place == place), None)
        if heading is None or isinstance(value, Mapping) or _is_tables(value):
            raise _not_here((*place, key))
        if self._uncomment(heading, key, value):
            return
        at = self._content_end(heading)
        unended = "" if self._of.text[:at].endswith("\n") else self._newline
        self._new.append((Span(at, at), f"{unended}{toml_key(key)} = {toml_value(value)}{self._newline}"))

    def _uncomment(self, heading: Heading, key: str, value: Any) -> bool:
        """Write a key where it stands as a comment of its table; False where it does not."""
        for line, words in self._comments(self._of.section(heading)):
            if _UNUSED_TABLE.match(words):
                return False
            found = re.match(rf"[ \t]*#[ \t]*(?={re.escape(key)}[ \t]*=)", words)
            if found:
                self._new.append((line, _uncommented(words, found.end(), key, value)))
                return True
        return False

    def _comments(self, within: Span) -> Iterator[tuple[Span, str]]:
        """Yield the lines that are comments, without their line ends."""
        at = within.start
        taken = [line for line in self._of.lines.values() if within.start <= line.start < within.end]
        for whole in self._of.text[within.start : within.end].splitlines(keepends=True):
            words = whole.rstrip("\r\n")
            if words.lstrip().startswith("#") and not any(each.start <= at < each.end for each in taken):
                yield Span(at, at + len(words)), words
            at += len(whole)

    def _append(self, place: Place, table: Table) -> None:
        """Write one more table of a list behind all that there is."""
        heading = ".".join(toml_key(str(step)) for step in place)
        if any(isinstance(step, int) for step in place):
            raise _not_here(place)
        lines = ["", *_table_lines(heading, table, listed=True), ""]
        end = len(self._of.text)
        unended = "" if self._of.text.endswith("\n") else self._newline
        self._new.append((Span(end, end), unended + self._newline.join(lines)))

    def _remove(self, place: Place) -> None:
        """Take out a key with its lines, or a table with all that is in it."""
        lines = [line for at, line in self._of.lines.items() if is_within(at, place)]
        gone = [each for each in self._of.headings if is_within(each.place, place)]
        if not lines and not gone:
            raise _not_here(place)
        sections = [self._without_blanks(span) for span in _joined(self._whole(each, gone) for each in gone)]
        for span in sections:
            self._cut(span)
        for line in lines:
            if not any(span.start <= line.start < span.end for span in sections):
                self._cut(line)

    def _whole(self, heading: Heading, gone: Sequence[Heading]) -> Span:
        """Return a table that goes, with the comment right above it and without that of the next table."""
        start = self._introduction(heading)
        later = [each for each in self._of.headings if each.line.start > heading.line.start]
        if not later:
            return Span(start, len(self._of.text))
        if later[0] in gone:
            return Span(start, self._introduction(later[0]))
        return Span(start, self._kept_from(heading, later[0]))

    def _without_blanks(self, span: Span) -> Span:
        """Return a stretch that goes; if nothing follows, the blank lines before it have nothing to part."""
        if span.end < len(self._of.text):
            return span
        kept = self._of.text[: span.start].rstrip()
        return Span(len(kept) + len(self._newline) if kept else 0, span.end)

    def _content_end(self, heading: Heading) -> int:
        """Return where the keys under a heading end."""
        return max(line.end for line in [heading.line, *self._of.own_lines(heading)])

    def _introduction(self, heading: Heading) -> int:
        """Return where the comment right above a heading begins; keys as comments are of the table before."""
        earlier = [each for each in self._of.headings if each.line.start < heading.line.start]
        lines = [line.end for line in self._of.lines.values() if line.end <= heading.line.start]
        floor = max([self._content_end(each) for each in earlier[-1:]] + lines, default=0)
        start = heading.line.start
        for whole in reversed(self._of.text[floor:start].splitlines(keepends=True)):
            if not whole.lstrip().startswith("#") or _UNUSED_KEY.match(whole) or _UNUSED_TABLE.match(whole):
                break
            start -= len(whole)
        return start

    def _kept_from(self, heading: Heading, following: Heading) -> int:
        """Return where that begins which stays between a table that goes and the next.

        Comments that a blank line parts from the table's keys may speak of what follows; a table that is
        written as a comment does not.
        """
        at = kept = self._introduction(following)
        between = self._of.text[self._content_end(heading) : at].splitlines(keepends=True)
        for whole in reversed(between):
            at -= len(whole)
            if _UNUSED_TABLE.match(whole) or _UNUSED_KEY.match(whole):
                break
            if not whole.strip():
                kept = min(kept, at + len(whole))
        return kept


def _joined(spans: Iterable[Span]) -> list[Span]:
    """Return stretches in their order, those that touch as one."""
    joined: list[Span] = []
    for span in spans:
        if joined and joined[-1].end == span.start:
            joined[-1] = Span(joined[-1].start, span.end)
        else:
            joined.append(span)
    return joined


def _uncommented(words: str, at: int, key: str, value: Any) -> str:
    """Return a line of a key that stood as a comment, with what was explained behind it in its column."""
    written = TomlText(words[at:])
    rest = words[at + written.values[(key,)].end :] if (key,) in written.values else ""
    explained = rest.lstrip()
    line = f"{toml_key(key)} = {toml_value(value)}"
    if not explained:
        return line
    column = len(words) - len(explained)
    return f"{line.ljust(column - 2)}  {explained}"


def _entry_span(text: str, entries: Sequence[Span], number: int, gone: Sequence[int]) -> Span:
    """Return what goes with an entry of a list: the comma behind it, or before it where no entry follows."""
    entry = entries[number]
    if number + 1 < len(entries):
        follows, between = entries[number + 1].start, text[entry.end : entries[number + 1].start]
        if any(later not in gone for later in range(number, len(entries))):
            comma = entry.end + between.find(",") + 1
            return Span(entry.start, comma if "#" in between else follows)
    before = entries[number - 1].end if number else entry.start
    return Span(entry.start if "#" in text[before : entry.start] else before, entry.end)


def _pairs(before: list[Any], after: list[Any]) -> list[Pair]:
    """Return which of plain entries has become which."""
    was, now = ([toml_value(each) for each in entries] for entries in (before, after))
    pairs: list[Pair] = []
    for _, i1, i2, j1, j2 in difflib.SequenceMatcher(None, was, now, autojunk=False).get_opcodes():
        both = min(i2 - i1, j2 - j1)
        pairs += zip(range(i1, i1 + both), range(j1, j1 + both), strict=True)
        pairs += [(old, None) for old in range(i1 + both, i2)]
        pairs += [(None, new) for new in range(j1 + both, j2)]
    return pairs


def _pairs_of_tables(place: Place, before: list[Any], after: list[Any]) -> list[Pair]:
    """Return which table has become which: by their names, or in order where some may be gone."""
    names = [[each.get("name") for each in entries] for entries in (before, after)]
    if all(None not in each and len({*each}) == len(each) for each in names):
        was = [(old, names[1].index(name) if name in names[1] else None) for old, name in enumerate(names[0])]
        return [*was, *((None, new) for new, name in enumerate(names[1]) if name not in names[0])]
    if len(before) == len(after):
        return list(zip(range(len(before)), range(len(after)), strict=True))
    return _pairs_of_networks(place, before, after)


def _pairs_of_networks(place: Place, before: list[Any], after: list[Any]) -> list[Pair]:
    """Return which of the tables with members stay; each that does has lost the same stations."""
    left = {name for each in after for name in each.get("members", ())}
    pairs: list[Pair] = []
    new = 0
    for old, each in enumerate(before):
        members = [name for name in each.get("members", ()) if name in left]
        stays = new < len(after) and members == after[new].get("members")
        pairs.append((old, new if stays else None))
        new += stays
    if new < len(after):
        raise _not_here(place)
    return pairs
