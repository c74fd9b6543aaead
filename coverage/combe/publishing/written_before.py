"""Files that are there already: what an earlier run wrote of the same content is the same to the byte.

To draw a map and to pack rasters costs as much as half of a coverage that was found in the cache. So a run
notes the hash of each file under the key of everything that made it: all of its content, the sources and page
files of the package, and the versions of the libraries that draw and pack. A later run leaves a file alone
where the same key asks for it and its bytes still have that hash; whatever else it meets it writes anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import zlib
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyproj
import rasterio

from combe.errors import OutputError
from combe.prediction import array_hash, content_hash, open_sealed, program_salt, write_sealed
from combe.publishing.page_language import catalogues_hash, current_language

_LIST: Final = "written.sealed"
_LIBRARIES: Final = ("folium", "branca", "jinja2", "django-js-lib-leaflet", "matplotlib")


class WrittenBefore:
    """What the last run that used a folder wrote, and what this one does; ``keep`` notes it for the next."""

    def __init__(self, folder: Path | None) -> None:
        """Read the list in a folder, if nobody spoilt it; without a folder nothing is noted."""
        self._list = folder / _LIST if folder else None
        found = open_sealed(self._list) if self._list else None
        self._known = dict(found.about) if found else {}
        self._now: dict[str, str] = {}

    def unless_there(self, path: Path, content: Any, write: Callable[[], None]) -> None:
        """Write a file, unless it is there as it would be written; errors are those of ``write``.

        ``content`` is all that makes the file: dataclasses, tuples, mappings, arrays, numbers, texts, CRS.
        """
        language = current_language().code
        key = content_hash({"made by": _maker(), "language": language, "content": _content(content)})
        known = self._known.get(key)
        # Somebody may have changed the file since, or spoilt it: its bytes are asked, and not its date.
        if known is None or _hash(path) != known:
            write()
            known = _hash(path)
        self._now[key] = known or ""

    def keep(self) -> None:
        """Note what was written; where that cannot be noted, all is written again next time."""
        if self._list is None:
            return
        with contextlib.suppress(OutputError):
            write_sealed(self._list, {}, self._now)


@cache
def _maker() -> str:
    """Return the hash of the program, its page files and the libraries that draw and pack."""
    parts = hashlib.sha256()
    for part in sorted((files("combe.publishing") / "page").iterdir(), key=lambda each: each.name):
        if part.is_file():
            parts.update(part.name.encode() + b"\0" + part.read_bytes() + b"\0")
    parts.update(catalogues_hash().encode())
    return content_hash(
        {
            # A newer version of any of these may write other bytes for the same content.
            "program": program_salt(None),
            "parts": parts.hexdigest(),
            "libraries": {name: version(name) for name in _LIBRARIES},
            "gdal": rasterio.__gdal_version__,
            "zlib": zlib.ZLIB_RUNTIME_VERSION,
        }
    )


def _hash(path: Path) -> str | None:
    """Return the SHA-256 of a file; None where it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None


def _content(value: Any) -> Any:
    """Return content in what JSON holds: arrays by their hashes, numbers to the last digit."""
    if isinstance(value, np.ndarray):
        return array_hash(value)
    if isinstance(value, pyproj.CRS):
        return value.to_wkt()
    if is_dataclass(value):
        return {field.name: _content(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {str(name): _content(each) for name, each in value.items()}
    if isinstance(value, tuple | list):
        return [_content(each) for each in value]
    return value.item() if isinstance(value, np.generic) else value
