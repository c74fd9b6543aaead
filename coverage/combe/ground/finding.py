"""Finds each tile of a box: in the cache, in a folder, or on the web, and what of it has still to be fetched.

A tile that is not there says something only once the whole chain was asked: of elevation, the data set itself
and the one named to stand in for it. A folder without a file says nothing: nobody knows why it is not in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from combe.errors import FetchError
from combe.ground.cache import Cache
from combe.ground.rasters import PACKED_ENDINGS, check_place, window_of
from combe.ground.records import Record
from combe.ground.sources import Source
from combe.ground.tilings import Box, Tile, padded
from combe.ground.web import NotThere, Web
from combe.ground.windows import Chunk, RangeFile, chunks, chunks_of, open_ranges

_SAY_SO: Final = "put it there, or, if nothing but open sea is there, say --missing-is-sea"


@dataclass(frozen=True)
class Found:
    """A tile that is to be had.

    Attributes
    ----------
    source, tile, address
        Of which data set, which tile, and where it is from.
    kept
        Rasters of it that are at hand: in the cache, or where they lie in a folder.
    bytes
        How many bytes are still to be fetched; None where nobody tells.
    chunks, ranges
        Windows still to be fetched, and the file that they are fetched of.
    packed
        A file of a folder that has to be unpacked.
    """

    source: Source
    tile: Tile
    address: str
    kept: tuple[tuple[Path, Record | None], ...] = ()
    bytes: int | None = 0
    chunks: tuple[Chunk, ...] = ()
    ranges: RangeFile | None = None
    packed: Path | None = None

    @property
    def whole(self) -> bool:
        """Whether a whole file is to be fetched."""
        return not self.kept and self.ranges is None and self.packed is None


@dataclass(frozen=True)
class Gap:
    """A tile that is not there, and what that says."""

    source: Source
    tile: Tile
    address: str


@dataclass(frozen=True)
class Places:
    """Where files may come from.

    Attributes
    ----------
    cache
        What was fetched before.
    folders
        Folders of the user's, of the same names; where there is one, the web is not asked.
    web
        Who asks the web; None where it may not be asked.
    missing_is_sea
        Whether a tile that no folder holds is to be taken as the table of sources says of missing tiles.
    """

    cache: Cache
    folders: tuple[Path, ...] = ()
    web: Web | None = None
    missing_is_sea: bool = False


def find_all(
    table: Mapping[str, Source], source: Source, box: Box, places: Places
) -> tuple[list[Found], list[Gap]]:
    """Find all tiles of a box.

    Raises
    ------
    FetchError
        A tile of which it is not known whether there is one.
    RangeError
        Too many tiles, or countries that nobody named.
    """
    found: list[Found] = []
    gaps: list[Gap] = []
    for tile in source.tiling.tiles(padded(box, source.reach_cells * source.pixel_deg)):
        here = _find(source, tile, box, places)
        if isinstance(here, Found):
            found.append(here)
            continue
        others = list(_instead(table, source, tile, box, places))
        found += others
        if not any(_is_same_place(each.tile, tile) for each in others):
            gaps.append(_settled(here, source, places))
    return found, gaps


def _instead(
    table: Mapping[str, Source], source: Source, tile: Tile, box: Box, places: Places
) -> Iterator[Found]:
    """Yield tiles of the data set that stands in: the same one, and the rims of its neighbours' files."""
    other = table.get(source.instead)
    if other is None or tile.bounds is None:
        return
    west, south, east, north = tile.bounds
    part = (max(west, box[0]), max(south, box[1]), min(east, box[2]), min(north, box[3]))
    if part[0] >= part[2] or part[1] >= part[3]:
        # Only the rim of this tile was wanted: what is asked is whether it is there.
        part = padded((west, south, east, north), -0.25 * (east - west))
    for each in other.tiling.tiles(padded(part, other.reach_cells * other.pixel_deg)):
        here = _find(other, each, part, places)
        if isinstance(here, Found):
            yield here


def _is_same_place(one: Tile, other: Tile) -> bool:
    return one.bounds == other.bounds


def _settled(gap: Gap, source: Source, places: Places) -> Gap:
    """Return a gap that says what the table tells of it, or the error where it tells nothing."""
    if source.missing == "error" and not places.missing_is_sea:
        raise FetchError(
            gap.address, "there is no such file", f"{source.title} has none there: {source.remark}"
        )
    return gap


