"""Doors of rooms: what other rooms may use of one, each name loaded from its file when it is first asked for.

The ``__init__`` of a room lists its names once, as imports that type checkers alone carry out; for the
running program :func:`door` reads the same list. So importing a room costs nothing, and whoever needs one of
its files does not load the others.
"""

from __future__ import annotations

import importlib
import re
import sys
from collections.abc import Callable
from typing import Any, Final

_LISTED: Final = re.compile(r"^    from (combe\.[\w.]+) import (?:\(([^)]*)\)|([^(\n]+))$", re.MULTILINE)


def names_behind(source: str) -> dict[str, str]:
    """Return the names that the source of an ``__init__`` lists, each with the module that defines it."""
    return {
        name.strip(): module
        for module, many, few in _LISTED.findall(source)
        for name in (many or few).split(",")
        if name.strip()
    }


def door(room: str) -> tuple[Callable[[str], Any], Callable[[], list[str]]]:
    """Return ``__getattr__`` and ``__dir__`` of a room, by the list in its ``__init__``."""
    package: Any = sys.modules[room]
    where = names_behind(package.__spec__.loader.get_source(room))

    def load(name: str) -> Any:
        if name not in where:
            raise AttributeError(f"module {room!r} has no attribute {name!r}")
        found = getattr(importlib.import_module(where[name]), name)
        # Kept in the package, so that Python asks here once for each name.
        setattr(package, name, found)
        return found

    def names() -> list[str]:
        return sorted({*vars(package), *where})

    return load, names
