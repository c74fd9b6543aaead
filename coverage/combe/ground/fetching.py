"""Fetches what is still to be had, a few files at a time, and gives the rasters with their records."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final, NamedTuple, Protocol
from urllib.parse import urlsplit

from combe.errors import FetchError
from combe.files import ensure_folder
from combe.ground.cache import Cache
from combe.ground.finding import Found
from combe.ground.rasters import PACKED_ENDINGS, layout_of_raster, unpacked
from combe.ground.records import Record, check_hash, recorded, write_record
from combe.ground.sources import Source
from combe.ground.tilings import Tile
from combe.ground.web import Web
from combe.ground.windows import save_chunk

USUAL_AT_ONCE: Final = 2


class Tell(Protocol):
    """Who is told how far it is."""

    def __call__(self, done: int, total: int, what: str) -> None:
        """Hear that ``done`` of ``total`` steps are behind."""


class Ready(NamedTuple):
    """A raster that is at hand, the tile that it is of, and where it is from."""

    source: Source
    tile: Tile
    file: Path
    record: Record


def fetch_all(
    found: Sequence[Found],
    cache: Cache,
    web: Web | None,
    *,
    at_once: int = USUAL_AT_ONCE,
    tell: Tell,
) -> list[Ready]:
    """Fetch and unpack what is not at hand, and return all rasters.

    After the first error nothing more is begun; what came whole is kept, and the next run goes on with what
    came in part.
    """
    pool = ThreadPoolExecutor(max_workers=max(at_once, 1))
    try:
        work = [pool.submit(_fetch, each, cache, web) for each in found]
        ready: list[Ready] = []
        for number, done in enumerate(work, 1):
            ready += done.result()
            tell(number, len(work), "fetching")
        return ready
    except BaseException:
        if web is not None:
            web.stop.set()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _fetch(found: Found, cache: Cache, web: Web | None) -> list[Ready]:
    source, tile = found.source, found.tile
    if found.packed is not None:
        return [_unpack(found, found.packed, cache)]
    if found.ranges is None and not found.kept:
        assert web is not None, "what is not at hand was found on the web"
        return [_whole(found, cache, web)]
    ready = [Ready(source, tile, file, record or _of_folder(found, file)) for file, record in found.kept]
    return ready + _windows(found, cache)


def _of_folder(found: Found, file: Path) -> Record:
    """Return the record of a raster that lies in a folder of the user's, after a look into it."""
    layout_of_raster(file, found.source, found.tile, found.address)
    origin = check_hash(file, _known_hash(found, file.name), found.address)
    return recorded(found.source, found.address, file, origin=origin)


def _windows(found: Found, cache: Cache) -> list[Ready]:
    ready: list[Ready] = []
    if found.ranges is None:
        return ready
    layout = found.ranges.layout
    for chunk in found.chunks:
        file = cache.window_file(found.source, found.tile, chunk)
        save_chunk(found.ranges, chunk, file, nodata=found.source.nodata)
        record = recorded(
            found.source,
            found.address,
            file,
            window=(chunk.column, chunk.row, chunk.columns, chunk.rows),
            raster=layout._asdict(),
        )
        write_record(file, record)
        ready.append(Ready(found.source, found.tile, file, record))
    return ready


def _whole(found: Found, cache: Cache, web: Web) -> Ready:
    """Fetch a file whole, unpack it where it is packed, and keep the raster once it was looked at."""
    place = ensure_folder(cache.place(found.source, found.tile))
    name = Path(urlsplit(found.address).path).name
    came = place / f"coming-{name}"
    web.download(found.address, came, found.bytes)
    try:
        return _kept(found, came, name, place)
    finally:
        came.unlink(missing_ok=True)


def _unpack(found: Found, packed: Path, cache: Cache) -> Ready:
    return _kept(found, packed, packed.name, ensure_folder(cache.place(found.source, found.tile)))


def _kept(found: Found, came: Path, name: str, place: Path) -> Ready:
    """Look at what came, and keep the raster in its place with its record."""
    origin = check_hash(came, _known_hash(found, name), found.address)
    with tempfile.TemporaryDirectory(dir=place, prefix=".looked-at-") as beside:
        if Path(name).suffix.lower() in PACKED_ENDINGS:
            raster = unpacked(came, Path(beside), found.address)
        else:
            raster = (
                Path(shutil.copy(came, Path(beside) / name))
                if came.name == name
                else came.rename(Path(beside) / name)
            )
        layout_of_raster(raster, found.source, found.tile, found.address)
        final = place / raster.name
        raster.replace(final)
    record = recorded(found.source, found.address, final, origin=origin)
    write_record(final, record)
    return Ready(found.source, found.tile, final, record)


def _known_hash(found: Found, name: str) -> str:
    """Return the hash that the owner tells of a file: in the table, or in a list beside it in a folder."""
    told = found.source.hashes.get(name, "")
    listed = Path(found.address).parent / "SHA256SUMS"
    if not told and "://" not in found.address and listed.is_file():
        rows = (line.split(None, 1) for line in listed.read_text("utf-8", errors="replace").splitlines())
        told = next((row[0] for row in rows if len(row) == 2 and row[1].strip().lstrip("*") == name), "")
    if told and len(told) != 64:
        raise FetchError(found.address, f"the SHA-256 told of it has {len(told)} signs", "64 are wanted")
    return told
