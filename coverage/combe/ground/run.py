"""The whole of a fetch: what there is, how much is still to come, and the rasters that are made of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final

from combe.errors import RangeError, did_you_mean, quoted
from combe.files import ensure_folder, write_text_atomically
from combe.ground.fetching import USUAL_AT_ONCE, Tell, fetch_all
from combe.ground.finding import Found, Gap, Places, check_gaps, find_all
from combe.ground.joining import Joined, join
from combe.ground.records import ENDING, megabytes, sha256_of
from combe.ground.sources import Kind, Source
from combe.ground.tilings import Box, CountryTiles

USUAL_LIMIT_MB: Final = 300.0


def _silent(done: int, total: int, what: str) -> None:
    """Tell nobody."""


NAMES: Final[Mapping[Kind, str]] = {
    "elevation": "terrain",
    "people": "people",
    "cover": "cover",
    "sea": "water",
}
"""What the rasters are called that are made."""


@dataclass(frozen=True)
class Ask:
    """What is wanted.

    Attributes
    ----------
    box
        (west, south, east, north) [degrees], east over 180 beyond the antimeridian.
    wanted
        A source for each kind that is wanted.
    countries
        ISO codes, for data with a file a country.
    year
        Of the data, where the source has several.
    """

    box: Box
    wanted: Mapping[Kind, str]
    countries: tuple[str, ...] = ()
    year: str = ""


@dataclass(frozen=True)
class Plan:
    """What was found: per source its tiles and gaps, and how much is still to be fetched."""

    ask: Ask
    parts: tuple[tuple[Source, tuple[Found, ...], tuple[Gap, ...]], ...]

    @property
    def bytes(self) -> int:
        """How many bytes are still to come, as far as servers tell."""
        return sum(each.bytes or 0 for _, found, _ in self.parts for each in found)

    @property
    def untold(self) -> int:
        """Of how many files nobody tells how large they are."""
        return sum(each.bytes is None for _, found, _ in self.parts for each in found)

    @property
    def files(self) -> int:
        """From how many files something is still to come."""
        return sum(each.whole or bool(each.chunks) for _, found, _ in self.parts for each in found)

    @property
    def words(self) -> str:
        """What is going to happen, in one line."""
        told = [f"{len(found)} of {source.title}" for source, found, _ in self.parts]
        unknown = f" and {self.untold} of unknown size" if self.untold else ""
        return f"files: {', '.join(told)}; still to fetch: {megabytes(self.bytes)} from {self.files}{unknown}"


@dataclass(frozen=True)
class Fetched:
    """A raster that was made: of which kind and data, how much of it, and what is missing in it."""

    kind: Kind
    source: Source
    file: Path
    bytes: int
    sha256: str
    files: int
    missing: tuple[str, ...]


@dataclass(frozen=True)
class GroundReport:
    """What a fetch brought.

    Attributes
    ----------
    ask, rasters
        What was wanted, and what was made of it.
    fetched_bytes, requests
        What this run took from the web.
    """

    ask: Ask
    rasters: tuple[Fetched, ...]
    fetched_bytes: int
    requests: int

    def of(self, kind: Kind) -> tuple[Fetched, ...]:
        """Return the rasters of a kind, that which was asked for first."""
        return tuple(each for each in self.rasters if each.kind == kind)


def plan(table: Mapping[str, Source], ask: Ask, places: Places) -> Plan:
    """Find what is wanted, and how much of it has still to be fetched; nothing is yet.

    Raises
    ------
    FetchError
        A tile of which it is not known whether there is one.
    RangeError
        A source that is not in the table or of another kind, too many tiles, countries that nobody named.
    """
    parts = []
    for kind, name in ask.wanted.items():
        source = source_named(table, kind, name)
        if isinstance(source.tiling, CountryTiles):
            source = replace(source, tiling=replace(source.tiling, countries=ask.countries))
        if ask.year and kind == "people":
            source = replace(source, year=ask.year)
        found, gaps = find_all(table, source, ask.box, places)
        check_gaps(() if places.missing_is_sea else gaps)
        parts.append((source, tuple(found), tuple(gaps)))
    return Plan(ask, tuple(parts))


def source_named(table: Mapping[str, Source], kind: Kind, name: str) -> Source:
    """Return the source of a name; it has to be of the kind."""
    fit = [each.name for each in table.values() if each.kind == kind]
    if name not in fit:
        near = did_you_mean(name, fit)
        advice = near if near.startswith("did") else ""
        raise RangeError(f"source of {kind}", quoted(name), ", ".join(fit), advice)
    return table[name]


def check_limit(found: Plan, limit_mb: float) -> None:
    """Refuse to fetch more than a limit; raises RangeError."""
    if found.bytes > limit_mb * 1e6 or found.untold:
        unknown = f" and {found.untold} files of unknown size" if found.untold else ""
        raise RangeError(
            "what is to be fetched",
            f"{megabytes(found.bytes)}{unknown}",
            f"{limit_mb:g} MB unless you say otherwise",
            "say --yes, or --limit-mb with a larger one",
        )


def carry_out(
    found: Plan, places: Places, folder: Path, *, at_once: int = USUAL_AT_ONCE, tell: Tell = _silent
) -> GroundReport:
    """Fetch what was planned, and make the rasters of a study of it in a folder.

    Raises
    ------
    FetchError
        A file that cannot be had, or is not what it should be; no raster is made then.
    """
    ready = [
        fetch_all(tiles, places.cache, places.web, at_once=at_once, tell=tell) for _, tiles, _ in found.parts
    ]
    ensure_folder(folder)
    rasters: list[Fetched] = []
    for (source, tiles, gaps), parts in zip(found.parts, ready, strict=True):
        names = (
            folder / f"{NAMES[source.kind]}{tail}.tif" for tail in ("", *(f"_{k}" for k in range(2, 100)))
        )
        made = join(parts, gaps, found.ask.box, list(names).__getitem__)
        if source.kind != "elevation" and len(made) > 1:
            advice = "take another data set, or a smaller area"
            raise RangeError(f"lattices of {source.title}", len(made), "1 for people and cover", advice)
        rasters += [_noted(source.kind, each, len(tiles)) for each in made]
    asked = places.web.requests if places.web else 0
    return GroundReport(found.ask, tuple(rasters), found.bytes, asked)


def _noted(kind: Kind, made: Joined, files: int) -> Fetched:
    """Write beside a raster what it is made of, and return what is told of it."""
    size, digest = made.file.stat().st_size, sha256_of(made.file)
    missing = tuple(gap.source.file_name(gap.tile) for gap in made.gaps)
    told: dict[str, Any] = {
        "file": made.file.name,
        "bytes": size,
        "sha256": digest,
        "source": made.source.name,
        "title": made.source.title,
        "licence": made.source.licence,
        "credit": made.source.credit,
        "year": made.source.year,
        "parts": [_part(asdict(part.record)) for part in made.parts],
        "missing": [{"address": gap.address, "taken_as": made.source.missing} for gap in made.gaps],
    }
    write_text_atomically(Path(f"{made.file}{ENDING}"), json.dumps(told, indent=2, ensure_ascii=False) + "\n")
    return Fetched(kind, made.source, made.file, size, digest, files, missing)


def _part(record: dict[str, Any]) -> dict[str, Any]:
    return {key: record[key] for key in ("address", "fetched", "bytes", "sha256", "origin", "window")}
