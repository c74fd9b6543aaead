"""Writes tables with places as a GeoPackage, the same bytes each time."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Final

from combe.errors import OutputError, RangeError
from combe.files import reason, replacing
from combe.publishing.text import plain

_FULL_DISK: Final = "is the disk full, or read-only?"

_NEW: Final[Mapping[str, Any]] = {"mode": "w", "VERSION": "1.2"}
"""The version of the format that every program of the last years reads; newer ones bring warnings there."""

_MORE: Final[Mapping[str, Any]] = {"mode": "a"}

_FIXED_DATE: Final = "2000-01-01T00:00:00.000Z"
"""Date written into each file, so that the same study gives the same bytes."""


def write_geopackage(
    path: Path | str, layers: Mapping[str, Any], finish: Callable[[sqlite3.Connection], None] | None = None
) -> None:
    """Write named layers (geopandas GeoDataFrames, each with its own CRS) to one GeoPackage.

    ``finish`` is handed the data base before the file gets its name, to add what no table with places has.

    Raises
    ------
    RangeError
        There is no layer.
    OutputError
        The folder or file cannot be written.
    """
    if not layers:
        raise RangeError("number of layers", 0, "1 or more")
    from pyogrio.errors import DataLayerError, DataSourceError

    with replacing(path) as beside, _fixed_date():
        for count, (name, frame) in enumerate(layers.items()):
            safe = _safe(frame)
            try:
                safe.to_file(
                    beside, layer=name, driver="GPKG", engine="pyogrio", **(_MORE if count else _NEW)
                )
            except (DataSourceError, DataLayerError) as problem:
                raise OutputError(path, _last_words(problem), _FULL_DISK) from problem
        if finish is not None:
            _finished(path, beside, finish)
        if not _is_whole(beside, layers):
            raise OutputError(path, "not all of it was taken", _FULL_DISK)


def _finished(path: Path | str, beside: Path, finish: Callable[[sqlite3.Connection], None]) -> None:
    try:
        with closing(sqlite3.connect(beside)) as base, base:
            finish(base)
    except sqlite3.Error as problem:
        raise OutputError(path, reason(problem), _FULL_DISK) from problem


def _is_whole(written: Path, layers: Mapping[str, Any]) -> bool:
    """Return whether all features and their places in the spatial index are there.

    The driver does part of its work on closing, and says nothing where that fails.
    """
    with closing(sqlite3.connect(written)) as base:
        try:
            for name, frame in layers.items():
                places = sum(each is not None and not each.is_empty for each in frame.geometry)
                counts = [
                    base.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]
                    for table in (name, f"rtree_{name}_geom")
                ]
                if counts != [len(frame), places]:
                    return False
            return bool(base.execute("PRAGMA integrity_check").fetchone() == ("ok",))
        except sqlite3.Error:
            return False


def _last_words(problem: Exception) -> str:
    """Return what the driver says went wrong, without the statements of the database that it tells first."""
    return reason(problem).rpartition(" failed: ")[2]


def _safe(frame: Any) -> Any:
    """Return a table whose texts have no signs that a file may not hold."""
    texts = {
        name: [plain(each) if isinstance(each, str) else each for each in column]
        for name, column in frame.items()
        if any(isinstance(each, str) for each in column)
    }
    return frame.assign(**texts)


@contextmanager
def _fixed_date() -> Iterator[None]:
    """Let the GeoPackage driver write a fixed date meanwhile."""
    from pyogrio import get_gdal_config_option, set_gdal_config_options

    before = get_gdal_config_option("OGR_CURRENT_DATE")
    set_gdal_config_options({"OGR_CURRENT_DATE": _FIXED_DATE})
    try:
        yield
    finally:
        set_gdal_config_options({"OGR_CURRENT_DATE": before})
