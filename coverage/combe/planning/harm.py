"""Outgoing harm: who is served by other stations, and falls below the standard because of a relay."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.planning.people_count import Census, Mask, people_where
from combe.planning.tile_judge import flags_of
from combe.reception import FALLS, SERVED_OTHERWISE, UNKNOWN_CHANGES, Entries, HarmPair


@dataclass(frozen=True)
class Harm:
    """What one relay does to one service of one other station.

    Of the cells and the people that the station serves (as the best one) with the relay off the air:
    ``fall_below`` no longer reach the standard from that station once the relay is on. Of these,
    ``served_otherwise`` get the service from some station all the same, the relay perhaps, and
    ``left_without`` do not. ``not_known`` live where the relay or another interferer has no prediction, so
    that nobody can say. People are None in a study without them.
    """

    relay: str
    station: str
    service: str
    channel: int
    cells: int
    fall_below: float | None
    served_otherwise: float | None
    left_without: float | None
    not_known: float | None


class Victim(NamedTuple):
    """An emission, in the words of :class:`Harm`."""

    station: str
    service: str
    channel: int


def count_harm(
    pairs: tuple[HarmPair, ...],
    victims: tuple[Victim, ...],
    entries: Entries,
    doubtful: npt.NDArray[np.uint8],
    census: Census | None,
) -> tuple[Harm, ...]:
    """Count what every relay does to every emission that it may disturb; 0 where it does nothing.

    Parameters
    ----------
    pairs
        Who may be harmed by whom.
    victims
        Every emission, in order.
    entries : int32 array (n, 3)
        What was found, as :func:`combe.reception.harm.harm_entries` tells it, of the whole grid.
    doubtful : uint8 array (bytes, rows, columns)
        Bits of the emissions: where each serves best with all on air, and some interferer is unknown.
    census
        Whom to count.
    """
    known = not doubtful.any()
    by_pair = zip(pairs, _by_pair(entries, len(pairs)), strict=True)
    return tuple(_harm(pair, victims[pair.victim], rows, doubtful, known, census) for pair, rows in by_pair)


def _by_pair(entries: Entries, count: int) -> Iterator[Entries]:
    """Give the entries of each pair in turn."""
    order = np.argsort(entries[:, 0], kind="stable")
    bounds = np.searchsorted(entries[:, 0], np.arange(count + 1), sorter=order)
    for first, end in pairwise(bounds.tolist()):
        yield entries[order[first:end]]


def _harm(
    pair: HarmPair,
    victim: Victim,
    entries: Entries,
    doubtful: npt.NDArray[np.uint8],
    known: bool,
    census: Census | None,
) -> Harm:
    if len(entries) == 0 and known:
        nobody = None if census is None else 0.0
        return Harm(pair.relay, *victim, 0, nobody, nobody, nobody, nobody)
    shape = doubtful.shape[1:]
    fall, again = _where(entries, FALLS, shape), _where(entries, SERVED_OTHERWISE, shape)
    not_known = flags_of(doubtful, pair.victim) ^ _where(entries, UNKNOWN_CHANGES, shape)
    people = people_where(census, (fall, again, fall & ~again, not_known))
    return Harm(pair.relay, *victim, int(fall.sum()), *people)


def _where(entries: Entries, bit: int, shape: tuple[int, ...]) -> Mask:
    """Return where the entries have a bit, bool (rows, columns)."""
    mask = np.zeros(shape, dtype=np.bool_)
    mask.ravel()[entries[(entries[:, 2] & bit) > 0, 1]] = True
    return mask
