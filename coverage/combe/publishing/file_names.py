"""Makes names of files from names of stations and services, in whatever script these are."""

from __future__ import annotations

import sys
import unicodedata
from collections.abc import Sequence
from typing import Final

_MOST_SIGNS: Final = 80
_MOST_BYTES: Final = 120
"""With what stands before and behind a stem, a name stays under the 255 bytes that file systems take."""

_KEPT: Final = ("L", "M", "N")
"""General categories of Unicode: letters, marks on letters, numbers."""

_RESERVED: Final = {"con", "prn", "aux", "nul"} | {f"{port}{n}" for port in ("com", "lpt") for n in range(10)}
"""Names that Windows keeps for devices, whatever the ending."""


def file_stems(names: Sequence[Sequence[str]]) -> list[str]:
    """Return one file name stem for each row of names, no two alike, safe on any file system.

    Letters and numbers of any script stay, small ones where the script has such; all else becomes ``-``.
    Names that a file system without capitals, or with another form of the same letter, would take for one
    another have the same stem, and are told apart by a number.

    >>> file_stems([["Lärche", "Mux 1"], ["LÄRCHE", "Mux 1"], ["谷", "一"]])
    ['lärche_mux-1', 'lärche_mux-1~2', '谷_一']
    """
    stems: list[str] = []
    for row in names:
        stem = _shortened("_".join(_safe(name) for name in row))
        stem = f"x-{stem}" if stem in _RESERVED else stem
        count = sum(other == stem or other.startswith(f"{stem}~") for other in stems)
        stems.append(f"{stem}~{count + 1}" if count else stem)
    return stems


def _safe(name: str) -> str:
    """Return a name in letters, numbers and ``-`` alone; ``x`` where nothing is left of it."""
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    known = folded.encode(sys.getfilesystemencoding(), "replace").decode(sys.getfilesystemencoding())
    signs = [_sign(sign) for sign in known if unicodedata.category(sign) != "Cf"]
    return "-".join("".join(signs).split()) or "x"


def _sign(sign: str) -> str:
    """Return a sign that may stand in a file name, and a space for any other."""
    return sign if unicodedata.category(sign)[0] in _KEPT else " "


def _shortened(stem: str) -> str:
    """Return as much of a stem as file systems take."""
    return stem[:_MOST_SIGNS].encode()[:_MOST_BYTES].decode(errors="ignore")
