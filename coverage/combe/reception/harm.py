"""What each relay alone takes from other stations: the places where an emission falls because of it.

A relay can take a place only from an emission that noise leaves served there. Where that emission still
serves, nothing is taken; where two stations would each alone keep it from serving, no single one is to blame.
So few places are judged with a relay off the air, and they are judged exactly.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel, kernel_part
from combe.reception.bench import (
    HEARD,
    Bench,
    Place,
    Records,
    Scene,
    Tile,
    arriving_db,
    gain_db,
    go_to,
    set_up,
)
from combe.reception.judges import Fields, Judges, tile_of
from combe.reception.multiplication import Wanted, ratio_sigma
from combe.reception.standing import (
    Margin,
    Network,
    Places,
    Roles,
    Standing,
    margin_over,
    may_reach,
    noise_margin,
)
from combe.reception.summing import LOGS_PER_DB

FALLS: Final = 1
SERVED_OTHERWISE: Final = 2
UNKNOWN_CHANGES: Final = 4
"""Bits of what a relay does at a place: the emission falls below the standard by the relay; all the same some
station serves; whether its public lives there with unknown interferers is the reverse of what it is with all
on air."""

_NONE, _SEVERAL = -1, -2
_FIRST_ENTRIES: Final = 4096

Entries = npt.NDArray[np.int32]
"""Number of the pair, flat index of the cell in the whole grid, and the bits of the effect: (n, 3)."""


class OffAir(NamedTuple):
    """The emissions of one station, first to before the last, while it is off the air."""

    first: int
    end: int


class Work(NamedTuple):
    """What is the same for all places of a tile: fields, network, the bench, and how services stand there."""

    tile: Tile
    network: Network
    bench: Bench
    standing: Standing


class Case(NamedTuple):
    """An emission at a place of the grid, where a relay may harm it.

    ``serves`` tells whether it does with all on air, ``unknown`` how many of its interferers have no
    prediction; ``cell`` is the flat index in the whole grid.
    """

    wanted: int
    serves: bool
    unknown: int
    cell: int


def harm_entries(
    judges: Judges, roles: Roles, fields: Fields, standing: Standing, first_row: int = 0
) -> Entries:
    """Return what relays do over a tile, wherever they do anything: int32 (n, 3).

    ``first_row`` is the tile's first row in the whole grid.
    """
    entries: Entries = np.empty((_FIRST_ENTRIES if roles.pairs else 0, 3), dtype=np.int32)
    if not roles.pairs:
        return entries
    work = Work(tile_of(judges, fields), roles.network, set_up(judges.scene, judges.share), standing)
    while True:
        count = _harm_tile(work, first_row, entries)
        # The first pass counts all, though it may not have room for them; the second then has.
        if count <= len(entries):
            return entries[:count]
        entries = np.empty((count, 3), dtype=np.int32)


@kernel_part
def _count_unknown(wanted: int, place: Place, scene: Scene) -> int:
    """Return how many interferers of an emission have no prediction at a place."""
    own, unknown = scene.emissions[wanted], 0
    for index in range(own.first_pair, own.end_pair):
        if math.isnan(arriving_db(scene.pairs[index], place)):
            unknown += 1
    return unknown


@kernel_part
def _sole_blocker(wanted: int, place: Place, bench: Bench, roles: Records) -> int:
    """Return the one station that by itself keeps an emission from serving; −1: none, −2: several."""
    scene, blocker = bench.scene, _NONE
    own = scene.emissions[wanted]
    # Echoes that add may lift it over what one interferer asks of it alone: nobody is sure to block.
    if own.grouped:
        return _NONE
    limit = place.heard[wanted].median * LOGS_PER_DB
    for index in range(own.first_pair, own.end_pair):
        pair = scene.pairs[index]
        other = scene.emissions[pair.partner]
        nuisance = arriving_db(pair, place)
        # Written so that an interferer without prediction (NaN) blocks nothing.
        if not nuisance > own.noise / LOGS_PER_DB + other.cut_db:
            continue
        level = (nuisance + gain_db(own, other, pair.crossed, place, scene.corners)) * LOGS_PER_DB
        sigma = ratio_sigma(Wanted(own.sigma, own.load), other.sigma * other.sigma, other.load)
        if level + own.factor * sigma > limit:
            station = roles[pair.partner].station
            if blocker not in (_NONE, station):
                # Two stations each keep it from serving: taking one relay off the air cannot help.
                return _SEVERAL
            blocker = station
    return blocker


@kernel_part
def _counts_against(wanted: int, off: OffAir, place: Place, scene: Scene) -> bool:
    """Return whether any of some emissions is strong enough at a place to count against another one."""
    own = scene.emissions[wanted]
    for index in range(own.first_pair, own.end_pair):
        pair = scene.pairs[index]
        if off.first <= pair.partner < off.end:
            least_db = own.noise / LOGS_PER_DB + scene.emissions[pair.partner].cut_db
            if arriving_db(pair, place) > least_db:
                return True
    return False


@kernel_part
def _disturbed_without(wanted: int, off: OffAir, scene: Scene) -> bool:
    """Return whether anything but some emissions may disturb another one."""
    own, disturbed = scene.emissions[wanted], False
    for index in range(own.first_pair, own.end_pair):
        disturbed = disturbed or not off.first <= scene.pairs[index].partner < off.end
    return disturbed


@inner_kernel
def _mute(off: OffAir, place: Place) -> None:
    """Take some emissions off the air at a place."""
    for i in range(off.first, off.end):
        place.heard[i].median, place.heard[i].at_time = -math.inf, -math.inf


@inner_kernel
def _unmute(off: OffAir, row: int, column: int, tile: Tile, place: Place) -> None:
    """Put some emissions on the air again."""
    for i in range(off.first, off.end):
        place.heard[i].median = tile.median[i, row, column]
        place.heard[i].at_time = tile.at_time[i, row, column]


@kernel_part
def _margin_without(
    wanted: int, off: OffAir, noise: np.float32, least: np.float32, place: Place, bench: Bench
) -> np.float32:
    """Return the margin of an emission while others are off the air [dB], −inf where under ``least``."""
    if not _disturbed_without(wanted, off, bench.scene):
        return noise
    if not may_reach(wanted, least, place, bench):
        return np.float32(-math.inf)
    margin: Margin = margin_over(wanted, noise, least, place, bench)
    return margin.margin


@kernel_part
def _best_without(wanted: int, off: OffAir, network: Network, place: Place, bench: Bench) -> bool:
    """Return whether an emission serves, and best of its service, while some others are off the air."""
    roles, groups = network.roles, network.every
    noise = noise_margin(wanted, place, roles, bench)
    margin = _margin_without(wanted, off, noise, np.float32(0.0), place, bench)
    # Written so that a margin that is not known does not serve.
    if not margin >= np.float32(0.0):
        return False
    service = roles[wanted].service
    for k in range(groups.start[service], groups.start[service + 1]):
        rival = groups.members[k]
        rival_noise = noise_margin(rival, place, roles, bench)
        if rival == wanted or off.first <= rival < off.end or not rival_noise >= margin:
            continue
        rival_margin = _margin_without(rival, off, rival_noise, margin, place, bench)
        if rival_margin > margin or (rival_margin == margin and rival < wanted):
            return False
    return True


@kernel_part
def _may_be_to_blame(
    case: Case, blocker: int, station: int, stations: Places, place: Place, scene: Scene
) -> bool:
    """Return whether an emission could serve, or be known to, while a station is off the air."""
    if case.serves:
        return True
    # Where one station alone blocks, only that one, if it is a relay, may be to blame.
    if blocker != _NONE:
        return blocker == station
    return _counts_against(case.wanted, OffAir(stations[station], stations[station + 1]), place, scene)


@kernel_part
def _effect(case: Case, best: bool, stands: Any) -> int:
    """Return what a relay does to an emission that is, or is not, the best one without it; 0 for nothing."""
    effect = 0
    if best and not case.serves:
        effect = FALLS | SERVED_OTHERWISE if stands.serving > 0 else FALLS
    # Its public: those whom it serves best with all on the air.
    public = case.serves and stands.best == case.wanted
    return effect | UNKNOWN_CHANGES if case.unknown > 0 and best != public else effect


@kernel_part
def _harm_at(
    case: Case, row: int, column: int, place: Place, work: Work, entries: Entries, count: int
) -> int:
    """Write what the relays do to an emission in a cell; return how many entries there are."""
    network, standing = work.network, work.standing
    own = network.roles[case.wanted]
    blocker = _NONE if case.serves else _sole_blocker(case.wanted, place, work.bench, network.roles)
    for k in range(own.first_relay, own.end_relay):
        station = network.relays[k].station
        if not _may_be_to_blame(case, blocker, station, network.stations, place, work.bench.scene):
            continue
        off = OffAir(network.stations[station], network.stations[station + 1])
        _mute(off, place)
        best = _best_without(case.wanted, off, network, place, work.bench)
        _unmute(off, row, column, work.tile, place)
        effect = _effect(case, best, standing.cells[own.service, row, column])
        if effect and count < entries.shape[0]:
            entries[count, 0], entries[count, 1] = network.relays[k].pair, case.cell
            entries[count, 2] = effect
        count += 1 if effect else 0
    return count


@kernel
def _harm_tile(work: Work, first_row: int, entries: Entries) -> int:
    """Write what each relay does to each emission that it may disturb; return how many entries there are.

    Those beyond the length of ``entries`` are not written.
    """
    tile, roles, count = work.tile, work.network.roles, 0
    grouped = work.bench.scene.emissions["grouped"]
    heard, columns = np.empty(tile.on_air.size, dtype=HEARD), tile.median.shape[2]
    for row in range(tile.median.shape[1]):
        for column in range(columns):
            place = go_to(row, column, tile, heard)
            for wanted in range(roles.size):
                own = roles[wanted]
                alone: np.float32 = np.float32(heard[wanted].median) - own.median_minimum
                # Most fall out here, before anything is called: a call hands on the whole bench.
                if own.first_relay == own.end_relay or not (alone >= 0.0 or grouped[wanted]):
                    continue
                if not alone >= 0.0 and not noise_margin(wanted, place, roles, work.bench) >= 0.0:
                    continue
                serves = work.standing.served[wanted, row, column] != 0
                unknown = _count_unknown(wanted, place, work.bench.scene)
                # Where it serves and all is known, no relay has taken anything.
                if not serves or unknown > 0:
                    case = Case(wanted, serves, unknown, (first_row + row) * columns + column)
                    count = _harm_at(case, row, column, place, work, entries, count)
    return count
