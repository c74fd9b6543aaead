"""Reads a window of a raster on a web server by asking for the bytes of its blocks, a few requests each.

The file is shown to GDAL as one that is read from memory; what it asks for and is not there yet is fetched.
The blocks of a window are asked for beforehand, a request for each row of them, so that GDAL finds what it
wants.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final, NamedTuple

import rasterio
from rasterio.errors import RasterioError
from rasterio.windows import Window

from combe.errors import FetchError
from combe.files import replacing
from combe.ground.web import Part, Web

HEADER_BYTES: Final = 65_536
"""What is read of a file to begin with: its header with room for the places of a thousand blocks."""

ROWS_A_WINDOW: Final = 4
"""Rows of blocks in a window: one request each, and two for the header, make six."""

MOST_HEADER_PARTS: Final = 8
_NEAR_BYTES: Final = 131_072
"""A gap between two blocks that costs less to read than another request."""

_TIFF: Final = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_LARGEST_BLOCK_CELLS: Final = 64_000_000
_OPTIONS: Final = {
    "GDAL_PAM_ENABLED": "NO", "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none",
}  # fmt: skip


class Layout(NamedTuple):
    """How a raster lies: columns, rows, sides of a block, the six numbers that place it, and its system."""

    width: int
    height: int
    block_width: int
    block_height: int
    place: tuple[float, ...]
    crs: str


class Chunk(NamedTuple):
    """A window of whole blocks: first column and row, columns and rows; and how many bytes to ask for."""

    column: int
    row: int
    columns: int
    rows: int
    spans: tuple[tuple[int, int], ...] = ()

    @property
    def bytes(self) -> int:
        """How many bytes will be asked for."""
        return sum(end - start for start, end in self.spans)


class RangeFile:
    """A raster on a web server of which parts are at hand; a part that is not is fetched.

    Attributes
    ----------
    address, total, state
        Where it is, how many bytes it has, and which state of it the parts are of.
    layout
        How it lies.
    fault
        The first error of a part that was asked for while GDAL read, which would swallow it.
    """

    def __init__(self, web: Web, address: str, first: Part) -> None:
        self.address, self.total, self.state = address, first.total, first.state
        self.fault: Exception | None = None
        self.layout = Layout(0, 0, 1, 1, (), "")
        self._web, self._parts, self._asked = web, [(first.start, first.content)], 0

    def fetch(self, spans: Sequence[tuple[int, int]]) -> None:
        """Ask for parts, each by one request."""
        for start, end in spans:
            self._fetch(start, end)

    def forget(self) -> None:
        """Let go of all but the header."""
        del self._parts[1:]

    def read(self, start: int, size: int) -> bytes:
        """Return bytes, fetched first where they are not at hand; none after a fault."""
        end = self.total if size < 0 else min(start + size, self.total)
        try:
            return self._read(start, end) if start < end else b""
        except Exception as fault:
            self.fault = self.fault or fault
            return b""

    def _read(self, start: int, end: int) -> bytes:
        content = self._held(start, end)
        if content is None:
            self._asked += 1
            if self._asked > MOST_HEADER_PARTS:
                raise FetchError(
                    self.address, "its header lies in too many places", "it is no cloud-optimized GeoTIFF"
                )
            self._fetch(start, min(max(end, start + HEADER_BYTES), self.total))
            content = self._held(start, end) or b""
        return content

    def _fetch(self, start: int, end: int) -> None:
        part = self._web.part(self.address, start, end, self.state)
        if part is None:
            raise FetchError(self.address, "the server sent parts and then no more", "try again later")
        self._parts.append((start, part.content))

    def _held(self, start: int, end: int) -> bytes | None:
        for first, content in reversed(self._parts):
            if first <= start and end <= first + len(content):
                return content[start - first : end - first]
        return None


def open_ranges(web: Web, address: str) -> RangeFile | None:
    """Return a raster on a server of which parts can be read; None where it sends whole files only.

    Raises
    ------
    FetchError
        No such file, or no TIFF.
    """
    first = web.part(address, 0, HEADER_BYTES)
    if first is None:
        return None
    check_tiff(first.content, address)
    file = RangeFile(web, address, first)
    file.layout = layout_of(file)
    return file


def check_tiff(start: bytes, address: str) -> None:
    """Refuse an answer that does not begin as a TIFF does."""
    if not start.startswith(_TIFF):
        raise FetchError(
            address, f"{what_came(start)} came and no GeoTIFF", "see whether the address is still right"
        )


def what_came(start: bytes) -> str:
    """Say what an answer seems to be that is no raster."""
    text = start[:512].lstrip().lower()
    if not start:
        return "nothing"
    return (
        "a web page"
        if text.startswith((b"<!doctype", b"<html", b"<head", b"<?xml", b"<error"))
        else "something else"
    )


def layout_of(file: RangeFile) -> Layout:
    """Read how a raster lies."""
    with _opened(file) as dataset:
        return _layout(dataset)


def chunks_of(file: RangeFile, window: tuple[int, int, int, int]) -> list[Chunk]:
    """Return the windows of whole blocks that hold a window, with the bytes that each takes.

    Their rows begin at the same places whatever is asked for, so that studies side by side share them.
    """
    with _opened(file) as dataset:
        layout = _layout(dataset)
        return [
            chunk._replace(spans=tuple(_joined(_spans(dataset, layout, chunk))))
            for chunk in chunks(layout, window)
        ]


def chunks(layout: Layout, window: tuple[int, int, int, int]) -> list[Chunk]:
    """Return the windows of whole blocks that hold a window."""
    column, row, columns, rows = window
    wide, high = layout.block_width, layout.block_height
    first, last = column // wide * wide, min(-(-(column + columns) // wide) * wide, layout.width)
    step = ROWS_A_WINDOW * high
    found = []
    for top in range(row // step * step, row + rows, step):
        start = max(top, row // high * high)
        end = min(top + step, -(-(row + rows) // high) * high, layout.height)
        found.append(Chunk(first, start, last - first, end - start))
    return found


def save_chunk(file: RangeFile, chunk: Chunk, target: Path, *, nodata: float | None) -> None:
    """Fetch a window and write it as a GeoTIFF of its own."""
    try:
        file.fetch(chunk.spans)
        with _opened(file) as dataset, replacing(target) as beside:
            window = Window(chunk.column, chunk.row, chunk.columns, chunk.rows)
            content = dataset.read(1, window=window)
            own = dataset.nodata
            profile = {
                "driver": "GTiff", "width": chunk.columns, "height": chunk.rows, "count": 1,
                "dtype": content.dtype,
                "crs": dataset.crs, "transform": dataset.window_transform(window), "compress": "deflate",
                "nodata": nodata if own is None else own,
            }  # fmt: skip
            with rasterio.open(beside, "w", **profile) as made:
                made.write(content, 1)
    finally:
        file.forget()


class _Reader(io.RawIOBase):
    """A place in a file on a server; GDAL opens and closes as many as it likes."""

    def __init__(self, file: RangeFile) -> None:
        super().__init__()
        self._file, self._at = file, 0

    def readable(self) -> bool:
        """Say that it can be read."""
        return True

    def seekable(self) -> bool:
        """Say that it can be read anywhere."""
        return True

    def tell(self) -> int:
        """Return the place of the next byte."""
        return self._at

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Go to a place."""
        self._at = offset + {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._file.total}[whence]
        return self._at

    def read(self, size: int = -1) -> bytes:
        """Return the next bytes, fetched first where they are not at hand."""
        content = self._file.read(self._at, size)
        self._at += len(content)
        return content


