"""Compiles the numeric kernels with numba and keeps their machine code in a cache that cannot go stale."""

from __future__ import annotations

import hashlib
import importlib.util
import os
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any, TypeVar

import platformdirs

from combe import __version__

Function = TypeVar("Function", bound=Callable[..., Any])


def _import_numba() -> ModuleType:
    """Import numba past the trap of a folder called ``coverage``.

    numba imports the library ``coverage`` if there is one. When the repository root is on ``sys.path`` and
    that library is absent, Python offers our source folder as an empty namespace package, and numba fails on
    it. A ``None`` in ``sys.modules`` for the moment of the import makes numba see that there is no library.
    """
    found = importlib.util.find_spec("coverage") if "coverage" not in sys.modules else None
    hide = found is not None and found.origin is None
    if hide:
        sys.modules["coverage"] = None  # type: ignore[assignment]
    try:
        import numba
    finally:
        if hide:
            del sys.modules["coverage"]
    return numba


numba = _import_numba()


def _source_salt() -> str:
    """Hash version, Python, numba and each source with kernels, so that no stale machine code is used."""
    digest = hashlib.sha256(f"{__version__} {sys.version} {numba.__version__}".encode())
    root = Path(__file__).parent
    for path in sorted(root.rglob("*.py")):
        source = path.read_bytes()
        if b"kernel\ndef " in source or path.name == "constants.py":
            digest.update(path.relative_to(root).as_posix().encode() + source)
    return digest.hexdigest()[:16]


@cache
def cache_folder() -> Path | None:
    """Return the folder for compiled kernels, or None where no such folder can be written."""
    base = os.environ.get("NUMBA_CACHE_DIR") or platformdirs.user_cache_dir("combe", appauthor=False)
    folder = Path(base) / "kernels" / _source_salt()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None


def kernel(function: Function) -> Function:
    """Compile a pure numeric function: releases the GIL, divides as IEEE does, is cached between runs.

    Used as a decorator. Compilation happens at the first call.
    """
    return _compile(function, inside_callers=False)


def inner_kernel(function: Function) -> Function:
    """Compile as :func:`kernel` does, and into each kernel that calls it: for small parts of hot loops.

    A call between kernels passes every array as seven words; in the sweep that costs as much as the work.
    """
    return _compile(function, inside_callers=True)


def _compile(function: Function, *, inside_callers: bool) -> Function:
    """Compile with our cache folder; numba's own setting is put back for other users in the process."""
    folder = cache_folder()
    before = numba.config.CACHE_DIR
    if folder is not None:
        numba.config.CACHE_DIR = str(folder)
    try:
        compiled: Function = numba.njit(
            nogil=True,
            error_model="numpy",
            cache=folder is not None,
            forceinline=inside_callers,
            no_cfunc_wrapper=True,
        )(function)
    finally:
        numba.config.CACHE_DIR = before
    return compiled
