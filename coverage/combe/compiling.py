"""Compiles the numeric kernels with numba and keeps their machine code in a cache that cannot go stale."""

from __future__ import annotations

import hashlib
import importlib.util
import pickle
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any, Final, TypeVar, cast

from combe.compile_watch import tell
from combe.errors import OutputError
from combe.files import replacing
from combe.kernel_cache import cache_folder

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
_FOLDER: Final = cache_folder(numba.__version__)


_Listener: Any = numba.core.event.Listener


class _Stopwatch(_Listener):  # type: ignore[misc]
    """Tells what time goes into compiling; numba does one kernel at a time, and those it calls inside."""

    def __init__(self) -> None:
        self._depth, self._last_s = 0, 0.0

    def on_start(self, event: object) -> None:
        """Take note that a kernel is begun."""
        del event
        self._step(1)

    def on_end(self, event: object) -> None:
        """Take note that a kernel is done."""
        del event
        self._step(-1)

    def _step(self, change: int) -> None:
        now_s = time.monotonic()
        spent_s = now_s - self._last_s if self._depth else 0.0
        self._depth, self._last_s = self._depth + change, now_s
        tell(spent_s)


numba.core.event.register("numba:compile", _Stopwatch())


@cache
def _digest_of(source: str) -> str:
    """Hash the file of a function: kernels of other packages are in no salt, and may change too."""
    with suppress(OSError):
        return hashlib.sha256(Path(source).read_bytes()).hexdigest()
    return ""


class _SignatureFiles:
    """Keeps the machine code of a function: one file for each signature, named by the signature.

    Stands in for numba's own keeper, which numbers the files and keeps the numbers in an index. Two processes
    that compile one function for two signatures at once may then give both the same number, and a later run
    would call the code of the wrong one without a word. Here names cannot meet, and a file tells what it is
    for. What cannot be written is not kept, and compiled again.
    """

    def __init__(self, folder: Path, function: Callable[..., Any]) -> None:
        self._folder = folder
        self._stem = f"{function.__module__}.{function.__qualname__}".replace("<locals>", "local")
        self._source = function.__code__.co_filename

    def _path(self, key: object) -> Path:
        made_of = f"{_digest_of(self._source)} {key!r}".encode()
        return self._folder / f"{self._stem}.{hashlib.sha256(made_of).hexdigest()[:16]}.nbc"

    def load(self, key: object) -> Any:
        """Return what was kept for a signature, None where nothing was that can be read."""
        try:
            kept_for, code = pickle.loads(self._path(key).read_bytes())
        except Exception:  # a damaged pickle can raise anything, and is compiled anew
            return None
        return code if kept_for == key else None

    def save(self, key: object, code: object) -> None:
        """Keep the machine code for a signature, whole or not at all."""
        with suppress(OutputError), replacing(self._path(key)) as beside:
            beside.write_bytes(numba.core.serialize.dumps((key, code)))


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


def also_in_kernels(function: Function) -> Function:
    """Let kernels call a function that stays plain Python where Python calls it.

    For a model that is asked path by path, and would take longer to compile than to answer, but whose
    equations a kernel needs too: they stand once, and only the kernel has them compiled, into itself.
    """
    return cast(
        Function,
        numba.extending.register_jitable(error_model="numpy", no_cfunc_wrapper=True, no_cpython_wrapper=True)(
            function
        ),
    )


def _compile(function: Function, *, inside_callers: bool) -> Function:
    """Compile with our cache folder; numba's own setting is put back for other users in the process."""
    folder = _FOLDER
    before = numba.config.CACHE_DIR
    if folder is not None:
        numba.config.CACHE_DIR = str(folder)
    try:
        compiled: Any = numba.njit(
            nogil=True,
            error_model="numpy",
            cache=folder is not None,
            forceinline=inside_callers,
            no_cfunc_wrapper=True,
        )(function)
    finally:
        numba.config.CACHE_DIR = before
    if folder is not None:
        compiled._cache._cache_file = _SignatureFiles(folder, function)
    return cast(Function, compiled)
