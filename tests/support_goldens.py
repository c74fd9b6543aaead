"""What ``goldens.py`` keeps of a file that a command wrote, and how two such keepings are compared."""

from __future__ import annotations

import difflib
import hashlib
import json
import math
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import rasterio

VARYING = ("seconds", "whole_seconds", "measured_seconds", "hills_per_second", "sweep_s")
"""Keys of JSON that tell how long work took."""

_WRITTEN_WHEN = ("entered_at", "last_change")
"""Columns of a GeoPackage that tell when it was written."""

_MOST_ROWS = 200
_UNSEEN = ("script", "style", "template")
_CELLS = ("td", "th")
_FLOWING = ("a", "abbr", "b", "code", "em", "i", "small", "span", "strong", "sub", "sup", "tspan", "wbr")


class Difference(NamedTuple):
    """What differs at one place of a file, which stands for all places alike: ``list[].people``."""

    place: str
    words: str


# ---- Keeping


def keep(source: Path, target: Path) -> None:
    """Write into ``target``'s folder what is kept of a file that a command wrote."""
    target.parent.mkdir(parents=True, exist_ok=True)
    kind = source.suffix.lower()
    if kind == ".html":
        target.with_name(f"{target.name}.txt").write_text(page_text(source.read_text("utf-8")), "utf-8")
        _write_json(target, page_parts(source.read_text("utf-8")))
    elif kind == ".tif":
        _write_json(target, raster_summary(source))
        with rasterio.open(source) as raster:
            np.savez_compressed(target.with_name(f"{target.name}.npz"), cells=raster.read())
    elif kind == ".gpkg":
        _write_json(target, table_summary(source))
    elif kind in (".csv", ".toml", ".txt", ".svg"):
        target.write_bytes(source.read_bytes())
    else:
        _write_json(target, {"sha256": _hash(source.read_bytes())})


def without_varying(value: Any) -> Any:
    """Return a JSON value without the keys that tell how long work took."""
    if isinstance(value, dict):
        return {key: without_varying(inner) for key, inner in value.items() if key not in VARYING}
    return [without_varying(inner) for inner in value] if isinstance(value, list) else value


def page_text(page: str) -> str:
    """Return the text of a page as a reader sees it: a line for each block, cells of a row side by side."""
    reader = _VisibleText()
    reader.feed(page)
    lines = (re.sub(r"[ \t\n]+", " ", line).strip(" |") for line in "".join(reader.found).split("\f"))
    return "\n".join(line for line in lines if line) + "\n"


def page_parts(page: str) -> dict[str, Any]:
    """Return what else a page holds: links, pictures, and the data that its scripts read."""
    data = re.findall(r'<script type="application/json" id="([^"]+)">(.*?)</script>', page, re.DOTALL)
    return {
        "links": re.findall(r'<a [^>]*href="([^"]*)"', page),
        "pictures": len(re.findall(r"<(?:svg|img|canvas)\b", page)),
        "data": {name: _shortened(json.loads(body)) for name, body in data},
    }


def raster_summary(path: Path) -> dict[str, Any]:
    """Return what a raster is: shape, place, words, and figures and hash of its cells."""
    with rasterio.open(path) as raster:
        cells = raster.read()
        known = cells[np.isfinite(cells)].astype(np.float64)
        figures = [known.min(), known.max(), known.mean(), known.std()] if known.size else []
        return {
            "shape": list(cells.shape),
            "type": str(cells.dtype),
            "crs": raster.crs.to_wkt() if raster.crs else None,
            "transform": list(raster.transform)[:6],
            "nodata": None if raster.nodata is None else str(raster.nodata),
            "tags": raster.tags(),
            "bands": [[words, raster.tags(band)] for band, words in enumerate(raster.descriptions, start=1)],
            "known_cells": int(known.size),
            "least_most_mean_deviation": [float(figure) for figure in figures],
            "cells_sha256": _hash(cells.tobytes()),
            "file_sha256": _hash(path.read_bytes()),
        }


def table_summary(path: Path) -> dict[str, Any]:
    """Return the tables of a GeoPackage: columns, rows (geometries by hash) and sums of what is numbers."""
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as base:
        query = "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
        names = [name for (name,) in base.execute(query) if not name.startswith(("sqlite_", "rtree_"))]
        return {name: _rows_of(base, name) for name in names}


def _rows_of(base: sqlite3.Connection, name: str) -> dict[str, Any]:
    found = base.execute(f'SELECT * FROM "{name}"')
    columns = [column for column, *_ in found.description]
    rows = [
        {key: _plain_cell(cell) for key, cell in zip(columns, row, strict=True) if key not in _WRITTEN_WHEN}
        for row in found
    ]
    numbers = {
        key: math.fsum(row[key] for row in rows if isinstance(row[key], int | float))
        for key in columns
        if any(isinstance(row.get(key), int | float) for row in rows)
    }
    whole = _hash(json.dumps(rows, sort_keys=True).encode())
    kept = {"columns": columns, "count": len(rows), "sums": numbers, "rows_sha256": whole}
    return kept | ({"rows": rows} if len(rows) <= _MOST_ROWS else {})


def _plain_cell(cell: Any) -> Any:
    return f"sha256 {_hash(cell)}" if isinstance(cell, bytes) else cell


