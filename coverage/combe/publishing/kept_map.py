"""Map pages that are kept: one of the same content, drawn by the same program, is the same to the byte.

To draw a page costs as much as half of a coverage that was found in the cache. So the page is kept under the
hash of everything that makes it: all that it shows, the sources and page files of the package, and the
versions of the libraries that draw and pack. Whatever changes one of these draws the page anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import zlib
from dataclasses import fields, is_dataclass
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pyproj

from combe.errors import OutputError
from combe.prediction.field_store import array_hash, content_hash, program_salt
from combe.prediction.sealed_file import open_sealed, read_part, write_sealed

if TYPE_CHECKING:
    from combe.publishing.content import MapPage

_NAME: Final = "map.sealed"
_LIBRARIES: Final = ("folium", "branca", "jinja2", "django-js-lib-leaflet", "matplotlib")


def render_kept_map(page: MapPage, folder: Path) -> str:
    """Return what :func:`combe.publishing.map_page.render_map` does, from a folder if it is kept there.

    Raises
    ------
    PageError
        The page would hold a link that cannot be put inside it.
    """
    key = _key(page)
    kept = open_sealed(folder / _NAME)
    if kept is not None and kept.about == {"key": key}:
        return read_part(kept, "page").tobytes().decode("utf-8")
    from combe.publishing.map_page import render_map

    text = render_map(page)
    # What cannot be kept is drawn again.
    with contextlib.suppress(OutputError):
        write_sealed(folder / _NAME, {"page": np.frombuffer(text.encode("utf-8"), np.uint8)}, {"key": key})
    return text


def _key(page: MapPage) -> str:
    parts = hashlib.sha256()
    for part in sorted((files("combe.publishing") / "page").iterdir(), key=lambda each: each.name):
        if part.is_file():
            parts.update(part.name.encode() + b"\0" + part.read_bytes() + b"\0")
    return content_hash(
        {
            "program": program_salt(None),
            "parts": parts.hexdigest(),
            "libraries": {name: version(name) for name in _LIBRARIES},
            "zlib": zlib.ZLIB_RUNTIME_VERSION,
            "page": _content(page),
        }
    )


def _content(value: Any) -> Any:
    """Return all of a page's content in what JSON holds: arrays by hashes, numbers to the last digit."""
    if isinstance(value, np.ndarray):
        return array_hash(value)
    if isinstance(value, pyproj.CRS):
        return value.to_wkt()
    if is_dataclass(value):
        return {field.name: _content(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple | list):
        return [_content(each) for each in value]
    return value.item() if isinstance(value, np.generic) else value
