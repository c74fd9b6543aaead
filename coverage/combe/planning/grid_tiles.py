"""Tiles of the study grid: some rows of it, with the fields of every station there, and what is judged.

However many stations a network has, no more of them than one tile's rows is in memory: their fields are read
from files. What was judged is kept in one sealed file a tile, so that a run that is interrupted finds its
tiles again, and put together into arrays of the grid: NumPy files, written beside their place and renamed
into it. A list with their hashes, written last, says that all are there. What is found at few places only may
come as rows instead, of which a tile has any number: an array whose name ends in ``_rows``.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.files import clear_remains, ensure_folder, replacing, write_text_atomically
from combe.prediction import FIELD, HeldArrays, SealedFile, open_sealed, read_part, read_rows, write_sealed
from combe.stations import Service, Station
from combe.terrain import StudyGrid, cell_centres_m

TILE_BYTES: Final = 32 << 20
"""How much the fields of one tile may take as read; whoever judges them needs some times that."""

_FIELD_BYTES: Final = 4


LIST: Final = "network.json"
_UNFINISHED: Final = "unfinished"
_ENDING: Final = ".tile"
_ROWS: Final = "_rows"


class StationService(NamedTuple):
    """One service of one station."""

    station: Station
    service: Service


class Layer(NamedTuple):
    """Where the field of one service of one station is kept, and which of the services there.

    ``offset_db`` is added to the field as it is read: a correction from measurements, say; one number, or an
    array over the grid (rows, columns).
    """

    kept: SealedFile | HeldArrays
    service: int
    offset_db: float | FloatArray = 0.0

    def offset_in(self, first_row: int, last_row: int) -> npt.NDArray[np.float32]:
        """Return what is added in some rows of the grid."""
        offset = np.asarray(self.offset_db)
        return (offset[first_row:last_row] if offset.ndim else offset).astype(np.float32)


@dataclass(frozen=True)
class Tile:
    """Rows ``first_row`` to before ``last_row`` of the study grid, in all its columns.

    ``radiated`` has every service of every station, in their order, and for each of the conditions that were
    predicted (percentages of time, say) ``layers`` has a row with their fields in the same order.
    """

    grid: StudyGrid
    first_row: int
    last_row: int
    radiated: tuple[StationService, ...]
    layers: tuple[tuple[Layer, ...], ...]

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.last_row - self.first_row, self.grid.columns


def services_of(stations: Sequence[Station]) -> tuple[StationService, ...]:
    """Return every service of every station, in their order."""
    return tuple(StationService(station, service) for station in stations for service in station.services)


def rows_a_tile(grid: StudyGrid, fields: int, tile_bytes: int = TILE_BYTES) -> int:
    """Return how many rows of the grid a tile has, so that so many fields of it take ``tile_bytes``.

    At least one row, whatever it takes.

    Raises
    ------
    RangeError
        For less than one byte or one field.
    """
    for name, number in (("tile_bytes", tile_bytes), ("number of fields", fields)):
        if number < 1:
            raise RangeError(name, number, "1 or more")
    return min(max(tile_bytes // (fields * grid.columns * _FIELD_BYTES), 1), grid.rows)


def row_ranges(grid: StudyGrid, rows: int) -> list[tuple[int, int]]:
    """Return the rows of each tile, first to before last, from north to south."""
    return [(first, min(first + rows, grid.rows)) for first in range(0, grid.rows, rows)]


def tile_fields(
    tile: Tile, *, condition: int = 0, wanted: Sequence[int] | None = None
) -> npt.NDArray[np.float32]:
    """Read field strengths over a tile [dB(µV/m)].

    Parameters
    ----------
    tile
        The tile.
    condition
        Which of the conditions that were predicted.
    wanted
        Indices into ``tile.radiated``; all of them if not given.

    Returns
    -------
    float32 array (wanted, rows, columns)
        NaN where there is no prediction.

    Raises
    ------
    StoreError
        A file of fields that was removed meanwhile.
    """
    layers = tile.layers[condition]
    chosen = range(len(layers)) if wanted is None else wanted
    fields = np.empty((len(chosen), *tile.shape), dtype=np.float32)
    for place, index in enumerate(chosen):
        layer = layers[index]
        fields[place] = read_rows(layer.kept, FIELD, layer.service, tile.first_row, tile.last_row)
        fields[place] += layer.offset_in(tile.first_row, tile.last_row)
    return fields


def tile_centres_m(tile: Tile) -> tuple[FloatArray, FloatArray]:
    """Return x (columns,) and y (rows,) of the tile's cell centres [m], as of the grid."""
    x, y = cell_centres_m(tile.grid)
    return x, y[tile.first_row : tile.last_row]


Array = npt.NDArray[Any]
Judged = Mapping[str, Array]
Judge = Callable[[Tile], Judged]
"""Judges the cells of a tile: returns arrays of numbers by name, shape (..., rows, columns).

One whose name ends in ``_rows`` has the shape (n, columns of a table), and those of all tiles are put one
after the other, from north to south.
"""


@dataclass(frozen=True)
class RunFolder:
    """The folder of one run, and the hash of all that makes its results."""

    folder: Path
    key: str


def open_run(folder: Path, key: str) -> RunFolder:
    """Make the folder of a run if needed; raises OutputError where it cannot be written."""
    run = RunFolder(ensure_folder(folder), key)
    clear_remains(ensure_folder(_tiles_folder(run)))
    clear_remains(folder)
    return run


