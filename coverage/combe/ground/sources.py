"""What is known of an open data set: where its files lie, how they are named, and what their numbers mean."""

from __future__ import annotations

import re
import string
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import Final, Literal
from urllib.parse import urlsplit

from combe.errors import RangeError, quoted
from combe.ground.tilings import Tile, Tiling
from combe.words import Name

Kind = Literal["elevation", "people", "cover", "sea"]
Packing = Literal["cog", "whole"]
Missing = Literal["error", "sea", "nobody"]
Nodata = Literal["unknown", "nobody"]

KINDS: Final[tuple[Kind, ...]] = ("elevation", "people", "cover", "sea")
PACKINGS: Final[tuple[Packing, ...]] = ("cog", "whole")
WORDS: Final = ("lat", "lon", "NS", "ns", "EW", "ew", "row", "column", "ISO", "iso", "year")
_FILL: Final = re.compile(r"0?\d?")
_NAME: Final = re.compile(r"[a-z0-9][a-z0-9-]*")


@dataclass(frozen=True)
class Source:
    """A data set, or an edition of one.

    Attributes
    ----------
    name, title
        What it is asked by, and what people call it.
    kind
        What it is used for.
    bases, paths
        Where its files lie: addresses, ending in a slash, and what follows. Several paths are asked in turn.
        Without a base it is read from a folder only, since its owner asks for an account.
    tiling
        Which files there are.
    packing
        ``cog``: a window is read of it; ``whole``: it is fetched whole, and unpacked if it is a .zip or .gz.
    nodata, nodata_means
        Number that stands for no data where the file declares none, and what it says: ``unknown``, or of
        people ``nobody``.
    missing, missing_value
        What a tile that is not there says, once ``instead`` has been asked as well, and the number that its
        cells get.
    instead
        The data set that is asked where this one has no tile.
    pixel_deg
        Side of a cell at the equator.
    reach_cells
        How far files beside the box are met: cells with centres on whole degrees reach into the next file.
    vertical_datum, surface
        Of elevation: what heights count from, and whether trees and roofs are in them.
    sea_floor
        Of elevation: heights under 0 may be the bed of the sea.
    counts
        Of people: whether cells hold people, and not people per square kilometre.
    legend
        Of cover: the legend of a study whose classes these are; empty for a raster of heights.
    sea_codes
        Of water: the classes that are sea.
    year, resolution, licence, credit
        As they are told and printed.
    remark, standing
        What to know before it is used, and how its addresses and numbers are known.
    hashes
        SHA-256 of files by their names, where the owner tells it.
    """

    name: str
    title: str
    kind: Kind
    paths: tuple[str, ...]
    tiling: Tiling
    packing: Packing
    licence: str
    credit: str
    year: str
    resolution: str
    pixel_deg: float
    bases: tuple[str, ...] = ()
    nodata: float | None = None
    nodata_means: Nodata = "unknown"
    missing: Missing = "error"
    missing_value: float = 0.0
    instead: str = ""
    reach_cells: float = 0.0
    vertical_datum: str = "unknown"
    surface: bool = False
    sea_floor: bool = False
    counts: bool = True
    legend: str = ""
    sea_codes: tuple[int, ...] = ()
    remark: str = ""
    standing: str = "told by the user"
    hashes: Mapping[str, str] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        if not _NAME.fullmatch(self.name):
            raise RangeError("name of a source", quoted(self.name), "small letters, digits and hyphens")
        for key in ("title", "credit", "licence"):
            object.__setattr__(self, key, Name(getattr(self, key)))
        _among("kind", self.kind, KINDS, self.name)
        _among("packing", self.packing, PACKINGS, self.name)
        if not self.paths:
            raise RangeError(f"paths of source {self.name}", "none", "1 or more")
        for base in self.bases:
            _check_base(base, self.name)
        for path in self.paths:
            check_pattern(path, self.name)
        if not self.credit or not self.licence:
            raise RangeError(
                f"credit and licence of source {self.name}", "not told", "both, for the pages print them"
            )

    def names(self, tile: Tile) -> list[str]:
        """Return the paths of a tile below a base, in the order in which they are asked for."""
        return [path.format(**tile.words, year=self.year) for path in self.paths]

    def file_name(self, tile: Tile) -> str:
        """Return the name of a tile's file, by which it is kept."""
        path = PurePosixPath(self.names(tile)[0].partition("?")[0])
        return path.name


def check_pattern(pattern: str, name: str) -> None:
    """Refuse a pattern of an address that asks for anything but the words of a tile."""
    try:
        fields = [
            (word, fill)
            for _, word, fill, turn in string.Formatter().parse(pattern)
            if word is not None or turn
        ]
    except ValueError as fault:
        raise RangeError(f"path of source {name}", quoted(pattern), f"a pattern ({fault})") from None
    wrong = [word for word, fill in fields if word not in WORDS or not _FILL.fullmatch(fill or "")]
    if wrong:
        raise RangeError(
            f"path of source {name}", quoted(pattern), f"words of {', '.join(WORDS)}, as in {{lat:02}}"
        )
    parts = PurePosixPath(pattern)
    if parts.is_absolute() or ".." in parts.parts or not parts.name:
        raise RangeError(f"path of source {name}", quoted(pattern), "a path below the base")


def _check_base(base: str, name: str) -> None:
    parts = urlsplit(base)
    if parts.scheme not in ("http", "https") or not parts.hostname or not base.endswith("/"):
        raise RangeError(
            f"base of source {name}", quoted(base), "an http or https address that ends in a slash"
        )
    if parts.username or parts.password:
        raise RangeError(f"base of source {name}", "with a name or password", "an address without either")


def _among(what: str, given: str, allowed: tuple[str, ...], name: str) -> None:
    if given not in allowed:
        raise RangeError(f"{what} of source {name}", quoted(given), ", ".join(allowed))
