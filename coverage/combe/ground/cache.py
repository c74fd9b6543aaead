"""Keeps what was fetched, for all studies of a user: each file with its record, used while it fits it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import platformdirs

from combe.ground.rasters import RASTER_ENDINGS
from combe.ground.records import Record, read_record, recorded, still_whole, write_record
from combe.ground.sources import Source
from combe.ground.tilings import Tile
from combe.ground.windows import Chunk, Layout

_MISSING: Final = "not-there"


def default_folder() -> Path:
    """Return the folder for open data among the caches of the user."""
    return Path(platformdirs.user_cache_dir("combe", appauthor=False)) / "ground"


class Cache:
    """A folder with what was fetched: a folder for each source, and in it one for each file of its owner.

    Sources have a folder each, since files of two editions may be called alike and lie elsewhere.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._whole: dict[Path, bool] = {}

    def place(self, source: Source, tile: Tile) -> Path:
        """Return the folder of a tile."""
        return self.folder / source.name / source.file_name(tile)

    def whole(self, source: Source, tile: Tile) -> tuple[Path, Record] | None:
        """Return a tile that is kept whole."""
        place = self.place(source, tile)
        for file in sorted(place.iterdir()) if place.is_dir() else ():
            record = read_record(file) if file.suffix.lower() in RASTER_ENDINGS else None
            if record and record.window is None and self._fits(file, record):
                return file, record
        return None

    def window(self, source: Source, tile: Tile, chunk: Chunk) -> tuple[Path, Record] | None:
        """Return a kept window that holds another one."""
        place = self.place(source, tile)
        for file in sorted(place.glob("window_*.tif")):
            record = read_record(file)
            if record and record.window and _holds(record.window, chunk) and self._fits(file, record):
                return file, record
        return None

    def window_file(self, source: Source, tile: Tile, chunk: Chunk) -> Path:
        """Return where a window is kept."""
        name = f"window_{chunk.column}_{chunk.row}_{chunk.columns}_{chunk.rows}.tif"
        return self.place(source, tile) / name

    def layout(self, source: Source, tile: Tile) -> Layout | None:
        """Return how a raster lies of which windows are kept."""
        for file in sorted(self.place(source, tile).glob("window_*.tif")):
            record = read_record(file)
            if record and record.raster:
                told = dict(record.raster)
                return Layout(**{**told, "place": tuple(told["place"])})
        return None

    def note_missing(self, source: Source, tile: Tile, address: str) -> None:
        """Keep that a tile is not there."""
        write_record(self.place(source, tile) / _MISSING, recorded(source, address))

    def known_missing(self, source: Source, tile: Tile) -> Record | None:
        """Return the record of a tile that was not there when it was last asked for."""
        return read_record(self.place(source, tile) / _MISSING)

    def _fits(self, file: Path, record: Record) -> bool:
        """Tell whether a file is still what was fetched; it is looked through once."""
        if file not in self._whole:
            self._whole[file] = still_whole(file, record)
        return self._whole[file]


def _holds(window: tuple[int, int, int, int], chunk: Chunk) -> bool:
    column, row, columns, rows = window
    across = column <= chunk.column and chunk.column + chunk.columns <= column + columns
    return across and row <= chunk.row and chunk.row + chunk.rows <= row + rows
