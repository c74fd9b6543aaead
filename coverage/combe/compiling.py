"""Compiles the numeric kernels with numba and keeps their machine code in a cache that cannot go stale."""

from __future__ import annotations

import gc
import hashlib
import importlib.util
import pickle
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cache, update_wrapper
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
    return cast(Function, _compile(function, _Kernel))


def kernel_part(function: Function) -> Function:
    """Let kernels call a function that stays plain Python where Python calls it.

    For what only kernels need. Nothing is compiled that Python would call it by, which for a function of many
    arrays costs more than the function.
    """
    return _part_of_kernels(function, inside_callers=False)


def inner_kernel(function: Function) -> Function:
    """Do as :func:`kernel_part`, and compile it into each kernel that calls it: for small parts of hot loops.

    A call between kernels passes every array as seven words; in the sweep that costs as much as the work.
    """
    return _part_of_kernels(function, inside_callers=True)


def also_in_kernels(function: Function) -> Function:
    """Let kernels call a function that Python calls far more often, and kept for no other kernel.

    For a model that is asked path by path, and would take longer to compile than to answer, but whose
    equations a kernel needs too: they stand once, and only the kernel has them compiled, into itself.
    """
    options = {"error_model": "numpy", "pipeline_class": _Part, **_FOR_KERNELS_ALONE}
    return cast(Function, numba.extending.register_jitable(**options)(function))


_Compiler: Any = numba.core.compiler.Compiler


class _Kernel(_Compiler):  # type: ignore[misc]
    """Compiles a kernel, optimised as far as it can be."""

    level: Any = numba.config.OPT

    def compile_extra(self, function: Callable[..., Any]) -> Any:
        """Compile at the level, while nobody tidies the memory."""
        with _optimised(self.level), _untidied():
            return super().compile_extra(function)


class _Part(_Kernel):
    """Compiles what only kernels call, hardly optimised: each of them does so with the parts in it."""

    level: Any = type(numba.config.OPT)(min(1, numba.config.OPT))


@contextmanager
def _optimised(level: Any) -> Iterator[None]:
    """Set the level of optimisation; a kernel and its parts, compiled within, set their own."""
    before = numba.config.OPT
    numba.config.OPT = level
    try:
        yield
    finally:
        numba.config.OPT = before


@contextmanager
def _untidied() -> Iterator[None]:
    """Let the collector of garbage rest: compiling makes a million objects, and few go before its end."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


_FOR_KERNELS_ALONE: Final = {"no_cfunc_wrapper": True, "no_cpython_wrapper": True}


class _PartOfKernels:
    """A function that is compiled where a kernel calls it, and plain Python where Python does."""

    def __init__(self, function: Callable[..., Any], compiled: Any) -> None:
        update_wrapper(self, function)
        self._call, self._compiled = function, compiled

    def __call__(self, *arguments: Any) -> Any:
        """Call the plain function: the compiled one has nothing that Python could call."""
        return self._call(*arguments)

    @property
    def _numba_type_(self) -> Any:
        return numba.types.Dispatcher(self._compiled)


def _part_of_kernels(function: Function, *, inside_callers: bool) -> Function:
    compiled = _compile(function, _Part, forceinline=inside_callers, **_FOR_KERNELS_ALONE)
    return cast(Function, _PartOfKernels(function, compiled))


def _compile(function: Callable[..., Any], compiler: type, **options: bool) -> Any:
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
            pipeline_class=compiler,
            **{"no_cfunc_wrapper": True, **options},
        )(function)
    finally:
        numba.config.CACHE_DIR = before
    if folder is not None:
        compiled._cache._cache_file = _SignatureFiles(folder, function)
    return compiled