def _shortened(value: Any) -> Any:
    """Return data of a page with long texts, which are packed cells or pictures, by their hash."""
    if isinstance(value, dict):
        return {key: _shortened(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_shortened(inner) for inner in value]
    return f"sha256 {_hash(value.encode())}" if isinstance(value, str) and len(value) > 2000 else value


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]


def _write_json(target: Path, value: Any) -> None:
    text = json.dumps(value, indent=1, ensure_ascii=False)
    target.with_name(f"{target.name}.json").write_text(text + "\n", "utf-8")


class _VisibleText(HTMLParser):
    """Collects the text of a page; a form feed ends a block."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del attrs
        self._hidden += tag in _UNSEEN
        if tag not in _FLOWING:
            self.found.append(" | " if tag in _CELLS else "\f")

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in _UNSEEN
        if tag not in (*_FLOWING, *_CELLS):
            self.found.append("\f")

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.found.append(data)


# ---- Comparing


def differences(old: Path, new: Path, *, rounded: bool = False) -> Iterator[tuple[str, list[Difference]]]:
    """Yield the names of the files that differ between two folders of answers, and what differs in each."""
    names = {
        path.relative_to(top).as_posix() for top in (old, new) for path in top.rglob("*") if path.is_file()
    }
    for name in sorted(names):
        if not (new / name).is_file():
            yield name, [Difference("", "is no longer made")]
        elif not (old / name).is_file():
            yield name, [Difference("", "is new")]
        elif (old / name).read_bytes() != (new / name).read_bytes():
            found = _inside(old / name, new / name, rounded)
            if found:
                yield name, found


def _inside(old: Path, new: Path, rounded: bool) -> list[Difference]:
    if old.suffix == ".json":
        texts = old.read_text("utf-8"), new.read_text("utf-8")
        return json_differences(*map(json.loads, texts), rounded=rounded)
    if old.suffix == ".npz":
        return cell_differences(np.load(old)["cells"], np.load(new)["cells"])
    return text_differences(old.read_text("utf-8"), new.read_text("utf-8"))


def json_differences(old: Any, new: Any, *, rounded: bool = False) -> list[Difference]:
    """Return what differs between two JSON values, places of one kind taken together.

    With ``rounded`` a number that is the old one with fewer decimals counts as the same.
    """
    kinds: dict[tuple[str, str], list[str]] = {}
    for place, verb, words in _walked("", old, new, rounded):
        kinds.setdefault((re.sub(r"\[\d+\]", "[]", place), verb), []).append(words)
    return [
        Difference(
            place or "(all)", f"{verb} {words[0]}" + (f" and {len(words) - 1} more" if words[1:] else "")
        )
        for (place, verb), words in kinds.items()
    ]


def _walked(place: str, old: Any, new: Any, rounded: bool) -> Iterator[tuple[str, str, str]]:
    """Yield place, what happened there, and from what to what."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in [*old, *(key for key in new if key not in old)]:
            at = f"{place}.{key}".lstrip(".")
            if key not in new:
                yield at, "missing, was", _brief(old[key])
            elif key not in old:
                yield at, "new:", _brief(new[key])
            else:
                yield from _walked(at, old[key], new[key], rounded)
    elif isinstance(old, list) and isinstance(new, list):
        if len(old) != len(new):
            yield place, "count", f"{len(old)} -> {len(new)}"
        for index, (one, other) in enumerate(zip(old, new, strict=False)):
            yield from _walked(f"{place}[{index}]", one, other, rounded)
    elif not (_same(old, new) or (rounded and _is_rounded(old, new))):
        yield place, "changed", f"{_brief(old)} -> {_brief(new)}"


def _same(old: Any, new: Any) -> bool:
    """Return whether two values are the same; true is not 1, and 1 is not 1.0."""
    return type(old) is type(new) and old == new


def _is_rounded(old: Any, new: Any) -> bool:
    numbers = all(isinstance(each, int | float) and not isinstance(each, bool) for each in (old, new))
    if not numbers:
        return False
    decimals = len(repr(new).partition(".")[2]) if isinstance(new, float) and "e" not in repr(new) else 0
    return abs(round(old, decimals) - new) < 1e-12


def _brief(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 90 else f"{text[:87]}..."


def cell_differences(old: np.ndarray, new: np.ndarray) -> list[Difference]:
    """Return how many cells of two rasters differ, and by how much."""
    if old.shape != new.shape or old.dtype != new.dtype:
        return [Difference("cells", f"changed {old.shape} {old.dtype} -> {new.shape} {new.dtype}")]
    a, b = old.astype(np.float64), new.astype(np.float64)
    unlike = ~((a == b) | (np.isnan(a) & np.isnan(b)))
    known = unlike & np.isfinite(a) & np.isfinite(b)
    if not unlike.any():
        return []
    most = f", at most by {np.abs(a - b)[known].max():.6g}" if known.any() else ""
    gone = int((unlike & ~known).sum())
    return [
        Difference(
            "cells",
            f"{int(unlike.sum())} of {unlike.size} differ{most}"
            + (f"; {gone} known in one alone" if gone else ""),
        )
    ]


def text_differences(old: str, new: str) -> list[Difference]:
    """Return the lines that are gone (-) and those that are new (+)."""
    lines = difflib.unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
    return [Difference("", line) for line in lines if not line.startswith(("---", "+++", "@@"))]
