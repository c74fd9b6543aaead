"""Notes and faults of a study with several television systems: feeds of another, pairs without a ratio."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from combe.answers.emissions import protection_of
from combe.answers.receiving import not_received
from combe.errors import RangeError
from combe.project import Project
from combe.standards import mode_words
from combe.words import tell

_MOST_TOLD = 5


def system_notes(project: Project) -> Iterator[str]:
    """Tell which relays radiate a service as another system, or in another mode, than their parent."""
    for relay, feed in project.fed:
        parent = project.station(feed.parent)
        sent = {service.name: service for service in parent.services}
        for service in relay.services:
            received = sent[service.name]
            otherwise = not_received(project, parent, service, received)
            modes = [mode_words(project.television_of(each)) for each in (service, received)]
            if otherwise:
                yield tell(
                    "the feed of {name} is not judged for {name_2}: {otherwise}",
                    name=relay.name,
                    name_2=service.name,
                    otherwise=otherwise[0],
                )
            elif modes[0] != modes[1]:
                yield (
                    tell(
                        "{name} radiates {name_2} as {modes}, and {name_3} sends it as "
                        "{modes_2}: only a relay that decodes can do that; its feed is judged by the latter",
                        name=relay.name,
                        name_2=service.name,
                        modes=modes[0],
                        name_3=parent.name,
                        modes_2=modes[1],
                    )
                )


def pair_faults(project: Project) -> list[str]:
    """Return which services of two stations may disturb one another by a ratio that no table has."""
    if len({system.signal for system in project.systems}) < 2 or not project.interference.counted:
        return []
    found: dict[str, None] = {}
    for one, other in permutations(project.stations, 2):
        for wanted in one.services:
            for unwanted in other.services:
                try:
                    protection_of(project, wanted, unwanted)
                except RangeError as error:
                    found[f"stations: {one.name} beside {other.name}: {error}"] = None
    more = (
        [tell("stations: {found} more such pairs", found=len(found) - _MOST_TOLD)]
        if len(found) > _MOST_TOLD
        else []
    )
    return [*list(found)[:_MOST_TOLD], *more]