def _find(source: Source, tile: Tile, box: Box, places: Places) -> Found | Gap:
    """Find one tile; a gap where it is known that there is none."""
    kept = places.cache.whole(source, tile)
    if kept:
        return Found(source, tile, kept[1].address, (kept,))
    if places.folders:
        return _in_folders(source, tile, places)
    windows = _kept_windows(source, tile, box, places.cache)
    if windows:
        return windows
    if places.web is None:
        return _offline(source, tile, places)
    return _on_the_web(source, tile, box, places, places.web)


def _in_folders(source: Source, tile: Tile, places: Places) -> Found | Gap:
    names = [Path(name.partition("?")[0]) for name in source.names(tile)]
    tried = [folder / part for folder in places.folders for name in names for part in (name, Path(name.name))]
    for path in tried:
        if path.is_file():
            packed = path if path.suffix.lower() in PACKED_ENDINGS else None
            return Found(source, tile, str(path), () if packed else ((path, None),), packed=packed)
    if places.missing_is_sea:
        return Gap(source, tile, str(tried[0]))
    if source.instead:
        # The one that stands in may be there: only when it is not either is this an error.
        return _GapOfFolder(source, tile, str(tried[0]))
    folders = ", ".join(map(str, places.folders))
    raise FetchError(
        names[0].name, f"it is not in {folders}", _SAY_SO if source.missing != "error" else "put it there"
    )


class _GapOfFolder(Gap):
    """A tile that a folder has not, which says nothing yet."""


def _offline(source: Source, tile: Tile, places: Places) -> Gap:
    record = places.cache.known_missing(source, tile)
    if record:
        return Gap(source, tile, record.address)
    advice = "leave out --offline, or name a folder that has it with --from"
    raise FetchError(
        source.file_name(tile), "it is not in the cache, and the network may not be asked", advice
    )


def _kept_windows(source: Source, tile: Tile, box: Box, cache: Cache) -> Found | None:
    """Return a tile all of whose windows are in the cache."""
    layout = cache.layout(source, tile)
    if layout is None:
        return None
    window = window_of(layout, box, tile.turn, source.reach_cells)
    wanted = chunks(layout, window) if window else []
    held = [cache.window(source, tile, each) for each in wanted]
    if not held or not all(held):
        return None
    kept = tuple(each for each in held if each)
    return Found(source, tile, kept[0][1].address, kept)


def _on_the_web(source: Source, tile: Tile, box: Box, places: Places, web: Web) -> Found | Gap:
    addresses = [f"{base}{name}" for name in source.names(tile) for base in source.bases]
    if not addresses:
        advice = f"{source.remark}; name the folder with --from"
        raise FetchError(source.title, "it is read from a folder only", advice)
    for address in addresses:
        try:
            return _at(address, source, tile, box, places.cache, web)
        except NotThere:
            continue
    places.cache.note_missing(source, tile, addresses[0])
    return Gap(source, tile, addresses[0])


def _at(address: str, source: Source, tile: Tile, box: Box, cache: Cache, web: Web) -> Found:
    """Return a tile of which a server was asked; NotThere where it has none."""
    known = source.hashes.get(source.file_name(tile))
    ranges = open_ranges(web, address) if source.packing == "cog" and not known else None
    if ranges is None:
        return Found(source, tile, address, bytes=web.size(address))
    layout = ranges.layout
    check_place(layout, source, tile, address)
    window = window_of(layout, box, tile.turn, source.reach_cells)
    if window is None:
        return Found(source, tile, address, kept=(), bytes=0, ranges=ranges)
    wanted = chunks_of(ranges, window)
    held = {each: cache.window(source, tile, each) for each in wanted}
    left = tuple(each for each in wanted if not held[each])
    kept = tuple(each for each in held.values() if each)
    return Found(source, tile, address, kept, sum(each.bytes for each in left), left, ranges)


def check_gaps(gaps: Sequence[Gap]) -> None:
    """Refuse tiles that folders have not and nobody said to be sea."""
    for gap in gaps:
        if isinstance(gap, _GapOfFolder):
            raise FetchError(Path(gap.address).name, f"it is not in {Path(gap.address).parent}", _SAY_SO)


def with_bases(source: Source, bases: Sequence[str]) -> Source:
    """Return a source whose files lie below other addresses."""
    return replace(source, bases=tuple(bases))
