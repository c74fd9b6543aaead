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

from typing import TYPE_CHECKING

from combe.doors import door
from combe.version import __version__

if TYPE_CHECKING:
    # fmt: off
    from combe.library import (
        Report, brief, channels, check, compare, coordinate, cover, delays, demo, explain, feed, load,
        new_study, path, report, retire, site, visit,
    )
    from combe.prediction import Conditions
    from combe.project import (
        Coordination, Feed, FeedAerial, FeedStage, GridWish, Interference, Output, PeopleInMemory,
        Project, Siting, SitingService,
    )
    from combe.propagation import Climate
    from combe.standards import television_system
    from combe.stations import Pattern, Service, Station
    from combe.terrain import PeoplePoints, StudyGrid, cell_centres_m, open_terrain, terrain_of_heights
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)

__all__ = [
    "Climate",
    "Conditions",
    "Coordination",
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
    "StudyGrid",
    "__version__",
    "brief",
    "cell_centres_m",
    "channels",
    "check",
    "compare",
    "coordinate",
    "cover",
    "delays",
    "demo",
    "explain",
    "feed",
    "load",
    "new_study",
    "open_terrain",
    "path",
    "report",
    "retire",
    "site",
    "television_system",
    "terrain_of_heights",
    "visit",
]
