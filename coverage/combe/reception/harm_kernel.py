"""Kernels that find the places which one relay alone takes from another station.

A relay can take a place only from an emission that noise leaves served there. Where that emission still
serves, nothing is taken; where two stations would each alone keep it from serving, no single one is to blame.
So few places are judged with a relay off the air, and they are judged exactly.
"""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.reception.judge_one import arriving_db, gain_db, go_to
from combe.reception.judge_scene import HEARD, FloatArray, Place, Records, Scene, Share, Tile
from combe.reception.multiplication import Wanted, ratio_sigma
from combe.reception.pair_sum import LOGS_PER_DB
from combe.reception.stand_kernel import Groups, Margin, Places, margin_over, may_reach, noise_margin

RELAY: Final = np.dtype([("station", "i8"), ("pair", "i8")])
"""A relay that may disturb an emission: its station, and the number of the pair of the two."""

FALLS: Final = 1
SERVED_OTHERWISE: Final = 2
UNKNOWN_CHANGES: Final = 4
"""Bits of what is told of a place: the emission falls below the standard by the relay; all the same some
station serves; whether its public lives there with unknown interferers is the reverse of what it is with all
on air."""

_NONE, _SEVERAL = -1, -2

Entries = npt.NDArray[np.int32]


@kernel
def count_unknown(wanted: int, place: Place, scene: Scene) -> int:
    """Return how many interferers of an emission have no prediction at a place."""
    own, unknown = scene.emissions[wanted], 0
    for index in range(own.first_pair, own.end_pair):
        if math.isnan(arriving_db(scene.pairs[index], place)):
            unknown += 1
    return unknown


@kernel
def sole_blocker(wanted: int, place: Place, scene: Scene, factor: float, roles: Records) -> int:
    """Return the one station that by itself keeps an emission from serving; −1: none, −2: several."""
    own, found = scene.emissions[wanted], _NONE
    limit = place.heard[wanted].median * LOGS_PER_DB
    for index in range(own.first_pair, own.end_pair):
        pair = scene.pairs[index]
        other = scene.emissions[pair.partner]
        nuisance = arriving_db(pair, place)
        if not nuisance > own.noise / LOGS_PER_DB + other.cut_db:
            continue
        level = (nuisance + gain_db(own, other, pair.crossed, place, scene.corners)) * LOGS_PER_DB
        alone = factor * ratio_sigma(Wanted(own.sigma, own.load), other.sigma * other.sigma, other.load)
        if level + alone > limit:
            station = roles[pair.partner].station
            if found not in (_NONE, station):
                return _SEVERAL
            found = station
    return found


@kernel
def counts_against(wanted: int, first: int, end: int, place: Place, scene: Scene) -> bool:
    """Return whether any of some emissions is strong enough at a place to count against another one."""
    own = scene.emissions[wanted]
    for index in range(own.first_pair, own.end_pair):
        pair = scene.pairs[index]
        if first <= pair.partner < end:
            least_db = own.noise / LOGS_PER_DB + scene.emissions[pair.partner].cut_db
            if arriving_db(pair, place) > least_db:
                return True
    return False


@kernel
def disturbed_without(wanted: int, first: int, end: int, scene: Scene) -> bool:
    """Return whether anything but some emissions may disturb another one."""
    own, found = scene.emissions[wanted], False
    for index in range(own.first_pair, own.end_pair):
        found = found or not first <= scene.pairs[index].partner < end
    return found


@inner_kernel
def mute(first: int, end: int, place: Place) -> None:
    """Take some emissions off the air at a place."""
    for i in range(first, end):
        place.heard[i].median, place.heard[i].at_time = -math.inf, -math.inf


@inner_kernel
def unmute(first: int, end: int, row: int, column: int, tile: Tile, place: Place) -> None:
    """Put some emissions on the air again."""
    for i in range(first, end):
        place.heard[i].median, place.heard[i].at_time = (
            tile.median[i, row, column],
            tile.at_time[i, row, column],
        )


@kernel
def margin_without(
    wanted: int,
    first: int,
    end: int,
    noise: np.float32,
    least: np.float32,
    place: Place,
    scene: Scene,
    share: Share,
    signals: FloatArray,
) -> np.float32:
    """Return the margin of an emission while others are off the air [dB], −inf where under ``least``."""
    if not disturbed_without(wanted, first, end, scene):
        return noise
    if not may_reach(wanted, least, place, scene, share.factor):
        return np.float32(-math.inf)
    found: Margin = margin_over(wanted, noise, least, place, scene, share, signals)
    return found.margin


