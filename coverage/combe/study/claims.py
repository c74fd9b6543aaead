"""Holds what a study claims against what the claims were written of, so that no claim outlives its subject.

Who owns the tiles, what their heights are counted from, what is invented: no program can see these in the
data, and whoever changes a study easily leaves them standing. So ``speaks_of`` names what they were written
of, and a study that holds something else is at fault until somebody has looked at them again.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Final

from combe.errors import quoted
from combe.files import is_regular
from combe.study.crosscheck import Table, section_of, stations_of, text_of
from combe.study.fault import Fault
from combe.study.tablecheck import place_of

Things = Mapping[str, Callable[[], str]]
"""What a claim may be about: names, and what works out the mark of each, empty where it has none."""

SPEAKS_OF: Final = "speaks_of"
_MARKED: Final = re.compile(r"(.+) #([0-9a-f]{8})", re.DOTALL)
_CLAIMS: Final = {"terrain": ("credit", "vertical_datum", "surface_model"), "study": ("note", "invented")}
_NO_CLAIMS: Final = ("", "unknown", False, None)
_MOST_NAMED: Final = 3
_FILES_OF_PEOPLE: Final = ("raster", "points", "districts")


def claim_faults(table: Table, folder: Path) -> list[Fault]:
    """Return a fault for each section whose claims were written of something else than the study holds.

    Parameters
    ----------
    table
        The study file as written; stations of a table of stations are covered by that table's name.
    folder
        Where names of files count from.

    A section that claims nothing, or does not say of what, has none.
    """
    tiles, others = _tiles(table, folder), {**_stations(table), **_files(table, folder)}
    found = (
        _fault(table, "terrain", needed=tiles, allowed=tiles),
        _fault(table, "study", needed=others, allowed={**others, **tiles}),
    )
    return [fault for fault in found if fault]


def renamed(
    entries: tuple[str, ...] | None, names: Mapping[str, str], rows: Mapping[str, Iterable[str]]
) -> tuple[str, ...] | None:
    """Return the entries of ``speaks_of`` in a copy of the study.

    Parameters
    ----------
    entries
        As written; None stays None.
    names
        What files are called in the copy.
    rows
        The stations of a table that the copy holds itself.
    """
    if entries is None:
        return None
    copied: list[str] = []
    for entry in entries:
        name, mark = _parts(entry, {*names, *rows})
        copied += rows.get(name, [_entry(names.get(name, name), mark)])
    return tuple(copied)


def followed(
    before: Table, after: Table, names: Mapping[str, str], marks: Mapping[str, str]
) -> dict[str, list[str]]:
    """Return the entries of ``speaks_of`` that follow a change of the study, by section.

    Whoever changes stations on purpose knows of it, and has to be told all the same to look at the claims.

    Parameters
    ----------
    before, after
        The study file as written, before and after; files may be called otherwise in it after.
    names
        What files are called after that were called otherwise before.
    marks
        Of files, by their new names, whose content is another.
    """
    was, now = _stations(before), _stations(after)
    left = {*now, *_files(after, Path()), *_tiles(after, Path())}
    found: dict[str, list[str]] = {}
    for section in _CLAIMS:
        entries = section_of(before, section).get(SPEAKS_OF)
        if not isinstance(entries, list) or not entries:
            continue
        parts = [_parts(entry, {*was, *names}) for entry in entries]
        called = [(name, names.get(name, name), mark) for name, mark in parts]
        found[section] = [
            _entry(new, _latest(name, new, was, now, marks) or mark if mark else "")
            for name, new, mark in called
            if new in left or name not in {*was, *names}
        ]
        if section == "study":
            found[section] += [_entry(name, now[name]()) for name in now if name not in was]
    return found


def _latest(name: str, called: str, was: Things, now: Things, marks: Mapping[str, str]) -> str:
    """Return the mark of what changed, empty where nothing did."""
    moved = name in was and called in now and was[name]() != now[called]()
    return marks.get(called, now[called]() if moved else "")


def mark_of(content: bytes) -> str:
    """Return the mark of a file's content."""
    return hashlib.sha256(content).hexdigest()[:8]


def _fault(table: Table, section: str, needed: Things, allowed: Things) -> Fault | None:
    """Return the fault of a section, or None."""
    written = section_of(table, section)
    claims = [key for key in _CLAIMS[section] if written.get(key) not in _NO_CLAIMS]
    entries = written.get(SPEAKS_OF)
    if not claims or not isinstance(entries, list) or not all(isinstance(each, str) for each in entries):
        return None
    spoken_of = dict(_parts(entry, allowed) for entry in entries)
    wrong = [*_differences(spoken_of, needed, allowed)]
    if not wrong:
        return None
    more = f" and {len(wrong) - _MOST_NAMED} more" if len(wrong) > _MOST_NAMED else ""
    kept = [name for name in spoken_of if name in allowed and name not in needed]
    now = [_entry(name, allowed[name]()) for name in [*needed, *kept]]
    what = " and ".join(filter(None, [", ".join(claims[:-1]), claims[-1]]))
    them = "it" if len(claims) == 1 else "them"
    advice = f"correct {them}, then write {SPEAKS_OF} = {json.dumps(now, ensure_ascii=False)}"
    differences = ", ".join(wrong[:_MOST_NAMED]) + more
    words = f"{what} may no longer hold: {differences}; {advice}"
    return Fault((section, SPEAKS_OF), words)


def _differences(spoken_of: Mapping[str, str], needed: Things, allowed: Things) -> Iterator[str]:
    """Yield what is gone, what has changed under its old name, and what is new."""
    for name, mark in spoken_of.items():
        if name not in allowed:
            yield f"{quoted(name)} is not in the study"
        elif mark and allowed[name]() not in ("", mark):
            yield f"{quoted(name)} has changed"
    for name in needed:
        if name not in spoken_of:
            yield f"{quoted(name)} is new"


def _parts(entry: str, known: Container[str]) -> tuple[str, str]:
    """Return the name of an entry and its mark, empty where it has none."""
    found = None if entry in known else _MARKED.fullmatch(entry)
    return (found[1], found[2]) if found else (entry, "")


def _entry(name: str, mark: str) -> str:
    return f"{name} #{mark}" if mark else name


def _tiles(table: Table, folder: Path) -> Things:
    tiles = section_of(table, "terrain").get("tiles")
    names = [name for name in tiles if isinstance(name, str) and name] if isinstance(tiles, list) else []
    return {name: partial(_mark_of_file, folder / name) for name in names}


def _files(table: Table, folder: Path) -> Things:
    """Return the files of people and the table of stations."""
    people, network = section_of(table, "people"), section_of(table, "network")
    names = [text_of(people, key) for key in _FILES_OF_PEOPLE] + [text_of(network, "stations")]
    return {name: partial(_mark_of_file, folder / name) for name in names if name}


def _stations(table: Table) -> Things:
    """Return the stations of the file itself."""
    named = [(text_of(station, "name"), place_of(station)) for _, station in stations_of(table)]
    return {name: partial(_mark_of_place, place) for name, place in named if name}


def _mark_of_place(place: tuple[float, float] | None) -> str:
    return "" if place is None else hashlib.sha256(repr(place).encode()).hexdigest()[:8]


def _mark_of_file(path: Path) -> str:
    """Return the mark of a file, empty where it cannot be read, which is told elsewhere."""
    if not is_regular(path):
        return ""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()[:8]
    except OSError:
        return ""
