"""Combe plans, verifies and reviews low-power television relays.

Everything is asked of a :class:`Project`, which a study file or plain Python makes; an answer is said by a
report. Names are loaded when they are first used.

>>> import combe
>>> valley = combe.demo()
>>> relay = combe.feed(valley).relays[0]
>>> print(relay.parent.name, relay.verdict)
Tarnbeacon passes
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from combe.version import __version__

if TYPE_CHECKING:
    from combe.library import (
        Conditions,
        Feed,
        FeedAerial,
        FeedStage,
        GridWish,
        Interference,
        Output,
        Pattern,
        PeopleInMemory,
        PeoplePoints,
        Project,
        Report,
        Service,
        Siting,
        SitingService,
        Station,
        channels,
        check,
        cover,
        demo,
        explain,
        feed,
        load,
        open_terrain,
        path,
        report,
        site,
        television_system,
        terrain_of_heights,
        visit,
    )

__all__ = [
    "Conditions",
    "Feed",
    "FeedAerial",
    "FeedStage",
    "GridWish",
    "Interference",
    "Output",
    "Pattern",
    "PeopleInMemory",
    "PeoplePoints",
    "Project",
    "Report",
    "Service",
    "Siting",
    "SitingService",
    "Station",
    "__version__",
    "channels",
    "check",
    "cover",
    "demo",
    "explain",
    "feed",
    "load",
    "open_terrain",
    "path",
    "report",
    "site",
    "television_system",
    "terrain_of_heights",
    "visit",
]


def __getattr__(name: str) -> Any:
    """Load a name of the front door on its first use, so that importing the package costs nothing."""
    if name not in __all__:
        raise AttributeError(f"module 'combe' has no attribute {name!r}")
    found = getattr(importlib.import_module("combe.library"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