def judged_tile(run: RunFolder, tile: Tile, judge: Judge) -> tuple[SealedFile, bool]:
    """Return the file of a judged tile, and whether it was there before.

    Raises
    ------
    RangeError
        For arrays that are not the tile's.
    OutputError, StoreError
        A file that cannot be written, or fields that are gone.
    """
    path = _tiles_folder(run) / f"{run.key[:16]}-{tile.first_row:06d}{_ENDING}"
    about = {"run": run.key, "first_row": tile.first_row, "last_row": tile.last_row}
    kept = open_sealed(path)
    # The file's name has a part of the key alone; the whole of it is inside.
    if kept is not None and kept.about == about:
        return kept, True
    # Judged anew where anything of the run differs; nothing of an older one is mended.
    judged = judge(tile)
    for name, array in judged.items():
        _check(name, array, tile)
    return write_sealed(path, judged, about), False


def assemble(run: RunFolder, tiles: Sequence[SealedFile], grid: StudyGrid) -> dict[str, Path]:
    """Put the tiles of a whole grid together, and return the file of each array by its name.

    The tiles' own files are removed at the end.

    Raises
    ------
    RangeError
        For tiles that do not all have the same arrays.
    OutputError, StoreError
        A file that cannot be written, or a tile that is gone.
    """
    _check_alike(tiles)
    # The list goes before anything is written and comes back last: whoever is killed between leaves no list.
    _forget_last_run(run, tiles[0].parts)
    paths = {name: _write_array(run, tiles, name, grid) for name in tiles[0].parts}
    content = {"run": run.key, "sha256": {path.name: _file_hash(path) for path in paths.values()}}
    write_text_atomically(run.folder / LIST, json.dumps(content, indent=1, sort_keys=True) + "\n")
    _remove_tiles(run)
    return paths


def _remove_tiles(run: RunFolder) -> None:
    """Remove the tiles of a run that came to its end; one killed at it leaves some to the next."""
    for left in _tiles_folder(run).glob(f"*{_ENDING}"):
        left.unlink(missing_ok=True)


def find_finished(run: RunFolder) -> dict[str, Path] | None:
    """Return the files of a run that came to its end before, or None where one is missing or changed."""
    key, hashes = _read_list(run)
    paths = {Path(name).stem: run.folder / name for name in hashes}
    whole = all(path.is_file() and _file_hash(path) == hashes[path.name] for path in paths.values())
    if not whole or key != run.key:
        return None
    _remove_tiles(run)
    return paths


def _tiles_folder(run: RunFolder) -> Path:
    return run.folder / _UNFINISHED


def _check(name: str, array: Array, tile: Tile) -> None:
    if not name.isidentifier():
        raise RangeError("name of a judged array", repr(name), "letters, digits and _")
    if _is_rows(name):
        if array.ndim != 2:
            raise RangeError(f"dimensions of {name}", array.ndim, "2: (n, columns of the table)")
    elif array.shape[-2:] != tile.shape:
        raise RangeError(f"shape of {name}", array.shape, f"(..., {tile.shape[0]}, {tile.shape[1]})")


def _is_rows(name: str) -> bool:
    return name.endswith(_ROWS)


def _check_alike(tiles: Sequence[SealedFile]) -> None:
    """Raise RangeError unless all tiles have arrays of the same names, types and leading axes."""
    kinds = {
        json.dumps(
            sorted(
                (name, part.dtype, part.shape[1:] if _is_rows(name) else part.shape[:-2])
                for name, part in tile.parts.items()
            )
        )
        for tile in tiles
    }
    if len(kinds) > 1:
        raise RangeError("arrays of the tiles", " and ".join(sorted(kinds)), "the same for every tile")


def _write_array(run: RunFolder, tiles: Sequence[SealedFile], name: str, grid: StudyGrid) -> Path:
    """Write the tiles of an array into a NumPy file; not through a map of memory, which a full disk kills."""
    part = tiles[0].parts[name]
    path = run.folder / f"{name}.npy"
    shape = (*part.shape[:-2], grid.rows, grid.columns)
    if _is_rows(name):
        shape = (sum(tile.parts[name].shape[0] for tile in tiles), *part.shape[1:])
    head = {"descr": part.dtype, "fortran_order": False, "shape": shape}
    with replacing(path) as beside, beside.open("wb") as file:
        np.lib.format.write_array_header_1_0(file, head)
        start = file.tell()
        for tile in tiles:
            values = read_part(tile, name)
            if _is_rows(name):
                file.write(values.tobytes())
            else:
                _write_layers(file, start, values, tile.about["first_row"], grid)
    return path


def _write_layers(file: IO[bytes], start: int, values: Array, first_row: int, grid: StudyGrid) -> None:
    """Write the rows of a tile, of each layer, to where they lie in the array of the whole grid."""
    for layer, rows in enumerate(values.reshape(-1, *values.shape[-2:])):
        file.seek(start + (layer * grid.rows + first_row) * grid.columns * values.itemsize)
        file.write(rows.tobytes())


def _forget_last_run(run: RunFolder, names: Mapping[str, object]) -> None:
    """Remove the list of the last run in this folder, and the arrays that this one does not write."""
    _, last = _read_list(run)
    (run.folder / LIST).unlink(missing_ok=True)
    for name in set(last) - {f"{name}.npy" for name in names}:
        (run.folder / name).unlink(missing_ok=True)


def _read_list(run: RunFolder) -> tuple[str, dict[str, str]]:
    """Return the key of the last run and the hash of each of its files; empty where there is no such list."""
    try:
        content = json.loads((run.folder / LIST).read_text(encoding="utf-8"))
        key, hashes = str(content["run"]), dict(content["sha256"])
    except (OSError, ValueError, TypeError, KeyError):
        return "", {}
    # Files of these names are removed and read. Whoever may write here could name others, so none may lead
    # out of the folder.
    ours = all(name.endswith(".npy") and name[:-4].isidentifier() for name in hashes)
    return (key, hashes) if ours else ("", {})


def _file_hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
