"""Tells whoever asks that kernels are being compiled; it loads nothing, so one may ask before numba does."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

Told = Callable[[float], None]
"""Called with the seconds [s] that went into compiling since the last call, from whatever thread compiles."""

_ASKED: list[Told] = []


@contextmanager
def told_of_compiling(told: Told) -> Iterator[None]:
    """Have a function called, while the block runs, when kernels are compiled; never for kept machine code.

    It is called at least at the beginning and the end of each kernel, also of those that a kernel calls.
    """
    _ASKED.append(told)
    try:
        yield
    finally:
        _ASKED.remove(told)


def tell(seconds: float) -> None:
    """Tell all who asked that so much more time went into compiling [s]."""
    for told in tuple(_ASKED):
        told(seconds)
