"""Writes an edited study beside the one it was made of: what was not changed stays as it was written.

Text, table of stations and claims are made first, then read again and held to every check of a study; only
what passes takes its place.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, Final, NamedTuple

from combe.errors import OutputError, StudyError, quoted
from combe.files import is_folder, is_regular, replacing
from combe.study.claims import SPEAKS_OF, followed, mark_of
from combe.study.crosscheck import Table, section_of
from combe.study.fault import path_text
from combe.study.file import Study, load_study
from combe.study.file_names import called_from, with_names
from combe.study.saved_rows import new_rows, saved_rows
from combe.study.saved_text import saved_text, toml_value
from combe.study.station_table import with_table

_ENDING: Final = ".toml"
_TABLE_ENDING: Final = ".csv"


class Saved(NamedTuple):
    """What was written, and each change in words."""

    path: Path
    changed: tuple[str, ...]
    table: Path | None


class _Written(NamedTuple):
    """What is to be written: the study's text, and the path and text of a table of stations, if any."""

    text: str
    rows: tuple[Path, str] | None


def write_study(
    study: Study, before: Table, after: Table, path: Path | str, *, overwrite: bool = False
) -> Saved:
    """Write a study as edits left it.

    Parameters
    ----------
    study
        The study that was edited, as it was read.
    before, after
        Its table as it was read, and after the edits; both with the stations of a table of stations.
    path
        Where to; it counts from the study's folder. In another folder, files are called as seen from there.
    overwrite
        Whether a file of this name may be replaced, the study's own too.

    Raises
    ------
    OutputError
        A path that cannot be written to, a study whose file was changed meanwhile, stations of a GeoPackage.
    RangeError
        A text that is written so that the change cannot be put into it.
    StudyError
        With the faults of what would have been written; nothing is.
    """
    target = _target(study.path.parent / path, overwrite=overwrite)
    written = _written(study, _text_of(study.path, before), after, target)
    with _in_place(written.rows, study, target, overwrite=overwrite), replacing(target) as beside:
        beside.write_bytes(written.text.encode())
        _check(beside, target)
    table = None if written.rows is None else written.rows[0].absolute()
    return Saved(target.absolute(), (*changes(before, after), *_elsewhere(study, target, table)), table)


def _elsewhere(study: Study, target: Path, table: Path | None) -> Iterator[str]:
    """Yield what is called otherwise in the file that was written."""
    if table is not None and study.rows is not None:
        yield f"network.stations: {study.rows.name} → {table.name}, which was written beside the study"
    if target.parent.resolve() != study.path.parent.resolve():
        yield f"names of files: as seen from {target.parent.resolve()}"


def changes(before: Table, after: Table) -> list[str]:
    """Return in words what differs between two tables of a study, with the stations of both."""
    was, now = _by_name(before), _by_name(after)
    found: list[str] = []
    for index, (name, station) in enumerate(was.items()):
        where = f"stations[{index}] {name}"
        if name in now:
            found += [f"{where}: {words}" for words in _station_changes(station, now[name])]
        else:
            found.append(f"{where}: taken away")
    found += [f"stations[{index}] {name}: added" for index, name in enumerate(now) if name not in was]
    for key in dict.fromkeys([*before, *after]):
        if key != "stations":
            found += _other_changes(key, before.get(key), after.get(key))
    return found + _claims_to_look_at(before, was, now)


def _target(path: Path, *, overwrite: bool) -> Path:
    """Return where to write, or refuse it."""
    if path.suffix != _ENDING or not path.name.isprintable():
        raise OutputError(path, "a study is a TOML file", f"end the name in {_ENDING}")
    if not is_folder(path.parent):
        raise OutputError(path, "there is no such folder", "name one that is there")
    if not overwrite and (path.exists() or path.is_symlink()):
        raise OutputError(path, "it is already there", "choose another name, or say that it may be replaced")
    return path


def _text_of(source: Path, before: Table) -> str:
    """Return a study's text, if it still says what was read."""
    try:
        text = source.read_bytes().decode("utf-8")
        written = tomllib.loads(text.removeprefix("\ufeff"))
    except (OSError, ValueError) as error:
        raise OutputError(source, f"it cannot be read any more ({error})", "load the study anew") from None
    if with_table(written, source.parent)[0] != before:
        raise OutputError(source, "the file was changed since it was read", "load the study anew")
    return text


def _written(study: Study, text: str, after: Table, target: Path) -> _Written:
    """Return what is to be written; nothing is yet."""
    source = study.path
    before = tomllib.loads(text.removeprefix("\ufeff"))
    called = partial(called_from, folder=source.parent, other=target.parent)
    own, listed = _parted(study, with_names(after, called))
    rows = _rows(study, listed, target)
    names, marks = _names(before, called), dict[str, str]()
    if not listed:
        own.pop("network", None)
    elif rows:
        # A table written anew is written as Combe writes one, whatever the study said of the old one.
        kept = own["network"] if study.rows and study.rows.plain else {}
        own["network"] = {**kept, "stations": rows[0].name}
        names[before["network"]["stations"]] = rows[0].name
        marks[rows[0].name] = mark_of(rows[1].encode())
    for section, entries in followed(before, own, names, marks).items():
        own[section] = {**own[section], SPEAKS_OF: entries}
    return _Written(saved_text(text, before, own), rows)


