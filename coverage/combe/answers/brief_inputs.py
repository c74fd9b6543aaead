"""Every value that a project was given, by its name and as text, so that another can repeat the work.

What is listed is what the project holds, walked through part by part. So nothing that is added to a project
one day can be forgotten here; what is read from files is told by these.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from pathlib import PurePath
from typing import Any, Final, NamedTuple

from combe.answers.terrain_sources import sources_of
from combe.project import Given, Project
from combe.stations import Pattern
from combe.words import Name, joined, tell

_ELSEWHERE: Final = {"terrain", "source", "key", "labels", "title", "invented", "stations"}
"""What a brief tells in other words: the ground by its files, stations in their own table."""

_BY_NAME: Final = {"cover", "zones", "people"}
"""Parts that are read from files, which the list of files tells; of some the words that go with them."""

_SAID: Final = {"name", "citations", "reference", "confidence"}


class Setting(NamedTuple):
    """A part of the project by its path, and its values by their names."""

    name: str
    value: str


def settings_of(project: Project) -> tuple[Setting, ...]:
    """Return every value of a project that is neither None nor read from a file, a row for each part."""
    found: list[Setting] = []
    own: list[str] = []
    for each in fields(project):
        value = getattr(project, each.name)
        if each.name in _BY_NAME:
            value = getattr(value, "words", "") or None
        if each.name not in _ELSEWHERE and value is not None:
            _add(each.name, value, own, found)
    return (Setting("the study", Name("; ".join(own))), *_terrains(project), *found)


def _terrains(project: Project) -> Iterator[Setting]:
    """Yield a row for each terrain: its tiles, cells, system, datum and kind."""
    sources = sources_of(project.terrain)
    for number, each in enumerate(sources, start=1):
        row: list[str] = []
        for part in fields(each):
            _add(part.name, getattr(each, part.name), row, [])
        yield Setting("terrain" if len(sources) == 1 else f"terrain[{number}]", Name("; ".join(row)))


def _add(name: str, value: Any, row: list[str], found: list[Setting], path: str = "") -> None:
    """Add a value to the row of what it is a part of, and its own parts as rows of their own."""
    if value is None or value in ("", ()):
        return
    where = f"{path}{name}"
    if is_dataclass(value) and not isinstance(value, Pattern | Given):
        at, own = len(found), list[str]()
        for each in fields(value):
            # What names a part stands in its path already; citations are told by the page's own remarks.
            if each.name not in _SAID:
                _add(each.name, getattr(value, each.name), own, found, f"{where}.")
        found.insert(at, Setting(Name(where), Name("; ".join(own))))
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            _add(f"{name}[{key}]", inner, row, found, path)
    elif isinstance(value, tuple | list) and any(is_dataclass(each) for each in value):
        for number, inner in enumerate(value, start=1):
            _add(f"{name}[{getattr(inner, 'name', '') or number}]", inner, row, found, path)
    elif not callable(value):
        row.append(f"{name} = {_text(value)}")


def _text(value: Any) -> str:
    """Return a value as it would be written again, no digit less."""
    match value:
        case Pattern():
            return tell(
                "{angle_deg} rows of {name}", angle_deg=len(value.angle_deg), name=PurePath(value.source).name
            )
        case Given():
            return value.name
        case tuple() | list():
            return joined(", ", (_text(each) for each in value if each is not None))
        case str() | PurePath():
            return str(value)
        case bool():
            return "true" if value else "false"
        case _:
            return repr(value)
