"""What is recorded of a file that was fetched: where from, when, how much, whose; a small file beside it."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from combe.errors import FetchError
from combe.files import write_text_atomically
from combe.ground.sources import Source

ENDING: Final = ".source.json"
_LARGEST_BYTES: Final = 10_000_000


@dataclass(frozen=True)
class Record:
    """Where a file is from.

    Attributes
    ----------
    source, address, fetched
        Name of the data set, address or path, and the day and hour (UTC).
    bytes, sha256
        Of the file beside which this stands; empty where there is none.
    licence, credit, year
        As the table of sources has them.
    origin
        SHA-256 of the whole file as its owner publishes it, where it was fetched whole.
    missing
        Whether the record is of a tile that is not there.
    window
        First column and row, columns and rows of the raster that a window was cut from; None for all.
    raster
        Of a window: width, height, sides of a block, and the six numbers that place the whole raster.
    """

    source: str
    address: str
    fetched: str
    bytes: int
    sha256: str
    licence: str
    credit: str
    year: str
    origin: str = ""
    missing: bool = False
    window: tuple[int, int, int, int] | None = None
    raster: Mapping[str, Any] = field(default_factory=dict)


def recorded(source: Source, address: str, file: Path | None = None, **more: Any) -> Record:
    """Return the record of a file as it is now; without one, of a tile that is not there."""
    size, digest = (0, "") if file is None else (file.stat().st_size, sha256_of(file))
    return Record(
        source=source.name,
        address=address,
        fetched=f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}",
        bytes=size,
        sha256=digest,
        licence=source.licence,
        credit=source.credit,
        year=source.year,
        missing=file is None,
        **more,
    )


def sha256_of(file: Path) -> str:
    """Return the SHA-256 of a file."""
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def note_of(file: Path) -> Path:
    """Return where the record of a file stands."""
    return file.with_name(f"{file.name}{ENDING}")


def write_record(file: Path, record: Record) -> None:
    """Write the record beside its file."""
    write_text_atomically(note_of(file), json.dumps(asdict(record), indent=2, ensure_ascii=False) + "\n")


def read_record(file: Path) -> Record | None:
    """Return the record of a file, None where there is none that can be read."""
    note = note_of(file)
    with suppress(OSError, ValueError, TypeError, KeyError):
        if note.stat().st_size > _LARGEST_BYTES:
            return None
        found = json.loads(note.read_text("utf-8"))
        window = found.get("window")
        return Record(**{**found, "window": None if window is None else tuple(window)})
    return None


def still_whole(file: Path, record: Record) -> bool:
    """Tell whether a file is what its record says."""
    with suppress(OSError):
        return file.stat().st_size == record.bytes and sha256_of(file) == record.sha256
    return False


def check_hash(file: Path, wanted: str, address: str) -> str:
    """Return the SHA-256 of a file, which has to be the one that its owner tells, if he does."""
    found = sha256_of(file)
    if wanted and found != wanted.lower():
        raise FetchError(
            address,
            f"its SHA-256 is {found[:16]}… and has to be {wanted[:16].lower()}…",
            "it is not the file that was meant",
        )
    return found


def megabytes(count: float) -> str:
    """Return bytes in words."""
    if count < 1e6:
        return f"{max(math.ceil(count / 1e3), 0)} kB"
    return f"{count / 1e6:.1f} MB" if count < 1e8 else f"{count / 1e6:.0f} MB"
