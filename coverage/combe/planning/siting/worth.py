"""What each hill is worth as a relay: the headroom towards every target, and the people it newly serves.

For each candidate and target, in one kernel: a target that free space and a few samples of the ground already
put out of reach is passed over; all others are priced exactly over the straight profile between. The headroom
is how far the worst of the services that the target lacks is over its least field.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.planning.siting.bound import BIN_KM, HIDDEN, LOST, lost_beyond_horizons, out_of_reach
from combe.planning.siting.pricing import complete_profile, service_loss_db, summarise_profile
from combe.planning.siting.setting import Setting, new_scratch
from combe.planning.siting.straight import (
    FloatArray,
    IntArray,
    Places,
    apart_km,
    line_between,
    steps_between,
    true_bearing_deg,
)
from combe.planning.siting.template import TURNS
from combe.planning.siting.tilt import tilt_gain_db
from combe.propagation.p1812.summary import P1812Summary

HARMS_OVER_DB: Final = 1e-12
"""A nuisance field just as strong as is stood harms nobody [dB]."""


class Demand(NamedTuple):
    """What targets ask of a relay.

    ``lacks`` (n, services) which services a target lacks; ``allowed_db`` (services,) the greatest basic loss
    that serves at the template's ERP; ``lift_db`` what the best pattern option adds at most; ``tilt_db``
    (1801,) vertical pattern from −90 to 90 degrees, or (1,) without; ``reach_km`` the farthest target.
    """

    lacks: npt.NDArray[np.bool_]
    allowed_db: FloatArray
    lift_db: float
    tilt_db: FloatArray
    reach_km: float


@kernel
def hardest_service(s: Setting, lacks: npt.NDArray[np.bool_], allowed_db: FloatArray) -> IntArray:
    """Return for each target (n,) the lacking service that has least to spare in free space."""
    out = np.zeros(lacks.shape[0], np.int64)
    for j in range(lacks.shape[0]):
        least = math.inf
        for k in range(lacks.shape[1]):
            spare = allowed_db[k] - 20.0 * math.log10(s.frequency_ghz[k])
            if lacks[j, k] and spare < least:
                least, out[j] = spare, k
    return out


@kernel
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
    first: int,
    last: int,
    targets: Places,
    hardest: IntArray,
    slopes_allowed: FloatArray,
    demand: Demand,
    tx_above_m: float,
    rx_above_m: float,
    headroom_db: FloatArray,
    bearing: npt.NDArray[np.int16],
) -> int:
    """Fill headroom [dB] and bearing [tenths of a degree] of candidates first to last towards each target.

    Both have shape (last − first, targets). The headroom counts the vertical pattern but no horizontal one;
    −inf where not even the best option can serve. Returns how many pairs were priced exactly.
    """
    priced = 0
    room = new_scratch(demand.reach_km, s.step_km)
    hints = np.ones((targets.row.size, 2), np.int64)
    for i in range(first, last):
        p_m = hills.ground_m[i] + tx_above_m
        for j in range(targets.row.size):
            headroom_db[i - first, j] = -math.inf
            distance_km = apart_km(hills, i, targets, j, s.cell_km)
            if distance_km > demand.reach_km:
                continue
            limit = slopes_allowed[hardest[j], int(distance_km / BIN_KM)]
            if limit < 0.0:
                continue
            q_m, steps = targets.ground_m[j] + rx_above_m, steps_between(distance_km, s.step_km)
            line = line_between(s.raster, hills, i, targets, j, steps)
            sight = out_of_reach(line, distance_km, p_m, q_m, s.bound_radius_km, limit, room, hints, j)
            if sight == LOST:
                continue
            if not complete_profile(s, hills, i, targets, j, steps, distance_km, room):
                continue
            k, allowed = hardest[j], demand.allowed_db[hardest[j]] + demand.lift_db
            if sight == HIDDEN and lost_beyond_horizons(s, k, steps, p_m, q_m, allowed, room):
                continue
            priced += 1
            path = summarise_profile(s, steps, tx_above_m, rx_above_m, room)
            least = _least_headroom_db(s, demand, j, path)
            least += tilt_gain_db(demand.tilt_db, p_m, q_m, distance_km, s.radius_km)
            if least + demand.lift_db >= 0.0:
                headroom_db[i - first, j] = least
            bearing[i - first, j] = int(10.0 * true_bearing_deg(hills, i, targets, j) + 0.5) % TURNS
    return priced


@kernel
def best_options(
    headroom_db: FloatArray,
    bearing: npt.NDArray[np.int16],
    people: FloatArray,
    excess_db: FloatArray,
    victim_bearing: npt.NDArray[np.int16],
    victim_people: FloatArray,
    gain_db: FloatArray,
    best_people: FloatArray,
    best_harmed: FloatArray,
    best_option: IntArray,
    served: npt.NDArray[np.bool_],
) -> None:
    """Fill for each candidate the option of the best score, its people and harm, and whom it serves.

    The score is people newly served less people harmed. ``excess_db``, ``victim_bearing`` (candidates,
    places) and ``victim_people`` (places,) are those of harm.py, with 0 places where nobody can be harmed.
    ``gain_db`` (options, 3600) gain of each option over the template's ERP by true bearing; of equal options
    the first is taken. ``served`` (candidates, targets).
    """
    candidates, targets = headroom_db.shape
    reached, touched = np.empty(targets, np.int64), np.empty(victim_people.size, np.int64)
    for i in range(candidates):
        count, touches = _finite(headroom_db[i], reached), _finite(excess_db[i], touched)
        best_people[i], best_harmed[i], best_option[i] = 0.0, 0.0, 0
        for option in range(gain_db.shape[0]):
            gain = gain_db[option]
            total = _over(headroom_db[i], bearing[i], gain, people, reached[:count], 0.0)
            harmed = _over(
                excess_db[i], victim_bearing[i], gain, victim_people, touched[:touches], HARMS_OVER_DB
            )
            if option == 0 or total - harmed > best_people[i] - best_harmed[i]:
                best_people[i], best_harmed[i], best_option[i] = total, harmed, option
        for j in range(targets):
            served[i, j] = headroom_db[i, j] + gain_db[best_option[i], bearing[i, j]] >= 0.0


@kernel
def _finite(level_db: FloatArray, found: IntArray) -> int:
    """Write the places whose level is above −inf, and return how many they are."""
    count = 0
    for j in range(level_db.size):
        if level_db[j] > -math.inf:
            found[count] = j
            count += 1
    return count


@kernel
def _over(
    level_db: FloatArray,
    bearing: npt.NDArray[np.int16],
    gain_db: FloatArray,
    people: FloatArray,
    places: IntArray,
    least_db: float,
) -> float:
    """Return the people at those of the places whose level and gain together reach the least."""
    total = 0.0
    for j in places:
        if level_db[j] + gain_db[bearing[j]] >= least_db:
            total += people[j]
    return total
