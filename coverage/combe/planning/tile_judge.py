"""The judge of a network by the planning standard: how each service stands in a tile, and who harms whom.

The people harmed are then counted: served by other stations, and below the standard because of a relay.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.planning.grid_tiles import Array, Judged, Tile, tile_centres_m, tile_fields
from combe.planning.people_count import Census, Mask, people_where
from combe.prediction import array_hash, content_hash
from combe.reception import (
    FALLS,
    SERVED_OTHERWISE,
    UNKNOWN_CHANGES,
    Entries,
    Fields,
    HarmPair,
    Judges,
    Roles,
    Standing,
    harm_entries,
    stand_cells,
)

MAPS: Final = {
    "margin_db": "margin",
    "margin_before_db": "before",
    "noise_margin_db": "noise",
    "serving": "serving",
    "unknown": "unknown",
}
"""Arrays (1 + services, rows, columns), all services first, and the column of a standing that each has."""

SERVED, PREDICTED, DOUBTFUL = "served_bits", "predicted_bits", "doubtful_bits"
"""Arrays of bits, one for each emission: see :func:`flags_of`. An emission is doubtful where it serves best,
and some of its interferers have no prediction."""

HARM: Final = "harm_rows"


@dataclass(frozen=True)
class NetworkJudge:
    """The judge of a tile by the planning standard, for :class:`combe.planning.network.NetworkTask`.

    Gives the arrays that are named above. Interference for the small percentage of time is taken from the
    last of the task's conditions, the median from the first.
    """

    judges: Judges
    roles: Roles

    def __call__(self, tile: Tile) -> Judged:
        """Judge a tile; RangeError for one whose stations and services are not the emissions."""
        names = [(emission.station, emission.service) for emission in self.judges.emissions]
        given = [(each.station.name, each.service.name) for each in tile.radiated]
        if given != names:
            raise RangeError("stations and services of the task", given, f"those of the emissions, {names}")
        return self.judge_fields(fields_over(tile), tile.first_row)

    @property
    def parents_have_all(self) -> bool:
        """Whether parents radiate every service, so that the margins before hang on theirs alone."""
        table = self.roles.table
        return set(table["service"][~table["relay"]]) == set(table["service"])

    def judge_fields(self, fields: Fields, first_row: int = 0, *, before: bool = True) -> Judged:
        """Judge places by the fields of all emissions there; harm counts rows from the first.

        Without ``before`` the margins with the parents alone mean nothing.
        """
        judges, roles = self.judges, self.roles
        standing = stand_cells(judges, roles, fields, before=before)
        entries = harm_entries(judges, roles, fields, standing, first_row)
        return {
            **{name: with_all(name, standing.cells[record]) for name, record in MAPS.items()},
            # A bit for each emission, for a byte would be most of what a large network keeps; counted from
            # the least, so that emission n is bit n mod 8.
            SERVED: np.packbits(standing.served, axis=0, bitorder="little"),
            PREDICTED: np.packbits(~np.isnan(fields.median_dbuv_m), axis=0, bitorder="little"),
            DOUBTFUL: np.packbits(_doubtful(standing, roles), axis=0, bitorder="little"),
            HARM: entries[np.argsort(entries[:, 0], kind="stable")],
        }


def network_judge(judges: Judges, roles: Roles) -> tuple[NetworkJudge, str]:
    """Return the judge of a network, and the ``judge_key`` of its task.

    Parameters
    ----------
    judges
        The emissions, in the order of stations and their services in the task, and the rules.
    roles
        Of the same emissions.
    """
    return NetworkJudge(judges, roles), _key(judges, roles)


def fields_over(tile: Tile) -> Fields:
    """Read the fields of all emissions over a tile."""
    x_m, y_m = tile_centres_m(tile)
    median = tile_fields(tile)
    at_time = median if len(tile.layers) == 1 else tile_fields(tile, condition=len(tile.layers) - 1)
    return Fields(x_m, y_m, median, at_time)


def with_all(name: str, services: Array) -> Array:
    """Put all services together before each of them: the worst of each number, NaN if any is NaN."""
    # Both keep NaN: with one service unknown, nobody knows of all of them.
    worst = np.maximum if name == "unknown" else np.minimum
    return np.concatenate([worst.reduce(services, axis=0)[None], services])


def flags_of(bits: Array, emission: int) -> npt.NDArray[np.bool_]:
    """Return the flags of one emission, bool (rows, columns), of an array of bits."""
    flags: npt.NDArray[np.bool_] = (bits[emission // 8] >> (emission % 8)) & 1 > 0
    return flags


def _doubtful(standing: Standing, roles: Roles) -> npt.NDArray[np.bool_]:
    """Return where each emission is the best one and serves, though some interferer is unknown."""
    flags = np.zeros(standing.served.shape, dtype=np.bool_)
    if not standing.cells["unknown"].any():
        return flags
    for emission, service in enumerate(roles.table["service"]):
        cells = standing.cells[service]
        flags[emission] = (cells["best"] == emission) & (cells["unknown"] > 0) & (cells["margin"] >= 0.0)
    return flags


def _key(judges: Judges, roles: Roles) -> str:
    return content_hash(
        {
            "emissions": [asdict(emission) for emission in judges.emissions],
            "rules": asdict(judges.rules),
            "pairs": [array_hash(array) for array in judges.partners],
            "roles": array_hash(roles.table),
        }
    )


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
    # Entries tell only where the relay changes whom an emission serves best. Turned over there, the doubtful
    # public with all on the air becomes that without the relay.
    not_known = flags_of(doubtful, pair.victim) ^ _where(entries, UNKNOWN_CHANGES, shape)
    people = people_where(census, (fall, again, fall & ~again, not_known))
    return Harm(pair.relay, *victim, int(fall.sum()), *people)


def _where(entries: Entries, bit: int, shape: tuple[int, ...]) -> Mask:
    """Return where the entries have a bit, bool (rows, columns)."""
    mask = np.zeros(shape, dtype=np.bool_)
    mask.ravel()[entries[(entries[:, 2] & bit) > 0, 1]] = True
    return mask