@kernel
def best_without(
    wanted: int,
    first: int,
    end: int,
    groups: Groups,
    roles: Records,
    place: Place,
    scene: Scene,
    share: Share,
    signals: FloatArray,
) -> bool:
    """Return whether an emission serves, and best of its service, while some others are off the air."""
    noise = noise_margin(wanted, place, roles)
    margin = margin_without(wanted, first, end, noise, np.float32(0.0), place, scene, share, signals)
    if not margin >= np.float32(0.0):
        return False
    service = roles[wanted].service
    for k in range(groups.start[service], groups.start[service + 1]):
        rival = groups.members[k]
        rival_noise = noise_margin(rival, place, roles)
        if rival == wanted or first <= rival < end or not rival_noise >= margin:
            continue
        found = margin_without(rival, first, end, rival_noise, margin, place, scene, share, signals)
        if found > margin or (found == margin and rival < wanted):
            return False
    return True


@kernel
def may_be_to_blame(
    wanted: int, sole: int, station: int, stations: Places, place: Place, scene: Scene
) -> bool:
    """Return whether an emission that does not serve could do so while a station is off the air."""
    if sole != _NONE:
        return sole == station
    return counts_against(wanted, stations[station], stations[station + 1], place, scene)


@kernel
def told_of(best: bool, serves: bool, public: bool, unknown: int, cell: Any) -> int:
    """Return the bits that tell what a relay does to an emission at a place, 0 for nothing."""
    told = 0
    if best and not serves:
        told = FALLS | SERVED_OTHERWISE if cell.serving > 0 else FALLS
    return told | UNKNOWN_CHANGES if unknown > 0 and best != public else told


@kernel
def harm_at(
    wanted: int,
    row: int,
    column: int,
    tile: Tile,
    place: Place,
    scene: Scene,
    share: Share,
    roles: Records,
    every: Groups,
    relays: Records,
    stations: Places,
    signals: FloatArray,
    serves: bool,
    cell: Any,
    number: int,
    count: int,
    entries: Entries,
) -> int:
    """Write what the relays do to an emission in a cell of some number; return how many entries there are."""
    unknown = count_unknown(wanted, place, scene)
    if serves and unknown == 0:
        return count
    sole = _NONE if serves else sole_blocker(wanted, place, scene, share.factor, roles)
    for k in range(roles[wanted].first_relay, roles[wanted].end_relay):
        station = relays[k].station
        if not serves and not may_be_to_blame(wanted, sole, station, stations, place, scene):
            continue
        first, end = stations[station], stations[station + 1]
        mute(first, end, place)
        best = best_without(wanted, first, end, every, roles, place, scene, share, signals)
        unmute(first, end, row, column, tile, place)
        told = told_of(best, serves, serves and cell.best == wanted, unknown, cell)
        if told and count < entries.shape[0]:
            entries[count, 0], entries[count, 1], entries[count, 2] = relays[k].pair, number, told
        count += 1 if told else 0
    return count


@kernel
def harm_tile(
    tile: Tile,
    scene: Scene,
    share: Share,
    roles: Records,
    every: Groups,
    relays: Records,
    stations: Places,
    most: int,
    standing: Records,
    served: npt.NDArray[np.uint8],
    first_row: int,
    entries: Entries,
) -> int:
    """Write what each relay does to each emission that it may disturb, where it does anything.

    Returns how many entries there are; those beyond the length of ``entries`` (n, 3) are not written. One has
    the number of the pair, the flat index of the cell in the whole grid, and the bits of what is told.
    """
    signals, heard = np.empty((3, most + 1)), np.empty(tile.on_air.size, dtype=HEARD)
    count = 0
    for row in range(tile.y_m.size):
        for column in range(tile.x_m.size):
            place = go_to(row, column, tile, heard)
            number = (first_row + row) * tile.x_m.size + column
            for wanted in range(roles.size):
                own = roles[wanted]
                if own.first_relay < own.end_relay and noise_margin(wanted, place, roles) >= 0.0:
                    count = harm_at(
                        wanted, row, column, tile, place, scene, share, roles, every, relays, stations,
                        signals, served[wanted, row, column] != 0, standing[own.service, row, column],
                        number, count, entries,
                    )  # fmt: skip
    return count
