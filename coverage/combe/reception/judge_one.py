"""Kernels that judge one wanted emission at one place against noise and all its interferers.

The noise of the receiver counts as an interferer of the minimum field, or of that which an emission gives for
noise beside interference, without scatter over places. The usable level is the wanted median that a stated
share of places needs. It is never less than noise alone, or any one interferer alone, would ask: that is
exactly true of the chances, and the approximate sums are held to it.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

from combe.compiling import inner_kernel, kernel
from combe.reception.judge_scene import FloatArray, Place, Records, Scene, Share, Tile
from combe.reception.multiplication import Wanted, normal_share, product_level, product_share, ratio_sigma
from combe.reception.nuisance import LEAST_GAIN_DB, aerial_gain_db
from combe.reception.pair_sum import LOGS_PER_DB
from combe.reception.summing import sum_levels

MULTIPLICATION: Final = 3
"""Method number of the simplified multiplication, beside those of :mod:`combe.reception.summing`."""


class Gathered(NamedTuple):
    """The signals that were put together, noise first.

    ``strength`` is how many there are, ``worst`` the strongest interferer (−1: none), ``unknown`` how many
    interferers have no prediction, ``least`` the most that one signal alone would ask of the wanted level.
    """

    strength: int
    worst: int
    unknown: int
    least: float


class Verdict(NamedTuple):
    """Usable level, the share of places that is served, the strongest interferer (−1: none), unknown ones."""

    usable: float
    share: float
    worst: int
    unknown: int


@kernel
def go_to(row: int, column: int, tile: Tile, heard: Records) -> Place:
    """Return the place of a cell; its fields are copied side by side, for they are read many times."""
    for i in range(tile.on_air.size):
        heard[i].median = tile.median[i, row, column] if tile.on_air[i] else -math.inf
        heard[i].at_time = tile.at_time[i, row, column] if tile.on_air[i] else -math.inf
    return Place(tile.x_m[column], tile.y_m[row], heard)


@inner_kernel
def arriving_db(pair: Any, place: Place) -> float:
    """Return field plus protection ratio of an interferer [dB(µV/m)] for the time that counts, or NaN."""
    heard = place.heard[pair.partner]
    at_time: float = heard.at_time + pair.tropospheric_db
    median: float = heard.median + pair.continuous_db
    if math.isnan(at_time) or at_time > median:
        return at_time
    return median


@inner_kernel
def gain_db(own: Any, other: Any, crossed: bool, place: Place, corners: FloatArray) -> float:
    """Return the gain [dB] towards an interferer of an aerial that looks at the wanted station."""
    return aerial_gain_db(
        own.x_m - place.x_m,
        own.y_m - place.y_m,
        other.x_m - place.x_m,
        other.y_m - place.y_m,
        crossed,
        corners,
    )


@kernel
def gather(
    wanted: int, place: Place, scene: Scene, factor: float, limit: float, signals: FloatArray
) -> Gathered:
    """Put noise and the nuisance levels at one place into the signals; stop once ``least`` passes a limit.

    ``signals`` (3, n): mean, deviation and load of each.
    """
    own = scene.emissions[wanted]
    signals[0, 0], signals[1, 0], signals[2, 0] = own.noise, 0.0, 0.0
    least = own.minimum + factor * own.sigma
    count, worst, unknown, strongest = 1, -1, 0, -math.inf
    for index in range(own.first_pair, own.end_pair):
        pair = scene.pairs[index]
        other = scene.emissions[pair.partner]
        nuisance = arriving_db(pair, place)
        if math.isnan(nuisance):
            unknown += 1
        elif nuisance > own.noise / LOGS_PER_DB + other.cut_db:
            level = (nuisance + gain_db(own, other, pair.crossed, place, scene.corners)) * LOGS_PER_DB
            signals[0, count], signals[1, count], signals[2, count] = level, other.sigma, other.load
            alone = factor * ratio_sigma(Wanted(own.sigma, own.load), other.sigma * other.sigma, other.load)
            least = max(least, level + alone)
            count += 1
            if level > strongest:
                strongest, worst = level, pair.partner
            if least > limit:
                break
    return Gathered(count, worst, unknown, least)


@kernel
def judge_one(
    wanted: int, place: Place, scene: Scene, share: Share, limit: float, signals: FloatArray
) -> Verdict:
    """Judge one wanted emission at one place; once the usable level is over a limit, just say so."""
    own = Wanted(scene.emissions[wanted].sigma, scene.emissions[wanted].load)
    level = place.heard[wanted].median * LOGS_PER_DB
    found = gather(wanted, place, scene, share.factor, limit, signals)
    alone = normal_share(level - scene.emissions[wanted].minimum, own.sigma)
    if found.strength == 1 or found.least > limit:
        return Verdict(found.least, alone, found.worst, found.unknown)
    means, sigmas, loads = signals[0], signals[1], signals[2]
    if share.summing.method == MULTIPLICATION:
        usable = product_level(share.factor, own, means, sigmas, loads, found.strength)
        served = product_share(level, own, means, sigmas, loads, found.strength)
    else:
        total = sum_levels(means, sigmas, loads, found.strength, share.summing, scene.table)
        sigma = ratio_sigma(own, total.variance, total.load)
        usable = total.mean + share.factor * sigma
        served = normal_share(level - total.mean, sigma)
    return Verdict(max(usable, found.least), min(served, alone), found.worst, found.unknown)


@kernel
def least_usable(wanted: int, place: Place, scene: Scene, factor: float, limit_db: float) -> float:
    """Return a level [dB(µV/m)] that one interferer alone would ask of a wanted emission; −inf for none.

    That interferer is the one that arrives strongest before the aerial; or the first that even the least
    gain of any aerial leaves over a limit, for then the rest need not be looked at.
    """
    own = scene.emissions[wanted]
    sure_db = limit_db - LEAST_GAIN_DB if factor >= 0.0 else math.inf
    found, strongest = -1, -math.inf
    for index in range(own.first_pair, own.end_pair):
        arriving = arriving_db(scene.pairs[index], place)
        if arriving > strongest:
            found, strongest = index, arriving
            if arriving > sure_db:
                break
    if found < 0:
        return -math.inf
    other = scene.emissions[scene.pairs[found].partner]
    if strongest <= own.noise / LOGS_PER_DB + other.cut_db:
        return -math.inf
    alone = factor * ratio_sigma(Wanted(own.sigma, own.load), other.sigma * other.sigma, other.load)
    gain = gain_db(own, other, scene.pairs[found].crossed, place, scene.corners)
    asked: float = strongest + gain + alone / LOGS_PER_DB
    return asked
