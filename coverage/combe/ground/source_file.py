"""Reads the table of sources: the one that comes with Combe, and a user's own in the same form."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import fields
from importlib import resources
from pathlib import Path
from types import UnionType
from typing import Any, Final, get_args, get_type_hints

from combe.errors import RangeError, TableError, quoted
from combe.ground.sources import Source
from combe.ground.tilings import CountryTiles, DegreeTiles, OneFile, RowTiles, Tiling

SHIPPED: Final = "sources.toml"
_LARGEST_BYTES: Final = 1_000_000
_TILINGS: Final[dict[str, tuple[Callable[..., Tiling], dict[str, type]]]] = {
    "degrees": (DegreeTiles, {"size_deg": int, "corner": str, "crs": str}),
    "rows": (RowTiles, {"crs": str, "west": float, "north": float, "size": float}),
    "countries": (CountryTiles, {"crs": str}),
    "one file": (OneFile, {"crs": str}),
}
_KINDS: Final = {
    str: "a text", bool: "true or false", float: "a number", int: "a whole number", list: "a list of texts",
    dict: "a table",
}  # fmt: skip
_CORNERS: Final = ("south-west", "north-west")


def known_sources(own: Path | None = None) -> dict[str, Source]:
    """Return all sources by their names; those of a user's file go before those that come with Combe.

    Raises
    ------
    TableError
        A file that cannot be read or says what it may not; the source and the key are named.
    """
    shipped = resources.files("combe.ground").joinpath(SHIPPED).read_text("utf-8")
    found = _read(shipped, SHIPPED)
    return found if own is None else found | _read(_text(own), own)


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise TableError(
                path, "it is too large for a table of sources", f"allowed: {_LARGEST_BYTES} bytes"
            )
        return path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise TableError(path, f"it cannot be read ({fault})", "name a file of sources in TOML") from None


def _read(text: str, where: Path | str) -> dict[str, Source]:
    try:
        rows = tomllib.loads(text).get("sources")
    except tomllib.TOMLDecodeError as fault:
        raise TableError(where, f"it is no TOML: {fault}") from None
    if not isinstance(rows, list) or not rows:
        raise TableError(where, "it has no [[sources]]", "write one table for each source")
    found: dict[str, Source] = {}
    for number, row in enumerate(rows, 1):
        name = str(row.get("name", f"number {number}")) if isinstance(row, dict) else f"number {number}"
        try:
            source = _source(row)
        except RangeError as fault:
            raise TableError(where, f"source {name}: {fault}") from None
        found[source.name] = source
    return found


def _source(row: object) -> Source:
    """Return the source of a row, each key of the kind that it has to be."""
    if not isinstance(row, dict):
        raise RangeError("a source", quoted(str(row)), "a table")
    hints = get_type_hints(Source)
    needed = {each.name for each in fields(Source) if each.default is each.default_factory}
    given = {key: _value(key, value, hints) for key, value in row.items()}
    if missing := sorted(needed - set(given)):
        raise RangeError("its keys", "incomplete", "all that are needed", f"write {', '.join(missing)}")
    return Source(**given)


def _value(key: str, value: Any, hints: Mapping[str, Any]) -> Any:
    if key not in hints:
        raise RangeError("a key", quoted(key), ", ".join(hints))
    if key == "tiling":
        return _tiling(value)
    wanted = hints[key]
    if wanted == tuple[str, ...]:
        return tuple(_of(key, each, str) for each in _of(key, value, list))
    if key == "sea_codes":
        return tuple(_of(key, each, int) for each in _of(key, value, list))
    if key == "hashes":
        return {
            _of(key, name, str): _of(key, each, str).lower() for name, each in _of(key, value, dict).items()
        }
    kinds = get_args(wanted) if isinstance(wanted, UnionType) else (wanted,)
    kind = next((each for each in (str, bool, float) if each in kinds), str)
    return _of(key, value, kind)


def _tiling(value: Any) -> Tiling:
    given = dict(_of("tiling", value, dict))
    by = given.pop("by", None)
    if by not in _TILINGS:
        raise RangeError("tiling.by", quoted(str(by)), ", ".join(_TILINGS))
    make, keys = _TILINGS[by]
    for key, each in given.items():
        if key not in keys:
            raise RangeError(f"a key of tiling by {by}", quoted(key), ", ".join(keys))
        given[key] = _of(f"tiling.{key}", each, keys[key])
    if given.get("corner", _CORNERS[0]) not in _CORNERS:
        raise RangeError("tiling.corner", quoted(given["corner"]), ", ".join(_CORNERS))
    if by == "degrees" and not 1 <= given.get("size_deg", 0) <= 90:
        raise RangeError("tiling.size_deg", given.get("size_deg"), "whole degrees, 1 to 90")
    if by == "rows" and not given.get("size", 0.0) > 0.0:
        raise RangeError("tiling.size", given.get("size"), "more than 0")
    try:
        return make(**given)
    except TypeError:
        raise RangeError(f"tiling by {by}", "incomplete", f"with {', '.join(keys)}") from None


def _of(key: str, value: Any, kind: type) -> Any:
    """Return a value of a kind; a whole number stands for a real one."""
    if kind is float and isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        raise RangeError(key, repr(value), _KINDS[kind])
    return value
