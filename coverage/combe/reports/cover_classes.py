"""The layers of a coverage's map that tell classes of ground: what changes, who serves, what relays take.

They hold the classes of the rasters of an export, at the planning minimum.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

import numpy as np

from combe.answers.class_maps import (
    ClassMap,
    Codes,
    best_map,
    filled_map,
    harm_map,
    overlap_map,
    people_by_class,
    served_map,
)
from combe.answers.cover import CoverReport
from combe.answers.network import Network
from combe.digits import spoken
from combe.publishing.area_colours import area_looks
from combe.publishing.colours import AREA_COLOURS, MARK_COLOURS, NEWLY_SERVED, class_colours
from combe.publishing.content import MapClass, MapLayer
from combe.words import Name, chain, joined, tell

_GROUP: Final = "By class, at the planning minimum"
MOST_SERVICES: Final = 6
"""Services whose classes a page holds by themselves."""

MOST_JUDGED: Final = 10_000_000
"""Cells judged once more at most to tell who serves best: those of each service that may be disturbed."""

_Look = tuple[str, str]
_SERVED_PATTERNS: Final = {
    "served before": "plain",
    "newly served": "rising",
    "lost": "crossed",
    "unserved": "bare",
    "served, before not known": "dotted",
}
_SAID: Final = {"served before": "served, as before"}
"""What the page calls a class of rasters: of people served before, some may be lost."""

_NOBODY: Final[_Look] = (AREA_COLOURS["unserved"], "bare")
_TAKEN: Final[Mapping[int, _Look]] = {
    1: _NOBODY,
    2: (NEWLY_SERVED, "rising"),
    3: (AREA_COLOURS["lost"], "crossed"),
    4: (MARK_COLOURS["no prediction"], "dotted"),
}

_FILLED: Final[Mapping[int, _Look]] = {1: _NOBODY, 2: (MARK_COLOURS["no prediction"], "dotted")}


def class_layers(report: CoverReport) -> Iterator[MapLayer]:
    """Yield the layers of classes."""
    networks = _networks(report)
    for number, network in enumerate(networks):
        yield _layer(
            report,
            f"served-{number}",
            tell("{service}: what changes", service=network.name),
            served_map(network),
        )
    if judged_cells(report) <= MOST_JUDGED:
        for number, network in enumerate(report.services[:MOST_SERVICES]):
            title = tell("{service}: best station", service=network.name)
            yield _layer(report, f"best-{number}", title, best_map(report, network))
    for number, network in enumerate(networks):
        title = tell("{service}: how many stations serve", service=network.name)
        yield _layer(report, f"overlap-{number}", title, overlap_map(network))
    yield from _harm_layers(report)
    if report.filled is not None:
        found = filled_map(report.filled, report.all_services)
        yield _layer(report, "filled", "Paths across filled ground", found)


def _networks(report: CoverReport) -> tuple[Network, ...]:
    """Return all services, and each where there are several, but not too many."""
    services = report.services if 1 < len(report.services) <= MOST_SERVICES else ()
    return (report.all_services, *services)


def judged_cells(report: CoverReport) -> int:
    """Return how many cells are judged once more to tell who serves best."""
    disturbed = sum(each.disturbed for covered in report.stations for each in covered.services)
    return disturbed * report.grid.rows * report.grid.columns


def classes_left_out(report: CoverReport) -> str:
    """Return what the page says of classes that it does not hold; nothing where it holds all."""
    told = []
    if judged_cells(report) > MOST_JUDGED:
        told.append("the best station of each cell")
    if len(report.services) > MOST_SERVICES:
        told.append("the classes of each service")
    words = "This page leaves out {classes}; combe export writes them."
    return tell(words, classes=joined(" and ", told)) if told else ""


def _harm_layers(report: CoverReport) -> Iterator[MapLayer]:
    """Yield what all relays take from others, and each where several do; none where nothing is taken."""
    relays = [each.relay for each in report.harm if each.cells or (each.not_known or 0.0) >= 0.5]
    relays = list(dict.fromkeys(relays))
    if relays:
        yield _layer(report, "harm", "Taken from other stations by relays", harm_map(report, relays))
    if 1 < len(relays) <= MOST_SERVICES:
        for number, relay in enumerate(relays):
            yield _layer(
                report,
                f"harm-{number}",
                tell("Taken by {relay}", relay=Name(relay)),
                harm_map(report, (relay,)),
            )


def _layer(report: CoverReport, key: str, title: str, found: ClassMap) -> MapLayer:
    codes = found.read()
    people, looks = people_by_class(report.census, codes), _looks(found, codes)
    # Codes of nobody may be far from those of stations, and the page counts its classes one by one.
    numbers = {code: number for number, code in enumerate(each for each in found.classes if each != 0)}
    values = np.full(codes.shape, np.nan, dtype=np.float32)
    classes = []
    for code, number in numbers.items():
        cells = codes == code
        if not cells.any():
            continue
        values[cells] = number + 1
        colour, pattern = looks[code]
        there = None if people is None else people.get(code, 0.0)
        classes.append(MapClass(number + 1, _words(found, code), colour, pattern, there))
    return MapLayer(
        key=key,
        title=title,
        station=_GROUP,
        role="relay",
        service=found.of,
        field_dbuv_m=values,
        threshold_dbuv_m=0.0,
        description=found.title,
        shows="classes",
        classes=tuple(classes) or (MapClass(1, "no ground", *_NOBODY),),
    )


def _words(found: ClassMap, code: int) -> str:
    """Return what the page calls a class."""
    words = found.classes[code]
    if found.kind == "served":
        return _SAID.get(words, words)
    # Of who serves best all but the last are stations, which their owner has named.
    return Name(words) if found.kind == "best" and code not in (0, max(found.classes)) else words


def _looks(found: ClassMap, codes: Codes) -> Mapping[int, _Look]:
    """Return colour and pattern of each class, by its code."""
    if found.kind == "harm":
        return _TAKEN
    if found.kind == "filled":
        return _FILLED
    if found.kind == "served":
        return {
            code: (AREA_COLOURS[words], _SERVED_PATTERNS[words])
            for code, words in found.classes.items()
            if words in _SERVED_PATTERNS
        }
    if found.kind == "overlap":
        most = max(found.classes)
        return {1: _NOBODY, **dict(zip(range(2, most + 1), _rising(most - 1), strict=True))}
    *stations, nobody = (code for code in found.classes if code)
    return {**dict(zip(stations, area_looks(codes, len(stations)), strict=True)), nobody: _NOBODY}


def _rising(count: int) -> Iterable[_Look]:
    """Return looks of rising numbers, light to dark."""
    return [(colour, "plain") for colour in class_colours(count=count)]


def harm_words(report: CoverReport) -> str:
    """Return what relays take from the viewers of other stations, in a sentence; nothing if not looked at."""
    if report.interference is None or not report.compared or report.census is None:
        return ""
    relays = [each.relay for each in report.harm if each.cells or (each.not_known or 0.0) >= 0.5]
    people = people_by_class(report.census, harm_map(report, dict.fromkeys(relays)).read()) or {}
    again, without, unknown = (people.get(code, 0.0) for code in (2, 3, 4))
    words = "The relays take no service of another station from anybody"
    if again + without >= 0.5:
        words = tell(
            "The relays take a service of another station from {people} people, {without} of whom are left "
            "without it",
            people=spoken(again + without),
            without=spoken(without),
        )
    if unknown >= 0.5:
        return tell("{words}; of {people} nobody knows.", words=words, people=spoken(unknown))
    return chain(words, ".")
