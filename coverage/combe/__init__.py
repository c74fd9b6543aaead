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
from typing import TYPE_CHECKING, Any, Final

from combe.version import __version__

if TYPE_CHECKING:
    from combe.library import (
        Report,
        channels,
        check,
        cover,
        demo,
        explain,
        feed,
        load,
        path,
        report,
        site,
        visit,
    )
    from combe.prediction.conditions import Conditions
    from combe.project import (
        Feed,
        FeedAerial,
        FeedStage,
        GridWish,
        Interference,
        Output,
        PeopleInMemory,
        Project,
        Siting,
        SitingService,
    )
    from combe.standards.systems import television_system
    from combe.stations.pattern import Pattern
    from combe.stations.transmitter import Service, Station
    from combe.terrain.people_points import PeoplePoints
    from combe.terrain.tiles import open_terrain, terrain_of_heights

_ROOMS: Final = {
    "combe.library": ("Report channels check cover demo explain feed load path report site visit"),
    "combe.prediction.conditions": "Conditions",
    "combe.project": (
        "Feed FeedAerial FeedStage GridWish Interference Output PeopleInMemory Project Siting SitingService"
    ),
    "combe.standards.systems": "television_system",
    "combe.stations.pattern": "Pattern",
    "combe.stations.transmitter": "Service Station",
    "combe.terrain.people_points": "PeoplePoints",
    "combe.terrain.tiles": "open_terrain terrain_of_heights",
}
_WHERE: Final = {name: room for room, names in _ROOMS.items() for name in names.split()}

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
    if name not in _WHERE:
        raise AttributeError(f"module 'combe' has no attribute {name!r}")
    found = getattr(importlib.import_module(_WHERE[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted([*globals(), *_WHERE])