def _parted(study: Study, after: dict[str, Any]) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return a study's table without the stations of its table of stations, and these."""
    of_table = {each["name"] for each in study.rows.stations} if study.rows else set()
    own = [each for each in after["stations"] if each["name"] not in of_table]
    listed = [each for each in after["stations"] if each["name"] in of_table]
    del after["stations"]
    return after | ({"stations": own} if own else {}), listed


def _rows(study: Study, listed: Sequence[Table], target: Path) -> tuple[Path, str] | None:
    """Return path and text of a table of stations that differs from the study's; None where none does."""
    table = study.rows
    if table is None or not listed or list(listed) == table.stations:
        return None
    source = study.path.parent / table.name
    if source.suffix.lower() != _TABLE_ENDING:
        what = f"stations of {quoted(table.name)} were changed, or their patterns lie elsewhere"
        advice = "write that table as CSV, or these stations into the study, and load it anew"
        raise OutputError(target, f"{what}, and a GeoPackage is not rewritten", advice)
    path = target.with_name(f"{target.stem}_stations{_TABLE_ENDING}")
    if not table.plain:
        return path, new_rows(listed)
    return path, saved_rows(source.read_bytes().decode("utf-8"), table, listed)


def _names(before: Table, called: Callable[[str], str]) -> dict[str, str]:
    """Return what each file of a study is called after, by what it was called."""
    found: dict[str, str] = {}

    def note(name: str) -> str:
        found[name] = called(name)
        return name

    with_names(before, note)
    return found


@contextmanager
def _in_place(
    rows: tuple[Path, str] | None, study: Study, target: Path, *, overwrite: bool
) -> Iterator[None]:
    """Put a table of stations in its place; on an error what was there before is there again."""
    if rows is None:
        yield
        return
    path, text = rows
    old = path.read_bytes() if is_regular(path) else None
    if old is not None and not (overwrite and _replaceable(path, study, target)):
        raise OutputError(path, "it is already there", f"choose another name than {target.name}")
    _put(path, text.encode())
    try:
        yield
    except BaseException:
        if old is None:
            path.unlink(missing_ok=True)
        else:
            _put(path, old)
        raise


def _replaceable(path: Path, study: Study, target: Path) -> bool:
    """Tell whether a table of stations is that of the study that is replaced, and of no other."""
    assert study.rows is not None, "without a table none is written"
    own = path.samefile(study.path.parent / study.rows.name)
    return target.exists() and (target.samefile(study.path) or not own)


def _put(path: Path, content: bytes) -> None:
    with replacing(path) as beside:
        beside.write_bytes(content)


def _check(beside: Path, target: Path) -> None:
    """Hold what was written to every check of a study."""
    try:
        load_study(beside)
    except StudyError as error:
        raise StudyError(target, error.faults) from None


def _by_name(table: Table) -> dict[str, Table]:
    return {str(station["name"]): station for station in table["stations"]}


def _station_changes(before: Table, after: Table) -> Iterator[str]:
    for key in dict.fromkeys([*before, *after]):
        was, now = before.get(key), after.get(key)
        if was == now:
            continue
        if key == "services":
            yield from _service_changes(before["services"], after["services"])
        else:
            yield f"{key} {_shown(was)} → {_shown(now)}"


def _service_changes(before: Sequence[Table], after: Sequence[Table]) -> Iterator[str]:
    for was, now in zip(before, after, strict=True):
        for key in dict.fromkeys([*was, *now]):
            if was.get(key) != now.get(key):
                yield f"{key} of {was['name']} {_shown(was.get(key))} → {_shown(now.get(key))}"


def _other_changes(key: str, before: Any, after: Any) -> list[str]:
    """Return what differs elsewhere, at the places where it does."""
    return [
        f"{path_text(place)}: {_shown(was)} → {_shown(now)}"
        for place, was, now in _leaves((key,), before, after)
    ]


def _leaves(place: tuple[str | int, ...], before: Any, after: Any) -> Iterator[tuple[Any, Any, Any]]:
    if before == after:
        return
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for key in dict.fromkeys([*before, *after]):
            yield from _leaves((*place, key), before.get(key), after.get(key))
    else:
        yield place, before, after


def _claims_to_look_at(before: Table, was: Mapping[str, Table], now: Mapping[str, Table]) -> list[str]:
    """Return the line that asks to look again at what the study claims of stations, if it says of which."""
    if not section_of(before, "study").get(SPEAKS_OF):
        return []
    names = [name for name in {**was, **now} if _place(was.get(name)) != _place(now.get(name))]
    words = "see that what note and invented claim still holds"
    return [f"study.{SPEAKS_OF}: follows {', '.join(names)}; {words}"] if names else []


def _place(station: Table | None) -> tuple[object, object] | None:
    return None if station is None else (station.get("longitude_deg"), station.get("latitude_deg"))


def _shown(value: object) -> str:
    if value is None:
        return "not given"
    if isinstance(value, float):
        return f"{value:.12g}"
    return value if isinstance(value, str) else toml_value(value)
