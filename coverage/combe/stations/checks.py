"""Checks that the fields of a station share: names and choices."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from typing import Final

from combe.errors import RangeError

LONGEST_NAME: Final = 80
LONGEST_SIGNAL_NAME: Final = 200
"""Of a signal, which may be named by station, service and what of it is meant."""


def require_name(field: str, name: object, longest: int = LONGEST_NAME) -> None:
    """Raise :class:`RangeError` unless ``name`` is text on one line of 1 to ``longest`` signs."""
    good = isinstance(name, str) and len(name.strip()) > 0 and len(name) <= longest and name.isprintable()
    if not good:
        shown = repr(name) if len(repr(name)) <= LONGEST_NAME else repr(name)[:LONGEST_NAME] + "..."
        raise RangeError(field, shown, f"1 to {longest} printable characters, not only spaces")


def require_choice(field: str, given: object, choices: Sequence[str]) -> None:
    """Raise :class:`RangeError` unless ``given`` is one of ``choices``."""
    if given not in choices:
        raise RangeError(field, repr(given), " or ".join(choices))


def require_distinct(field: str, values: Iterable[Hashable]) -> None:
    """Raise :class:`RangeError` when a value comes twice."""
    twice = [value for value, count in Counter(values).items() if count > 1]
    if twice:
        raise RangeError(field, f"{twice[0]!r} more than once", "each once only", "rename or remove one")
