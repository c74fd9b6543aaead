"""Maps of classes of ground: what changes, who serves best, how many serve, what relays take from others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport, ServiceCoverage
from combe.answers.cover_run import harm_found
from combe.answers.export_tables import SERVED_CLASSES, served_codes
from combe.answers.filled_ground import FilledGround
from combe.answers.network import Network
from combe.planning import Census, Mask, flags_of
from combe.reception import FALLS, SERVED_OTHERWISE, UNKNOWN_CHANGES, Field, predicted_mask, served_mask
from combe.words import joined, tell, tell_number

Codes = npt.NDArray[np.unsignedinteger[Any]]


@dataclass(frozen=True)
class ClassMap:
    """A map of codes: ``classes`` has the words of each, ``kind`` tells maps of one sort together.

    ``read`` works the codes out anew each time, shape (rows, columns), row 0 north.
    """

    kind: str
    of: str
    title: str
    classes: Mapping[int, str]
    read: Callable[[], Codes] = field(repr=False, compare=False)


def served_map(network: Network) -> ClassMap:
    """Return where a network serves, did before, and does no more."""
    title = tell("served before and now, {name}, with interference", name=network.name)
    return ClassMap(
        "served", network.name, title, dict(enumerate(SERVED_CLASSES)), lambda: served_codes(network)
    )


def best_map(cover: CoverReport, network: Network) -> ClassMap:
    """Return who serves a service best: stations by their number in the study, from 1."""
    stations = cover.project.stations
    nobody = nobody_code(len(stations))
    numbered = {number: station.name for number, station in enumerate(stations, 1)}
    return ClassMap(
        "best",
        network.name,
        tell("station that serves {name} best", name=network.name),
        {0: "no prediction", **numbered, nobody: "served by no station"},
        lambda: _best_codes(cover, network, nobody),
    )


def nobody_code(stations: int) -> int:
    """Return the code of cells that no station serves: the highest, which numbers of stations leave free."""
    return 255 if stations < 255 else 65535


def _best_codes(cover: CoverReport, network: Network, nobody: int) -> Codes:
    now_db = network.margin_db
    codes: Codes = np.zeros(now_db.shape, dtype=np.uint8 if nobody == 255 else np.uint16)
    codes[predicted_mask(now_db)] = nobody
    highest_db, own_db = np.full((2, *now_db.shape), -np.inf)
    for number, each in _transmissions(cover, network.name):
        margin_db, noise_db = (np.nan_to_num(one, nan=-np.inf) for one in _levels(each))
        # Members of one network share what they give together; then the strongest of them is the best.
        better = (margin_db > highest_db) | ((margin_db == highest_db) & (noise_db > own_db))
        codes[better & each.served & served_mask(now_db, 0.0)] = number
        highest_db, own_db = np.where(better, margin_db, highest_db), np.where(better, noise_db, own_db)
    return codes


def _levels(transmission: ServiceCoverage) -> tuple[Field, Field]:
    noise_db = transmission.margin_db
    # Where nothing may disturb it both are the same, and it need not be judged again.
    return (transmission.judged_margin_db if transmission.disturbed else noise_db), noise_db


def _transmissions(cover: CoverReport, service: str) -> Iterator[tuple[int, ServiceCoverage]]:
    """Yield who radiates a service, with the number of its station."""
    for number, covered in enumerate(cover.stations, 1):
        yield from ((number, each) for each in covered.services if each.service == service)


_MANY: Final = 4
"""Stations from which on no more are told apart."""


def overlap_map(network: Network) -> ClassMap:
    """Return how many stations serve: of all services, those that serve the one that fewest do."""
    some = {
        1 + number: tell_number(number, "{count} station", "{count} stations") for number in range(1, _MANY)
    }
    classes = {
        0: "no prediction",
        1: "no station",
        **some,
        1 + _MANY: tell("{many} stations or more", many=_MANY),
    }

    def read() -> Codes:
        codes = 1 + np.minimum(network.serving, _MANY).astype(np.uint8)
        codes[~predicted_mask(network.margin_db)] = 0
        return codes

    return ClassMap(
        "overlap", network.name, tell("stations that serve {name}", name=network.name), classes, read
    )


HARM_CLASSES: Final = {
    0: "no prediction",
    1: "nothing is taken",
    2: "a service taken, and had from another station",
    3: "a service taken, and had from no other",
    4: "not known",
}


def harm_map(cover: CoverReport, relays: Iterable[str]) -> ClassMap:
    """Return where relays take a service of another station below the standard, by their names.

    The worst of all services and stations counts; not known is where some interferer has no prediction.
    """
    names = tuple(relays)
    title = tell("services that are taken from other stations by {names}", names=joined(", ", names))
    return ClassMap("harm", joined(", ", names), title, HARM_CLASSES, lambda: _harm_codes(cover, names))


def _harm_codes(cover: CoverReport, relays: tuple[str, ...]) -> Codes:
    predicted = predicted_mask(cover.all_services.margin_db)
    codes = predicted.astype(np.uint8)
    entries, doubtful = harm_found(cover.run)
    for number, pair in enumerate(cover.run.roles.pairs):
        if pair.relay not in relays:
            continue
        own = entries[entries[:, 0] == number]
        unknown = flags_of(doubtful, pair.victim) ^ _cells(own, UNKNOWN_CHANGES, codes.shape)
        falls, again = (_cells(own, bit, codes.shape) for bit in (FALLS, SERVED_OTHERWISE))
        codes[unknown & (codes <= 1)] = 4
        codes[falls & again & (codes != 3)] = 2
        codes[falls & ~again] = 3
    return codes


def _cells(entries: npt.NDArray[Any], bit: int, shape: tuple[int, ...]) -> Mask:
    """Return the cells of entries with a bit."""
    found: Mask = np.zeros(shape, dtype=np.bool_)
    found.ravel()[entries[(entries[:, 2] & bit) > 0, 1]] = True
    return found


def people_by_class(census: Census | None, codes: Codes) -> dict[int, float] | None:
    """Return how many people live on the cells of each code; None where nobody is counted."""
    if census is None:
        return None
    people = np.bincount(codes.ravel(), census.on_cells.ravel())
    return {code: float(each) for code, each in enumerate(people)}


FILLED_CLASSES: Final = {0: "no prediction", 1: "measured ground all the way", 2: "filled ground on the way"}


def filled_map(filled: FilledGround, network: Network) -> ClassMap:
    """Return where the path from any station crosses ground that was filled in."""
    title = "paths from any station across ground that was filled in and not measured"

    def read() -> Codes:
        codes = predicted_mask(network.margin_db).astype(np.uint8)
        codes[filled.any_station.where] = 2
        return codes

    return ClassMap("filled", network.name, title, FILLED_CLASSES, read)
