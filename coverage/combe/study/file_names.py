"""Where a study names files, and how they are called from another folder."""

from __future__ import annotations

import copy
import os
from collections.abc import Callable, Iterator
from pathlib import Path, PurePath
from typing import Any, Final

from combe.study.crosscheck import Table
from combe.study.section import OMNI

_EACH: Final = "*"
_KEYS: Final = (
    "terrain.tiles.*",
    "terrain.beyond.*.tiles.*",
    "clutter.raster",
    "clutter.heights",
    "zones.raster",
    "zones.sea.*",
    "zones.lakes",
    "air.climate_maps",
    "people.raster",
    "people.points",
    "people.districts",
    "survey.points",
    "network.stations",
    "siting.patterns.*",
    "siting.vertical_pattern",
    "siting.inside",
    "siting.outside",
    "siting.border",
    "siting.access",
    "coordination.points",
    "map.context.*.path",
    "stations.*.horizontal_pattern",
    "stations.*.vertical_pattern",
    "stations.*.feed.aerial.pattern",
)
"""Every key that names a file, or a folder; the star stands for each entry of a list."""


def with_names(table: Table, called: Callable[[str], str]) -> dict[str, Any]:
    """Return a study's table with each file called otherwise; the table itself stays as it is."""
    copied = copy.deepcopy(dict(table))
    for key in _KEYS:
        for holder, step in _holders(copied, key.split(".")):
            name = holder[step]
            if isinstance(name, str) and name and name != OMNI:
                holder[step] = called(name)
    return copied


def called_from(name: str, folder: Path, other: Path) -> str:
    """Return what a file that is named from one folder is called from another; the same file, in any case."""
    if PurePath(name).is_absolute() or os.path.realpath(folder) == os.path.realpath(other):
        return name
    # Steps up count from where a folder really lies; the file's own link, if it is one, stays in its name.
    file = folder / name
    there = Path(os.path.realpath(file.parent)) / file.name
    try:
        return PurePath(os.path.relpath(there, os.path.realpath(other))).as_posix()
    except ValueError:
        # Windows: no steps lead to another drive.
        return str(there)


def _holders(value: Any, steps: list[str]) -> Iterator[tuple[Any, Any]]:
    """Yield each list or table that holds what the steps lead to, with its index or key there."""
    first, *rest = steps
    if first == _EACH:
        keys: list[Any] = list(range(len(value))) if isinstance(value, list) else []
    else:
        keys = [first] if isinstance(value, dict) and first in value else []
    for key in keys:
        if rest:
            yield from _holders(value[key], rest)
        else:
            yield value, key