@contextmanager
def _opened(file: RangeFile) -> Iterator[Any]:
    name = f"ranges-{id(file)}.tif"

    def opener(path: str, mode: str = "rb") -> _Reader:
        del mode
        # GDAL looks for helpers beside a file; there are none.
        if not str(path).endswith(name):
            raise FileNotFoundError(path)
        return _Reader(file)

    try:
        with rasterio.Env(**_OPTIONS), rasterio.open(name, driver="GTiff", opener=opener) as dataset:
            _check(dataset, file.address)
            yield dataset
    except RasterioError as fault:
        cause = " ".join(str(fault.__cause__ or fault).split())
        damaged = FetchError(file.address, f"it cannot be read ({cause})", "it is damaged or cut short")
        raise file.fault or damaged from None
    if file.fault:
        raise file.fault


def _check(dataset: Any, address: str) -> None:
    """Refuse a raster that cannot be cut a window from."""
    high, wide = dataset.block_shapes[0]
    if dataset.count != 1:
        raise FetchError(address, f"it has {dataset.count} bands; a raster of one is wanted")
    if dataset.crs is None:
        raise FetchError(address, "it does not say where it lies (it has no CRS)")
    if high * wide > _LARGEST_BLOCK_CELLS:
        raise FetchError(address, f"one block holds {high} x {wide} cells; allowed: {_LARGEST_BLOCK_CELLS}")


def _layout(dataset: Any) -> Layout:
    high, wide = dataset.block_shapes[0]
    placed = tuple(float(number) for number in dataset.transform[:6])
    return Layout(dataset.width, dataset.height, wide, high, placed, dataset.crs.to_wkt())


def _spans(dataset: Any, layout: Layout, chunk: Chunk) -> Iterator[tuple[int, int]]:
    """Yield where the blocks of a window begin and end in the file, as it says."""
    wide, high = layout.block_width, layout.block_height
    for down in range(chunk.row // high, -(-(chunk.row + chunk.rows) // high)):
        for across in range(chunk.column // wide, -(-(chunk.column + chunk.columns) // wide)):
            start = dataset.get_tag_item(f"BLOCK_OFFSET_{across}_{down}", "TIFF", bidx=1)
            size = dataset.get_tag_item(f"BLOCK_SIZE_{across}_{down}", "TIFF", bidx=1)
            # A block without a place holds nothing but no data.
            if start and size:
                yield int(start), int(start) + int(size)


def _joined(spans: Iterator[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Yield spans, those that lie near one another as one."""
    last: tuple[int, int] | None = None
    for start, end in sorted(spans):
        if last is not None and start - last[1] <= _NEAR_BYTES:
            last = last[0], max(last[1], end)
            continue
        if last is not None:
            yield last
        last = start, end
    if last is not None:
        yield last
