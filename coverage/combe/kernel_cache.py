"""Where the machine code of kernels is kept between runs, so that it can be neither stale nor mixed up."""

from __future__ import annotations

import hashlib
import os
import re
import sys
from functools import cache
from pathlib import Path
from typing import Final

import platformdirs

from combe.version import __version__

_PACKAGE: Final = Path(__file__).parent
_KERNEL: Final = re.compile(rb"kernel\ndef ")
_IMPORT: Final = re.compile(rb"^from combe\.([\w.]+) import", re.MULTILINE)


def kernel_sources(package: Path = _PACKAGE) -> list[Path]:
    """Return all sources with kernels, and all of the package that those import from, sorted.

    Kernels take constants and tuples from modules without kernels too, and machine code holds their values.
    """
    waiting = [path for path in package.rglob("*.py") if _KERNEL.search(path.read_bytes())]
    found: set[Path] = set()
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found.add(path)
        for name in _IMPORT.findall(path.read_bytes()):
            place = package.joinpath(*name.decode().split("."))
            waiting += [each for each in (place.with_suffix(".py"), place / "__init__.py") if each.is_file()]
    return sorted(found)


@cache
def _source_salt(numba_version: str) -> str:
    """Hash version, Python, numba and the sources of kernels, so that no stale machine code is used."""
    digest = hashlib.sha256(f"{__version__} {sys.version} {numba_version}".encode())
    for path in kernel_sources():
        digest.update(path.relative_to(_PACKAGE).as_posix().encode() + path.read_bytes())
    return digest.hexdigest()[:16]


def cache_folder(numba_version: str) -> Path | None:
    """Return the folder for compiled kernels, or None where no such folder can be written."""
    base = os.environ.get("NUMBA_CACHE_DIR") or platformdirs.user_cache_dir("combe", appauthor=False)
    folder = Path(base) / "kernels" / _source_salt(numba_version)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None
