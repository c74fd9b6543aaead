"""Kernels that tell how every service stands in a cell: its best station, and how many serve.

Margins are numbers of single precision, and a station that nothing disturbs has the very margin against
noise: so a map of margins is the field less the minimum wherever there is no interference.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.reception.judge_one import go_to, judge_one, least_usable
from combe.reception.judge_scene import HEARD, FloatArray, Place, Records, Scene, Share, Tile
from combe.reception.pair_sum import LOGS_PER_DB

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


class Groups(NamedTuple):
    """Emissions in the order of their services: of service s, those from ``start[s]`` to ``start[s + 1]``."""

    members: Places
    start: Places


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


@inner_kernel
def noise_margin(wanted: int, place: Place, roles: Records) -> np.float32:
    """Return the margin of an emission against noise alone [dB]; NaN without prediction."""
    margin: np.float32 = np.float32(place.heard[wanted].median) - roles[wanted].median_minimum
    return margin


@kernel
def margin_over(
    wanted: int,
    noise: np.float32,
    least: np.float32,
    place: Place,
    scene: Scene,
    share: Share,
    signals: FloatArray,
) -> Margin:
    """Return the margin of an emission that others disturb; one under ``least`` is given up."""
    median = place.heard[wanted].median
    limit = (median - least) * LOGS_PER_DB
    verdict = judge_one(wanted, place, scene, share, limit, signals)
    if verdict.usable > limit:
        return Margin(np.float32(-math.inf), 0)
    return Margin(min(np.float32(median - verdict.usable / LOGS_PER_DB), noise), verdict.unknown)


@inner_kernel
def may_reach(wanted: int, least: np.float32, place: Place, scene: Scene, factor: float) -> bool:
    """Return False where one interferer alone keeps an emission under a margin."""
    limit_db: float = place.heard[wanted].median - least
    asked: float = least_usable(wanted, place, scene, factor, limit_db)
    reaches: bool = asked <= limit_db
    return reaches


@kernel
def strongest_member(groups: Groups, service: int, place: Place, roles: Records) -> int:
    """Return the place in the group of the emission with the best margin against noise; −1 for none."""
    found, top = -1, np.float32(math.nan)
    for k in range(groups.start[service], groups.start[service + 1]):
        noise = noise_margin(groups.members[k], place, roles)
        if not math.isnan(noise) and (found < 0 or noise > top):
            found, top = k, noise
    return found


@kernel
def best_of(
    groups: Groups,
    service: int,
    before: bool,
    roles: Records,
    place: Place,
    scene: Scene,
    share: Share,
    signals: FloatArray,
    flags: Flags,
) -> Best:
    """Return the best emission of a service, the first of equals, and flag each that serves."""
    nothing = np.float32(0.0)
    first, end = groups.start[service], groups.start[service + 1]
    start = strongest_member(groups, service, place, roles)
    if start < 0:
        return Best(-1, np.float32(math.nan), 0, 0, np.float32(math.nan))
    index, margin, unknown, serving = -1, np.float32(-math.inf), 0, 0
    for step in range(first - 1, end):
        k = start if step < first else step
        wanted, least = groups.members[k], min(margin, nothing)
        noise = noise_margin(wanted, place, roles)
        if step == start or not noise >= least:
            continue
        found = Margin(noise, 0)
        disturbed = roles[wanted].disturbed_before if before else roles[wanted].disturbed
        if disturbed:
            if index >= 0 and not may_reach(wanted, least, place, scene, share.factor):
                continue
            found = margin_over(wanted, noise, least, place, scene, share, signals)
        if found.margin >= nothing:
            serving += 1
            flags[wanted] = 1
        if index < 0 or found.margin > margin or (found.margin == margin and wanted < index):
            index, margin, unknown = wanted, found.margin, found.unknown
    return Best(index, margin, unknown, serving, noise_margin(groups.members[start], place, roles))


@inner_kernel
def mute_relays(place: Place, roles: Records) -> None:
    """Take all relays off the air at a place."""
    for i in range(roles.size):
        if roles[i].relay:
            place.heard[i].median, place.heard[i].at_time = -math.inf, -math.inf


@inner_kernel
def write_standing(cell: Any, best: Best) -> None:
    """Write how a service stands with all on air; before is the same until it is judged."""
    cell.margin, cell.before, cell.noise = best.margin, best.margin, best.noise
    cell.serving, cell.unknown, cell.best = best.serving, best.unknown, best.emission


@kernel
def margin_before(found: Best, radiated: bool, after: np.float32) -> np.float32:
    """Return the margin with the parents alone: below any for a service that none of them radiates."""
    if radiated:
        return found.margin
    return np.float32(math.nan) if math.isnan(after) else np.float32(-math.inf)


@kernel
def stand_tile(
    tile: Tile,
    scene: Scene,
    share: Share,
    roles: Records,
    every: Groups,
    parents: Groups,
    most: int,
    cells: Records,
    served: npt.NDArray[np.uint8],
) -> None:
    """Write how each service stands in each cell (services, rows, columns), and which emissions serve it."""
    signals, heard = np.empty((3, most + 1)), np.empty(tile.on_air.size, dtype=HEARD)
    flags, unused = np.zeros(roles.size, dtype=np.uint8), np.zeros(roles.size, dtype=np.uint8)
    relays = parents.members.size < every.members.size
    for row in range(tile.y_m.size):
        for column in range(tile.x_m.size):
            place = go_to(row, column, tile, heard)
            flags[:] = 0
            for service in range(every.start.size - 1):
                best = best_of(every, service, False, roles, place, scene, share, signals, flags)
                write_standing(cells[service, row, column], best)
            for i in range(roles.size):
                served[i, row, column] = flags[i]
            if not relays:
                continue
            mute_relays(place, roles)
            for service in range(every.start.size - 1):
                best = best_of(parents, service, True, roles, place, scene, share, signals, unused)
                cell = cells[service, row, column]
                radiated = parents.start[service + 1] > parents.start[service]
                cell.before = margin_before(best, radiated, cell.margin)
