"""Opens a raster file safely: a regular file, a known format, no helpers beside it, no network.

A file called ``.tif`` may be a recipe that makes GDAL read any other file or call the network, and a file
beside it (``.aux.xml``) may do the same. So the format is told from the first bytes, only that one driver
is offered to GDAL, and everything beside the file is ignored.
"""

from __future__ import annotations

import math
import re
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from shlex import quote
from typing import Any, Final

import numpy as np
import pyproj
import rasterio
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.windows import Window

from combe.decibels import FloatArray
from combe.errors import RasterError

GDAL_OPTIONS: Final = {
    # No .aux.xml beside the file, no list of its folder to find helpers in, and no address: none ends so.
    "GDAL_PAM_ENABLED": "NO",
    "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none",
}
"""Settings of GDAL under which a raster is opened and read."""

LARGEST_BLOCK_CELLS: Final = 64_000_000
"""Most cells that one internal strip or tile of a raster may hold, since GDAL reads it whole."""

MOST_CELLS_A_BYTE: Final = 20_000
"""Most cells that a byte of a file may stand for: the best packing of a level plain stays well under it."""

_TIFF_MAGIC: Final = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_GRID_KEYS: Final = (b"ncols", b"nrows", b"xll", b"yll", b"cellsize", b"nodata_value", b"dx", b"dy")
# Possessive throughout: over a long line that is nearly all numbers, a search that goes back takes no end.
_GRID_NUMBER: Final = rb"[+-]?+(?:\d++\.?+\d*+|\.\d++)(?:[eE][+-]?+\d++)?+"
_GRID_LINE: Final = re.compile(rb"\s*+(?:" + _GRID_NUMBER + rb"(?:\s++|\Z))*+")
_GRID_CELL: Final = re.compile(_GRID_NUMBER)
_FORMATS: Final = "GeoTIFF, SRTM .hgt, ASCII grid"
_STATE_CRS: Final = 'lay its .prj file beside it, or state it with crs, for example crs = "EPSG:32616"'
_opening = threading.Lock()


@contextmanager
def safe_open(path: Path | str) -> Iterator[Any]:
    """Open a raster for reading and close it again.

    Parameters
    ----------
    path
        An existing regular file: GeoTIFF, SRTM ``.hgt`` (named after its south-west corner) or ASCII grid.

    Yields
    ------
    rasterio.DatasetReader

    Raises
    ------
    RasterError
        Missing, not a regular file, another format, damaged, or laid out in blocks too large to read.
    """
    file = Path(path)
    driver = _driver_of(file)
    if driver == "AAIGrid":
        _check_words(file)
    try:
        with rasterio.Env(**GDAL_OPTIONS), _open(file, driver) as dataset:
            _check_layout(dataset, file)
            yield dataset
    except RasterioError as fault:
        raise RasterError(file, _one_line(fault), _damage_advice(driver)) from fault


def dataset_crs(dataset: Any) -> pyproj.CRS | None:
    """Return the CRS written in an open raster, or None where it has none."""
    return None if dataset.crs is None else pyproj.CRS.from_wkt(dataset.crs.to_wkt())


def check_north_up(dataset: Any, path: Path, resampling: str, *, south_up_too: bool = False) -> None:
    """Raise RasterError unless rows run from north to south and columns from west to east.

    Parameters
    ----------
    resampling
        Method of GDAL that suits what the cells hold, for the command that mends the file.
    south_up_too
        True where the caller reads rows that run from south to north.
    """
    shape = dataset.transform
    if not all(math.isfinite(number) for number in shape[:6]):
        raise RasterError(path, "its corner or cell size is no finite number", "write its place anew")
    mended = path.with_name(f"{path.stem}_north_up.tif").name
    options = f"-r {resampling}{_corner_option(dataset)}"
    advice = f"write it north up with: gdalwarp {options} {quote(path.name)} {quote(mended)}"
    if shape.b != 0.0 or shape.d != 0.0:
        raise RasterError(path, "its grid is rotated", advice)
    if shape.a <= 0.0 or shape.e == 0.0 or (shape.e > 0.0 and not south_up_too):
        raise RasterError(path, "its rows or columns run backwards", advice)


def _corner_option(dataset: Any) -> str:
    """Return the option by which GDAL leaves corners that a turned raster does not reach without data."""
    if dataset.nodata is not None:
        return ""
    # Without it they would be 0: land at the level of the sea, or a class.
    stored = np.dtype(dataset.dtypes[0])
    return f" -dstnodata {np.iinfo(stored).max if stored.kind == 'u' else -32768}"


def check_one_band(dataset: Any, path: Path) -> None:
    """Raise RasterError unless the raster has exactly one band of real numbers."""
    if dataset.count != 1:
        raise RasterError(path, f"it has {dataset.count} bands; allowed: 1", "a picture is no such raster")
    if dataset.dtypes[0].startswith("complex"):
        raise RasterError(path, f"its numbers are {dataset.dtypes[0]}; allowed: whole or real numbers")


