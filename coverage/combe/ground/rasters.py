"""What comes is looked at before it is used: unpacked, opened, and held against what the table says of it."""

from __future__ import annotations

import gzip
import shutil
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import Any, Final

import numpy as np
import pyproj

from combe.errors import FetchError, RasterError
from combe.files import replacing
from combe.ground.sources import Source
from combe.ground.tilings import Box, Tile, projected
from combe.ground.windows import Layout, what_came
from combe.terrain import dataset_crs, safe_open

RASTER_ENDINGS: Final = (".tif", ".tiff", ".hgt", ".asc")
PACKED_ENDINGS: Final = (".zip", ".gz")
LARGEST_UNPACKED_BYTES: Final = 8_000_000_000
_MOST_TIMES_LARGER: Final = 1000
_MAGIC: Final = {".zip": b"PK", ".gz": b"\x1f\x8b"}
_STRAY_CELLS: Final = 3.0
_CUT_SHORT: Final = "it is damaged or cut short; fetch it again"


def unpacked(file: Path, folder: Path, address: str) -> Path:
    """Unpack the one raster of a .zip or .gz into a folder and return it; the packed file stays.

    Raises
    ------
    FetchError
        Another kind of file, damage, no raster or several, or too much of it.
    """
    with file.open("rb") as stream:
        start = stream.read(512)
    if not start.startswith(_MAGIC[file.suffix.lower()]):
        raise FetchError(
            address, f"{what_came(start)} came and no {file.suffix}", "see whether the address is still right"
        )
    try:
        return (
            _from_zip(file, folder, address)
            if file.suffix.lower() == ".zip"
            else _from_gz(file, folder, address)
        )
    except (zipfile.BadZipFile, zlib.error, EOFError, gzip.BadGzipFile, NotImplementedError, RuntimeError):
        raise FetchError(address, "it cannot be unpacked", _CUT_SHORT) from None


def _from_zip(file: Path, folder: Path, address: str) -> Path:
    with zipfile.ZipFile(file) as packed:
        found = [
            each
            for each in packed.infolist()
            if PurePosixPath(each.filename).suffix.lower() in RASTER_ENDINGS
        ]
        if len(found) != 1:
            raise FetchError(address, f"it holds {len(found)} rasters; one is wanted")
        _check_size(found[0].file_size, file, address)
        with packed.open(found[0]) as stream:
            return _write(stream, folder / PurePosixPath(found[0].filename).name, found[0].file_size, address)


def _from_gz(file: Path, folder: Path, address: str) -> Path:
    with gzip.open(file) as stream:
        most = min(file.stat().st_size * _MOST_TIMES_LARGER, LARGEST_UNPACKED_BYTES)
        return _write(stream, folder / file.stem, most, address)


def _write(stream: Any, target: Path, most: int, address: str) -> Path:
    with replacing(target) as beside, beside.open("wb") as made:
        shutil.copyfileobj(_AtMost(stream, most, address), made)
    return target


class _AtMost:
    """A stream that ends in an error where more comes than was announced."""

    def __init__(self, stream: Any, most: int, address: str) -> None:
        self._stream, self._left, self._address = stream, most, address

    def read(self, size: int = -1) -> bytes:
        content: bytes = self._stream.read(size)
        self._left -= len(content)
        if self._left < 0:
            raise FetchError(self._address, "it unpacks to far more than it may", "it is not what it says")
        return content


def _check_size(size: int, file: Path, address: str) -> None:
    if size > min(LARGEST_UNPACKED_BYTES, _MOST_TIMES_LARGER * max(file.stat().st_size, 1)):
        raise FetchError(address, f"it would unpack to {size} bytes", "it is not what it says")


