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

from combe.doors import names_behind
from combe.version import __version__

_PACKAGE: Final = Path(__file__).parent
_KERNEL: Final = re.compile(rb"@(?:kernel|kernel_part|inner_kernel)\ndef ")
_IMPORT: Final = re.compile(r"^from combe\.([\w.]+) import (?:\(([^)]*)\)|(.+))", re.MULTILINE)


def kernel_sources(package: Path = _PACKAGE) -> list[Path]:
    """Return all sources with kernels, and all of the package that those import from, sorted.

    Kernels take constants and tuples from modules without kernels too, and machine code holds their values.
    What comes through the door of a room is followed to the file that defines it.
    """
    waiting = [path for path in package.rglob("*.py") if _KERNEL.search(path.read_bytes())]
    found: set[Path] = set()
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found.add(path)
        for module, many, few in _IMPORT.findall(path.read_text("utf-8")):
            names = {name.split(" as ")[0].strip() for name in (many or few).split(",")}
            waiting += _files_of(package, module, names)
    return sorted(found)


def _files_of(package: Path, module: str, names: set[str]) -> list[Path]:
    """Return the files that an import of names from a module of the package reads."""
    place = package.joinpath(*module.split("."))
    room = place / "__init__.py"
    if not room.is_file():
        return [place.with_suffix(".py")] if place.with_suffix(".py").is_file() else []
    behind = names_behind(room.read_text("utf-8"))
    modules = {behind[name].removeprefix("combe.") for name in names if name in behind}
    files = [package.joinpath(*each.split(".")).with_suffix(".py") for each in sorted(modules)]
    return [room, *(file for file in files if file.is_file())]


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