def read_numbers(dataset: Any, window: Window | None = None) -> FloatArray:
    """Return the numbers of a window of an open raster, scaled as it says; NaN for declared nodata."""
    stored = dataset.read(1, window=window)
    numbers: FloatArray = stored.astype(np.float64)
    if dataset.nodata is not None:
        with np.errstate(over="ignore"):
            # The header holds nodata in double precision or as text, the cells what single precision makes of
            # it.
            nodata = float(np.float32(dataset.nodata)) if stored.dtype == np.float32 else dataset.nodata
        numbers[numbers == nodata] = np.nan
    # Only now: nodata is told of the numbers as stored.
    return numbers * float(dataset.scales[0]) + float(dataset.offsets[0])


def no_crs_error(path: Path) -> RasterError:
    """Return the error for a raster that does not say where on Earth it lies."""
    if path.suffix.lower() == ".asc":
        return RasterError(path, "it has no CRS", _STATE_CRS)
    return RasterError(path, "it has no CRS", "write it in with: gdal_edit.py -a_srs EPSG:NNNN FILE")


def _driver_of(path: Path) -> str:
    """Tell the one driver to offer to GDAL from the name and the first bytes."""
    _check_regular(path)
    if path.suffix.lower() == ".hgt":
        return "SRTMHGT"
    try:
        with path.open("rb") as stream:
            start = stream.read(64)
    except OSError as fault:
        raise RasterError(path, f"cannot be read ({fault.strerror})") from fault
    if start.startswith(_TIFF_MAGIC):
        return "GTiff"
    if start.lstrip().lower().startswith(_GRID_KEYS):
        return "AAIGrid"
    raise RasterError(path, "its format is unknown", f"allowed: {_FORMATS}")


def _check_words(path: Path) -> None:
    """Raise RasterError for a cell of an ASCII grid that is no number: GDAL would read it as 0."""
    status = path.stat()
    word = _word_among_cells(path.absolute(), status.st_size, status.st_mtime_ns)
    if word:
        raise RasterError(
            path,
            f"{word!r} stands among its cells",
            "write the NODATA_value of its header where there is none",
        )


@lru_cache(maxsize=256)
def _word_among_cells(path: Path, size: int, modified_ns: int) -> str:
    """Return the first cell that cannot be a number, or nothing; a file that stays is read once."""
    # They are part of the key of the cache alone: a file that was changed is read again.
    del size, modified_ns
    header = True
    with path.open("rb") as stream:
        for line in stream:
            cells = _after_header(line) if header else line
            header = header and not cells.strip()
            if not _GRID_LINE.fullmatch(cells):
                wrong = next(cell for cell in cells.split() if not _GRID_CELL.fullmatch(cell))
                return wrong[:40].decode("ascii", errors="replace")
    return ""


def _after_header(line: bytes) -> bytes:
    """Return what follows the keys of a header, each with its value, on a line of an ASCII grid."""
    words = line.split()
    while words and words[0].lower().startswith(_GRID_KEYS):
        words = words[2:]
    return b" ".join(words)


def _check_regular(path: Path) -> None:
    """Raise RasterError unless the path is an existing regular file."""
    if path.is_dir():
        raise RasterError(path, "is a folder", f"name one file: {_FORMATS}")
    if not path.exists():
        raise RasterError(path, "no such file")
    if not path.is_file():
        raise RasterError(path, "is not a regular file")


def _open(path: Path, driver: str) -> Any:
    """Open with one driver; the full path keeps GDAL from taking a name for an address."""
    # What is caught is caught for the whole process: two threads at once would put back each other's filters.
    with _opening, warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        return rasterio.open(str(path.absolute()), driver=driver)


def _check_layout(dataset: Any, path: Path) -> None:
    """Raise RasterError where one internal block would fill the memory."""
    cells, stored = dataset.width * dataset.height, max(path.stat().st_size, 1)
    if cells > MOST_CELLS_A_BYTE * stored:
        raise RasterError(
            path,
            f"it claims {dataset.height} x {dataset.width} cells and holds {stored} bytes",
            "it is cut short or empty; fetch it again",
        )
    rows, columns = dataset.block_shapes[0]
    if rows * columns > LARGEST_BLOCK_CELLS:
        raise RasterError(
            path,
            f"one internal block holds {rows} x {columns} cells; allowed: {LARGEST_BLOCK_CELLS}",
            "rewrite it with: gdal_translate -co TILED=YES",
        )


def _one_line(fault: Exception) -> str:
    """Return the innermost text of GDAL on one line."""
    cause = fault.__cause__ or fault
    return "cannot be read (" + " ".join(str(cause).split()) + ")"


def _damage_advice(driver: str) -> str:
    if driver == "SRTMHGT":
        return "a .hgt file is named after its south-west corner (N36W085.hgt) and has 1201 or 3601 rows"
    return "the file is damaged or cut short; fetch it again"
