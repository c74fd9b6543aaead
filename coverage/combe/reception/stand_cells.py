"""How every service of a network stands in the cells of a tile, and what relays take from other stations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.reception.harm_kernel import RELAY, Entries, harm_tile
from combe.reception.judge_cells import Fields, Judges, most_partners, tile_of
from combe.reception.judge_scene import Layers, Records
from combe.reception.stand_kernel import ROLE, STANDING, Groups, Places, stand_tile

_FIRST_ENTRIES: Final = 4096


class HarmPair(NamedTuple):
    """A relay by its name, and an emission of another station, by its place, that it may disturb."""

    relay: str
    victim: int


@dataclass(frozen=True)
class Roles:
    """Which emissions are of relays, and who may take what from whom; made by :func:`make_roles`.

    ``services`` names each service once, in the order of the emissions; ``pairs`` are all that can be harmed.
    """

    services: tuple[str, ...]
    pairs: tuple[HarmPair, ...]
    table: Records
    relays: Records
    stations: Places
    every: Groups
    parents: Groups


class Standing(NamedTuple):
    """How the services of a network stand over a tile.

    ``cells`` (services, rows, columns) are records of :data:`combe.reception.stand_kernel.STANDING`;
    ``served`` (emissions, rows, columns) is 1 where an emission serves with all on air.
    """

    cells: Records
    served: npt.NDArray[np.uint8]


def make_roles(judges: Judges, relays: Sequence[bool], median_minimum_dbuv_m: Sequence[float]) -> Roles:
    """Make ready what the kernels go by beside the judges.

    Parameters
    ----------
    judges
        Emissions; those of one station stand together.
    relays
        Of each emission, whether its station is a relay.
    median_minimum_dbuv_m
        Median field of each that serves against noise alone [dB(µV/m)].

    Raises
    ------
    RangeError
        For a station whose emissions stand apart.
    """
    emissions = judges.emissions
    services = tuple(dict.fromkeys(each.service for each in emissions))
    names = list(dict.fromkeys(each.station for each in emissions))
    table = np.zeros(len(emissions), dtype=ROLE)
    table["service"] = [services.index(each.service) for each in emissions]
    table["station"] = [names.index(each.station) for each in emissions]
    table["relay"] = relays
    table["median_minimum"] = median_minimum_dbuv_m
    if np.any(np.diff(table["station"]) < 0):
        raise RangeError("order of the emissions", "mixed", "all of a station, then all of the next one")
    start, partner = judges.partners.start, judges.partners.emission
    for wanted in range(len(emissions)):
        others = partner[start[wanted] : start[wanted + 1]]
        table["disturbed"][wanted] = others.size > 0
        table["disturbed_before"][wanted] = not bool(table["relay"][others].all())
    pairs, rows = _pairs(judges, table, names)
    return Roles(
        services,
        pairs,
        table,
        rows,
        np.searchsorted(table["station"], np.arange(len(names) + 1)).astype(np.int64),
        _groups(table["service"], np.arange(len(emissions)), len(services)),
        _groups(table["service"], np.flatnonzero(~table["relay"]), len(services)),
    )


def stand_cells(judges: Judges, roles: Roles, fields: Fields) -> Standing:
    """Return how each service stands in each cell; errors as :func:`combe.reception.judge_cells.judge_cells`.

    The interpreter's lock is not held, so tiles may be judged side by side.
    """
    if judges.partners.emission.size == 0:
        return stand_undisturbed(roles, fields)
    return stand_disturbed(judges, roles, fields)


def stand_disturbed(judges: Judges, roles: Roles, fields: Fields) -> Standing:
    """Return what :func:`stand_cells` does, by the kernels that judge interference."""
    tile = tile_of(judges, fields, None)
    shape = tile.y_m.size, tile.x_m.size
    cells = np.empty((len(roles.services), *shape), dtype=STANDING)
    served = np.empty((len(judges.emissions), *shape), dtype=np.uint8)
    most = most_partners(judges.scene)
    stand_tile(tile, judges.scene, judges.share, roles.table, roles.every, roles.parents, most, cells, served)
    return Standing(cells, served)


def stand_undisturbed(roles: Roles, fields: Fields) -> Standing:
    """Return what :func:`stand_cells` does where nothing may disturb anything: the fields less the minima.

    The same numbers, without the kernels that judge interference, which take seconds to compile.
    """
    margins = fields.median_dbuv_m.astype(np.float32) - roles.table["median_minimum"][:, None, None]
    served = margins >= 0.0
    cells = np.zeros((len(roles.services), *margins.shape[1:]), dtype=STANDING)
    for service, cell in enumerate(cells):
        members = np.flatnonzero(roles.table["service"] == service)
        parents = members[~roles.table["relay"][members]]
        margin, best = _strongest(margins, members)
        cell["margin"], cell["noise"], cell["best"] = margin, margin, best
        cell["serving"] = served[members].sum(axis=0)
        if not roles.table["relay"].any():
            cell["before"] = margin
        elif parents.size:
            cell["before"] = _strongest(margins, parents)[0]
        else:
            cell["before"] = np.where(np.isnan(margin), np.nan, -np.inf)
    return Standing(cells, served.astype(np.uint8))


def _strongest(margins: Layers, members: Places) -> tuple[Layers, Places]:
    """Return the greatest margin of some emissions, and whose it is: NaN and −1 where none is predicted."""
    known = ~np.isnan(margins[members]).all(axis=0)
    ranked = np.where(np.isnan(margins[members]), -np.inf, margins[members])
    best = ranked.argmax(axis=0)
    margin = np.take_along_axis(ranked, best[None], axis=0)[0]
    return np.where(known, margin, np.float32(np.nan)), np.where(known, members[best], -1)


def harm_entries(
    judges: Judges, roles: Roles, fields: Fields, standing: Standing, first_row: int = 0
) -> Entries:
    """Return what relays do over a tile: int32 (n, 3), see :func:`combe.reception.harm_kernel.harm_tile`.

    ``first_row`` is the tile's first row in the whole grid.
    """
    entries: Entries = np.empty((_FIRST_ENTRIES if roles.pairs else 0, 3), dtype=np.int32)
    if not roles.pairs:
        return entries
    tile, most = tile_of(judges, fields, None), most_partners(judges.scene)
    while True:
        found = harm_tile(
            tile, judges.scene, judges.share, roles.table, roles.every, roles.relays, roles.stations, most,
            standing.cells, standing.served, first_row, entries,
        )  # fmt: skip
        if found <= len(entries):
            return entries[:found]
        entries = np.empty((found, 3), dtype=np.int32)


def predicted_flags(fields: Fields) -> npt.NDArray[np.bool_]:
    """Return where each emission has a prediction, bool (emissions, rows, columns)."""
    known: npt.NDArray[np.bool_] = ~np.isnan(fields.median_dbuv_m)
    return known


def column(standing: Standing, name: str) -> Layers:
    """Return one of the columns of the cells' records, (services, rows, columns)."""
    values: Layers = np.ascontiguousarray(standing.cells[name])
    return values


