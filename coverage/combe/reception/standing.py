"""How every service of a network stands in the cells of a tile: its best station, and how many serve.

Margins are numbers of single precision, and a station that nothing disturbs has the very margin against
noise: so a map of margins is the field less the minimum wherever there is no interference.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel, kernel_part
from combe.errors import RangeError
from combe.reception.bench import HEARD, Bench, Layers, Place, Records, Scene, Share, Tile, go_to, set_up
from combe.reception.echoes import carrier_of
from combe.reception.judges import Fields, Judges, tile_of
from combe.reception.judging import judge_place, least_usable
from combe.reception.summing import LOGS_PER_DB

Places = npt.NDArray[np.int64]
Flags = npt.NDArray[np.uint8]

ROLE: Final = np.dtype(
    [
        ("service", "i8"),
        ("station", "i8"),
        ("relay", "?"),
        ("disturbed", "?"),
        ("disturbed_before", "?"),
        ("median_minimum", "f4"),
        ("first_relay", "i8"),
        ("end_relay", "i8"),
    ]
)
"""What an emission is beside its levels: service and station by number, whether anything may disturb it (with
all on air; with the parents alone), the median that serves against noise, and its rows of relays."""

RELAY: Final = np.dtype([("station", "i8"), ("pair", "i8")])
"""A relay that may disturb an emission: its station, and the number of the pair of the two."""

STANDING: Final = np.dtype(
    [
        ("margin", "f4"),
        ("before", "f4"),
        ("noise", "f4"),
        ("serving", "i2"),
        ("unknown", "i2"),
        ("best", "i4"),
    ]
)
"""How a service stands in a cell: margins [dB] of its best station with all on air, with the parents alone,
and against noise; stations that serve; interferers of the best one without prediction; which one that is."""


class HarmPair(NamedTuple):
    """A relay by its name, and an emission of another station, by its place, that it may disturb."""

    relay: str
    victim: int


class Groups(NamedTuple):
    """Emissions in the order of their services: of service s, those from ``start[s]`` to ``start[s + 1]``."""

    members: Places
    start: Places


class Network(NamedTuple):
    """What the kernels go by beside the bench.

    ``roles`` of each emission; those of all stations and of the parents alone in groups by service;
    ``relays`` that may disturb an emission, one after the other; ``stations`` where each one's emissions
    begin, and the end.
    """

    roles: Records
    every: Groups
    parents: Groups
    relays: Records
    stations: Places


@dataclass(frozen=True)
class Roles:
    """Which emissions are of relays, and who may take what from whom; made by :func:`make_roles`.

    ``services`` names each service once, in the order of the emissions; ``pairs`` are all that can be harmed.
    """

    services: tuple[str, ...]
    pairs: tuple[HarmPair, ...]
    network: Network

    @property
    def table(self) -> Records:
        """Records of :data:`ROLE`, one for each emission."""
        return self.network.roles

    @property
    def stations(self) -> Places:
        """Where the emissions of each station begin, and the end."""
        return self.network.stations


class Standing(NamedTuple):
    """How the services of a network stand over a tile.

    ``cells`` (services, rows, columns) are records of :data:`STANDING`; ``served`` (emissions, rows, columns)
    is 1 where an emission serves with all on air.
    """

    cells: Records
    served: Flags


class Margin(NamedTuple):
    """Margin [dB], −inf where it is surely under what was asked, and interferers without prediction."""

    margin: np.float32
    unknown: int


class Best(NamedTuple):
    """The best emission of a service (−1: none predicted), its margin and unknown interferers, who serve."""

    emission: int
    margin: np.float32
    unknown: int
    serving: int
    noise: np.float32


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
    services = tuple(dict.fromkeys(emission.service for emission in emissions))
    names = list(dict.fromkeys(emission.station for emission in emissions))
    table = np.zeros(len(emissions), dtype=ROLE)
    table["service"] = [services.index(emission.service) for emission in emissions]
    table["station"] = [names.index(emission.station) for emission in emissions]
    table["relay"] = relays
    table["median_minimum"] = median_minimum_dbuv_m
    if np.any(np.diff(table["station"]) < 0):
        raise RangeError("order of the emissions", "mixed", "all of a station, then all of the next one")
    for wanted in range(len(emissions)):
        others = _disturbers(judges, wanted)
        table["disturbed"][wanted] = others.size > 0
        # Before the relays only parents disturb.
        table["disturbed_before"][wanted] = not bool(table["relay"][others].all())
    pairs, rows = _pairs(judges, table, names)
    network = Network(
        table,
        _groups(table["service"], np.arange(len(emissions)), len(services)),
        _groups(table["service"], np.flatnonzero(~table["relay"]), len(services)),
        rows,
        np.searchsorted(table["station"], np.arange(len(names) + 1)).astype(np.int64),
    )
    return Roles(services, pairs, network)


def stand_cells(judges: Judges, roles: Roles, fields: Fields, *, before: bool = True) -> Standing:
    """Return how each service stands in each cell; errors as :func:`combe.reception.judges.judge_emission`.

    Without ``before`` margins with the parents alone mean nothing. The interpreter's lock is not held.
    """
    if judges.partners.emission.size == 0:
        return stand_undisturbed(roles, fields)
    return stand_disturbed(judges, roles, fields, before=before)


def stand_disturbed(judges: Judges, roles: Roles, fields: Fields, *, before: bool = True) -> Standing:
    """Return what :func:`stand_cells` does, by the kernels that judge interference."""
    tile = tile_of(judges, fields)
    cells = np.empty((len(roles.services), *tile.median.shape[1:]), dtype=STANDING)
    standing = Standing(cells, np.empty(tile.median.shape, dtype=np.uint8))
    _stand_tile(tile, judges.scene, judges.share, roles.network, before, standing)
    return standing


def stand_undisturbed(roles: Roles, fields: Fields) -> Standing:
    """Return what :func:`stand_cells` does where nothing may disturb anything: the fields less the minima.

    The same numbers, without the kernels that judge interference, which take seconds to compile.
    """
    # In single precision, as the kernels keep margins: both ways give the same bits.
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
            # No parent radiates the service: without the relays nobody had it.
            cell["before"] = np.where(np.isnan(margin), np.nan, -np.inf)
    return Standing(cells, served.astype(np.uint8))


def _strongest(margins: Layers, members: Places) -> tuple[Layers, Places]:
    """Return the greatest margin of some emissions, and whose it is: NaN and −1 where none is predicted."""
    known = ~np.isnan(margins[members]).all(axis=0)
    ranked = np.where(np.isnan(margins[members]), -np.inf, margins[members])
    best = ranked.argmax(axis=0)
    margin = np.take_along_axis(ranked, best[None], axis=0)[0]
    return np.where(known, margin, np.float32(np.nan)), np.where(known, members[best], -1)


def _disturbers(judges: Judges, wanted: int) -> Places:
    start = judges.partners.start
    return judges.partners.emission[start[wanted] : start[wanted + 1]]


def _pairs(judges: Judges, table: Records, names: Sequence[str]) -> tuple[tuple[HarmPair, ...], Records]:
    """Return the pairs in the order of relays and then victims, and for each victim its rows of relays."""
    by_relay = []
    for wanted in range(len(table)):
        others = _disturbers(judges, wanted)
        relays = np.unique(table["station"][others[table["relay"][others]]])
        by_relay += [(int(station), wanted) for station in relays if station != table["station"][wanted]]
    by_relay.sort()
    of_victim: list[list[tuple[int, int]]] = [[] for _ in range(len(table))]
    for number, (station, wanted) in enumerate(by_relay):
        of_victim[wanted].append((station, number))
    ends = np.cumsum([len(each) for each in of_victim])
    table["first_relay"], table["end_relay"] = np.concatenate([[0], ends[:-1]]), ends
    rows = np.array([row for each in of_victim for row in each], dtype=RELAY)
    return tuple(HarmPair(names[station], wanted) for station, wanted in by_relay), rows


def _groups(service: npt.NDArray[np.int64], members: npt.NDArray[np.intp], count: int) -> Groups:
    """Return some emissions in the order of their services."""
    order = members[np.argsort(service[members], kind="stable")].astype(np.int64)
    return Groups(order, np.searchsorted(service[order], np.arange(count + 1)).astype(np.int64))


@inner_kernel
def noise_margin(wanted: int, place: Place, roles: Records, bench: Bench) -> np.float32:
    """Return the margin of an emission against noise alone [dB]; NaN without prediction."""
    margin: np.float32 = np.float32(place.heard[wanted].median) - roles[wanted].median_minimum
    if bench.scene.emissions[wanted].grouped:
        return _noise_margin_of_echoes(wanted, margin, place, bench)
    return margin


@kernel_part
def _noise_margin_of_echoes(wanted: int, alone: np.float32, place: Place, bench: Bench) -> np.float32:
    """Return the margin against noise of all that is of use to an aerial that looks at an emission."""
    carrier = carrier_of(wanted, place, bench)
    if not carrier.echoes:
        return alone
    asked = bench.scene.emissions[wanted].minimum + bench.scene.emissions[wanted].factor * carrier.sigma
    return np.float32(carrier.level_db - asked / LOGS_PER_DB)


@kernel_part
def margin_over(wanted: int, noise: np.float32, least: np.float32, place: Place, bench: Bench) -> Margin:
    """Return the margin of an emission that others disturb; one under ``least`` is given up."""
    verdict = judge_place(wanted, place, bench, float(least))
    if verdict.usable > (verdict.level_db - least) * LOGS_PER_DB:
        return Margin(np.float32(-math.inf), 0)
    # No interference makes a margin better than that against noise, whatever rounding says.
    return Margin(min(np.float32(verdict.level_db - verdict.usable / LOGS_PER_DB), noise), verdict.unknown)


@inner_kernel
def may_reach(wanted: int, least: np.float32, place: Place, bench: Bench) -> bool:
    """Return False where one interferer alone keeps an emission under a margin."""
    limit_db: float = place.heard[wanted].median - least
    asked: float = least_usable(wanted, place, bench, limit_db)
    reaches: bool = asked <= limit_db
    return reaches


@kernel_part
def _strongest_member(groups: Groups, service: int, place: Place, roles: Records, bench: Bench) -> int:
    """Return the place in the group of the emission with the best margin against noise; −1 for none."""
    strongest, top = -1, np.float32(math.nan)
    for k in range(groups.start[service], groups.start[service + 1]):
        noise = noise_margin(groups.members[k], place, roles, bench)
        # Kept, for of a network on one frequency it is a sum of its own, and asked for again.
        bench.noise[groups.members[k]] = noise
        if not math.isnan(noise) and (strongest < 0 or noise > top):
            strongest, top = k, noise
    return strongest


@kernel_part
def _best_of(
    groups: Groups, service: int, before: bool, roles: Records, place: Place, bench: Bench, flags: Flags
) -> Best:
    """Return the best emission of a service, the first of equals, and flag each that serves.

    The strongest against noise is judged first: most others then fall short of it, or of serving, by noise
    or one interferer alone, and need not be judged in full.
    """
    nothing = np.float32(0.0)
    first, end = groups.start[service], groups.start[service + 1]
    start = _strongest_member(groups, service, place, roles, bench)
    if start < 0:
        return Best(-1, np.float32(math.nan), 0, 0, np.float32(math.nan))
    index, margin, unknown, serving = -1, np.float32(-math.inf), 0, 0
    # One turn more than there are members: the strongest comes first, whatever its place.
    for step in range(first - 1, end):
        k = start if step < first else step
        # A rival matters if it serves or beats the best so far; under both nothing of it is asked.
        wanted, least = groups.members[k], min(margin, nothing)
        noise = bench.noise[wanted]
        if step == start or not noise >= least:
            continue
        rival = Margin(noise, 0)
        disturbed = roles[wanted].disturbed_before if before else roles[wanted].disturbed
        if disturbed:
            if index >= 0 and not may_reach(wanted, least, place, bench):
                continue
            rival = margin_over(wanted, noise, least, place, bench)
        if rival.margin >= nothing:
            serving += 1
            flags[wanted] = 1
        # Of equals the one of lower number, so that the order of judging leaves no trace.
        if index < 0 or rival.margin > margin or (rival.margin == margin and wanted < index):
            index, margin, unknown = wanted, rival.margin, rival.unknown
    return Best(index, margin, unknown, serving, bench.noise[groups.members[start]])


@inner_kernel
def _mute_relays(place: Place, roles: Records) -> None:
    """Take all relays off the air at a place."""
    for i in range(roles.size):
        if roles[i].relay:
            place.heard[i].median, place.heard[i].at_time = -math.inf, -math.inf


@inner_kernel
def _write_standing(cell: Any, best: Best) -> None:
    """Write how a service stands with all on air; before is the same until it is judged."""
    cell.margin, cell.before, cell.noise = best.margin, best.margin, best.noise
    cell.serving, cell.unknown, cell.best = best.serving, best.unknown, best.emission


@kernel_part
def _margin_before(best: Best, radiated: bool, after: np.float32) -> np.float32:
    """Return the margin with the parents alone: below any for a service that none of them radiates."""
    if radiated:
        return best.margin
    return np.float32(math.nan) if math.isnan(after) else np.float32(-math.inf)


@kernel
def _stand_tile(
    tile: Tile, scene: Scene, share: Share, network: Network, before: bool, standing: Standing
) -> None:
    """Write how each service stands in each cell, and which emissions serve it."""
    bench, heard = set_up(scene, share), np.empty(tile.on_air.size, dtype=HEARD)
    roles, every, parents = network.roles, network.every, network.parents
    flags, unused = np.zeros(roles.size, dtype=np.uint8), np.zeros(roles.size, dtype=np.uint8)
    relays = before and parents.members.size < every.members.size
    for row in range(tile.median.shape[1]):
        for column in range(tile.median.shape[2]):
            place = go_to(row, column, tile, heard)
            flags[:] = 0
            for service in range(every.start.size - 1):
                best = _best_of(every, service, False, roles, place, bench, flags)
                _write_standing(standing.cells[service, row, column], best)
            for i in range(roles.size):
                standing.served[i, row, column] = flags[i]
            if not relays:
                continue
            _mute_relays(place, roles)
            for service in range(every.start.size - 1):
                best = _best_of(parents, service, True, roles, place, bench, unused)
                cell = standing.cells[service, row, column]
                radiated = parents.start[service + 1] > parents.start[service]
                cell.before = _margin_before(best, radiated, cell.margin)
