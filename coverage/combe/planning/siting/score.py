"""What each hill scores as a relay: the headroom towards every target, and the people it newly serves.

For each candidate and target, in one kernel: a target that free space and a few samples of the ground already
put out of reach is passed over; all others are priced exactly over the straight profile between. The headroom
is how far the worst of the services that the target lacks is over its least field. The score is the people
newly served less the people harmed.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel, kernel_part
from combe.decibels import FloatArray
from combe.planning.siting.bound import BIN_KM, HIDDEN, LOST, Ends, lost_beyond_horizons, out_of_reach
from combe.planning.siting.template import TURNS
from combe.prediction import (
    Aerials,
    IntArray,
    Places,
    Setting,
    Way,
    apart_km,
    complete_profile,
    line_of,
    new_scratch,
    service_loss_db,
    steps_between,
    summarise_profile,
    true_bearing_deg,
)
from combe.propagation.p1812 import P1812Summary
from combe.stations import Pattern, pattern_gain_db

HARMS_OVER_DB: Final = 1e-12
"""A nuisance field just as strong as is stood harms nobody [dB]."""

Block = tuple[int, int]
"""Hills, first to before last."""

Tenths = npt.NDArray[np.int16]
"""Bearings in tenths of a degree."""


class Demand(NamedTuple):
    """What targets ask of a relay.

    ``lacks`` (n, services) which services a target lacks; ``allowed_db`` (services,) the greatest basic loss
    that serves at the template's ERP; ``lift_db`` what the best pattern option adds at most; ``tilt_db``
    (1801,) vertical pattern from −90 to 90 degrees, or (1,) without; ``reach_km`` the farthest target;
    ``hardest`` (n,) see :func:`hardest_service`; ``slopes_allowed`` see :func:`reach_table` of bound.py.
    """

    lacks: npt.NDArray[np.bool_]
    allowed_db: FloatArray
    lift_db: float
    tilt_db: FloatArray
    reach_km: float
    hardest: IntArray
    slopes_allowed: FloatArray


class Levels(NamedTuple):
    """A level [dB] and a bearing from each hill (n,) to each place, and who lives at the places.

    ``level_db``, ``bearing`` (hills, places), ``people`` (places,). Over a least level, with the gain of a
    pattern towards the bearing, the people count; −inf where they cannot.
    """

    level_db: FloatArray
    bearing: Tenths
    people: FloatArray


class HillScores(NamedTuple):
    """Of each hill (n,) people newly served and harmed with its best option, and which of the targets.

    ``option`` its number; ``served`` (n, targets).
    """

    people: FloatArray
    harmed: FloatArray
    option: IntArray
    served: npt.NDArray[np.bool_]


def tilt_table(pattern: Pattern | None) -> FloatArray:
    """Return a vertical pattern every tenth of a degree from −90 to 90, or a single 0 for none."""
    if pattern is None:
        return np.zeros(1)
    return pattern_gain_db(pattern, np.arange(-900.0, 901.0) / 10.0)


@kernel_part
def tilt_gain_db(tilt_db: FloatArray, ends: Ends, radius_km: float) -> float:
    """Return the vertical pattern [dB] towards the other end of a path."""
    if tilt_db.size == 1:
        return 0.0
    # The other end lies lower by the fall of the Earth under the tangent.
    drop_m = 500.0 * ends.distance_km * ends.distance_km / radius_km
    elevation = math.degrees(math.atan2(ends.q_m - ends.p_m - drop_m, 1000.0 * ends.distance_km))
    gain_db: float = tilt_db[math.floor(10.0 * (elevation + 90.0) + 0.5)]
    return gain_db


@kernel
def hardest_service(s: Setting, lacks: npt.NDArray[np.bool_], allowed_db: FloatArray) -> IntArray:
    """Return for each target (n,) the lacking service that has least to spare in free space."""
    out = np.zeros(lacks.shape[0], np.int64)
    for j in range(lacks.shape[0]):
        least = math.inf
        for k in range(lacks.shape[1]):
            # Free space is the one loss that differs between services by a number known beforehand.
            spare = allowed_db[k] - 20.0 * math.log10(s.frequencies.ghz[k])
            if lacks[j, k] and spare < least:
                least, out[j] = spare, k
    return out


@kernel_part
def _least_headroom_db(s: Setting, demand: Demand, j: int, path: P1812Summary) -> float:
    """Return how far the loss of the worst of the lacking services is below what serves [dB]."""
    least = math.inf
    for k in range(demand.lacks.shape[1]):
        if demand.lacks[j, k]:
            least = min(least, demand.allowed_db[k] - service_loss_db(s, k, path))
    return least


@kernel
def price_block(
    s: Setting,
    hills: Places,
    block: Block,
    targets: Places,
    demand: Demand,
    aerials: Aerials,
    headroom: Levels,
) -> int:
    """Fill headroom and bearing of the hills of a block towards each target.

    The headroom counts the vertical pattern but no horizontal one; −inf where not even the best option can
    serve. Returns how many pairs were priced exactly.
    """
    priced = 0
    room = new_scratch(demand.reach_km, s.step_km)
    hints = np.ones((targets.row.size, 2), np.int64)
    for i in range(block[0], block[1]):
        p_m = hills.ground_m[i] + aerials.p_above_m
        for j in range(targets.row.size):
            headroom.level_db[i - block[0], j] = -math.inf
            d = apart_km(hills, i, targets, j, s.cell_km)
            # Cheapest first: the distance, the hardest service in free space, some samples of the ground, the
            # horizons. What is left is priced in full, one pair in many.
            if d > demand.reach_km:
                continue
            k = demand.hardest[j]
            limit = demand.slopes_allowed[k, int(d / BIN_KM)]
            if limit < 0.0:
                continue
            ends = Ends(d, p_m, targets.ground_m[j] + aerials.q_above_m)
            way = Way(hills, i, targets, j, steps_between(d, s.step_km))
            line = line_of(way, s.surface.raster)
            sight = out_of_reach(line, ends, s.bound_radius_km, limit, room, hints, j)
            if sight == LOST or not complete_profile(s.surface, way, d, room):
                continue
            allowed = demand.allowed_db[k] + demand.lift_db
            if sight == HIDDEN and lost_beyond_horizons(s, k, way.steps, ends, allowed, room):
                continue
            priced += 1
            path = summarise_profile(s, way.steps, aerials, room)
            least = _least_headroom_db(s, demand, j, path)
            least += tilt_gain_db(demand.tilt_db, ends, s.radius_km)
            # What even the best option cannot lift to nought is never had, and no option need look at it
            # again.
            if least + demand.lift_db >= 0.0:
                headroom.level_db[i - block[0], j] = least
            tenths = int(10.0 * true_bearing_deg(hills, i, targets, j) + 0.5) % TURNS
            headroom.bearing[i - block[0], j] = tenths
    return priced


@kernel
def best_options(headroom: Levels, excess: Levels, gain_db: FloatArray, scores: HillScores) -> None:
    """Fill for each hill the option of the best score, its people and harm, and whom it serves.

    ``excess`` is that of harm.py, with 0 places where nobody can be harmed. ``gain_db`` (options, 3600) gain
    of each option over the template's ERP by true bearing; of equal options the first is taken.
    """
    hills, targets = headroom.level_db.shape
    reached, touched = np.empty(targets, np.int64), np.empty(excess.people.size, np.int64)
    for i in range(hills):
        count, touches = _finite(headroom.level_db[i], reached), _finite(excess.level_db[i], touched)
        scores.people[i], scores.harmed[i], scores.option[i] = 0.0, 0.0, 0
        for option in range(gain_db.shape[0]):
            gain = gain_db[option]
            people = _people_over(headroom, i, gain, reached[:count], 0.0)
            harmed = _people_over(excess, i, gain, touched[:touches], HARMS_OVER_DB)
            # Strictly more: of equal options the first, which is the one of least number in every run.
            if option == 0 or people - harmed > scores.people[i] - scores.harmed[i]:
                scores.people[i], scores.harmed[i], scores.option[i] = people, harmed, option
        best = gain_db[scores.option[i]]
        for j in range(targets):
            scores.served[i, j] = headroom.level_db[i, j] + best[headroom.bearing[i, j]] >= 0.0


@kernel_part
def _finite(level_db: FloatArray, places: IntArray) -> int:
    """Write the places whose level is above −inf, and return how many they are."""
    count = 0
    for j in range(level_db.size):
        if level_db[j] > -math.inf:
            places[count] = j
            count += 1
    return count


@kernel_part
def _people_over(levels: Levels, i: int, gain_db: FloatArray, places: IntArray, least_db: float) -> float:
    """Return the people at those of the places whose level and gain together reach the least."""
    total = 0.0
    for j in places:
        if levels.level_db[i, j] + gain_db[levels.bearing[i, j]] >= least_db:
            total += levels.people[j]
    return total