def _pairs(judges: Judges, table: Records, names: Sequence[str]) -> tuple[tuple[HarmPair, ...], Records]:
    """Return the pairs in the order of relays and then victims, and for each victim its rows of relays."""
    start, partner = judges.partners.start, judges.partners.emission
    found = sorted(
        (int(station), wanted)
        for wanted in range(len(table))
        for station in np.unique(table["station"][_relays(table, partner[start[wanted] : start[wanted + 1]])])
        if station != table["station"][wanted]
    )
    of_victim: list[list[tuple[int, int]]] = [[] for _ in range(len(table))]
    for number, (station, wanted) in enumerate(found):
        of_victim[wanted].append((station, number))
    ends = np.cumsum([len(each) for each in of_victim])
    table["first_relay"], table["end_relay"] = np.concatenate([[0], ends[:-1]]), ends
    rows = np.array([row for each in of_victim for row in each], dtype=RELAY)
    return tuple(HarmPair(names[station], wanted) for station, wanted in found), rows


def _relays(table: Records, emissions: Places) -> Places:
    found: Places = emissions[table["relay"][emissions]]
    return found


def _groups(service: npt.NDArray[np.int64], members: npt.NDArray[np.intp], count: int) -> Groups:
    """Return some emissions in the order of their services."""
    order = members[np.argsort(service[members], kind="stable")].astype(np.int64)
    return Groups(order, np.searchsorted(service[order], np.arange(count + 1)).astype(np.int64))