def layout_of_raster(file: Path, source: Source, tile: Tile, address: str) -> Layout:
    """Open a raster, hold it against its source and tile, and return how it lies.

    Raises
    ------
    FetchError
        No raster, or one of another kind or place.
    """
    try:
        with safe_open(file) as dataset:
            crs = dataset_crs(dataset)
            if dataset.count != 1:
                raise FetchError(address, f"it has {dataset.count} bands; a raster of one is wanted")
            if crs is None:
                raise FetchError(address, "it does not say where it lies (it has no CRS)")
            high, wide = dataset.block_shapes[0]
            placed = tuple(float(number) for number in dataset.transform[:6])
            layout = Layout(dataset.width, dataset.height, wide, high, placed, dataset.crs.to_wkt())
            _touch(dataset)
    except RasterError as fault:
        with file.open("rb") as stream:
            start = stream.read(512)
        came = (
            f"{what_came(start)} came and no raster"
            if "format is unknown" in fault.problem
            else fault.problem
        )
        raise FetchError(address, came, _CUT_SHORT) from None
    check_place(layout, source, tile, address)
    return layout


def _touch(dataset: Any) -> None:
    """Read the last block, which a file that was cut short has lost."""
    *_, (_, window) = dataset.block_windows(1)
    dataset.read(1, window=window)


def check_place(layout: Layout, source: Source, tile: Tile, address: str) -> None:
    """Refuse a raster that does not lie where its name says."""
    if tile.bounds is None:
        return
    wanted = pyproj.CRS(source.tiling.crs)
    crs = pyproj.CRS.from_wkt(layout.crs)
    if not _same_plane(crs, wanted):
        raise FetchError(
            address, f"its CRS is {crs.name} and has to be {wanted.name}", "it is another edition"
        )
    west, north, cell_x, cell_y = layout.place[2], layout.place[5], layout.place[0], layout.place[4]
    bounds = (west, north + layout.height * cell_y, west + layout.width * cell_x, north)
    named = (tile.bounds[0] - tile.turn, tile.bounds[1], tile.bounds[2] - tile.turn, tile.bounds[3])
    # Some come with a rim, so a file may hold more than its tile, and a little less.
    stray = _STRAY_CELLS * max(abs(cell_x), abs(cell_y))
    inside = zip(bounds, named, (1, 1, -1, -1), strict=True)
    if any((is_at - named_at) * sign > stray for is_at, named_at, sign in inside):
        lies = ", ".join(f"{each:g}" for each in bounds)
        raise FetchError(
            address, f"it lies at {lies} (west, south, east, north)", "its name says another place"
        )


def _same_plane(crs: pyproj.CRS, wanted: pyproj.CRS) -> bool:
    """Tell whether two systems count alike; degrees of any datum are degrees, for a metre is no cell."""
    if wanted.is_geographic:
        return bool(crs.is_geographic)
    return bool(crs.to_2d().equals(wanted, ignore_axis_order=True) or crs.name == wanted.name)


def window_of(layout: Layout, box: Box, turn: float, reach_cells: float) -> tuple[int, int, int, int] | None:
    """Return first column and row, columns and rows of the cells that a box meets; None where none.

    Parameters
    ----------
    box
        In degrees; its east may pass 180.
    turn
        How far the raster has to be moved east to lie in the box [degrees].
    reach_cells
        How many cells more are wanted on each side.
    """
    west, south, east, north = projected(layout.crs, (box[0] - turn, box[1], box[2] - turn, box[3]))
    cell_x, cell_y = layout.place[0], -layout.place[4]
    left = np.floor((west - layout.place[2]) / cell_x - reach_cells)
    right = np.ceil((east - layout.place[2]) / cell_x + reach_cells)
    top = np.floor((layout.place[5] - north) / cell_y - reach_cells)
    low = np.ceil((layout.place[5] - south) / cell_y + reach_cells)
    left, right = max(int(left), 0), min(int(right), layout.width)
    top, low = max(int(top), 0), min(int(low), layout.height)
    return (left, top, right - left, low - top) if left < right and top < low else None
