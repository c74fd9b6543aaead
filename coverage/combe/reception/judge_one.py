"""Kernels that judge one wanted emission at one place against noise and all its interferers.

The noise of the receiver counts as an interferer of the minimum field, without scatter over places. The
usable level is the wanted median that a stated share of places needs. It is never less than noise alone, or
any one interferer alone, would ask: that is exactly true of the chances, and the approximate sums are held to
it.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import inner_kernel, kernel
from combe.reception.judge_scene import Scene, Scratch, Share, Tile
from combe.reception.multiplication import Wanted, normal_share, product_level, product_share, ratio_sigma
from combe.reception.nuisance import aerial_gain_db
from combe.reception.pair_sum import LOGS_PER_DB
from combe.reception.summing import sum_levels

MULTIPLICATION: Final = 3
"""Method number of the simplified multiplication, beside those of :mod:`combe.reception.summing`."""


class Gathered(NamedTuple):
    """The signals put into the scratch, noise first.

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


@inner_kernel
def arriving_db(pair: int, other: int, row: int, column: int, tile: Tile, scene: Scene) -> float:
    """Return field plus protection ratio of an interferer [dB(µV/m)] for the time that counts, or NaN."""
    at_time: float = float(tile.at_time[other, row, column]) + scene.tropospheric_db[pair]
    median: float = float(tile.median[other, row, column]) + scene.continuous_db[pair]
    if math.isnan(at_time) or at_time > median:
        return at_time
    return median


@inner_kernel
def gain_db(wanted: int, pair: int, other: int, row: int, column: int, tile: Tile, scene: Scene) -> float:
    """Return the gain [dB] towards an interferer of an aerial that looks at the wanted station."""
    x, y = tile.x_m[column], tile.y_m[row]
    return aerial_gain_db(
        scene.x_m[wanted] - x,
        scene.y_m[wanted] - y,
        scene.x_m[other] - x,
        scene.y_m[other] - y,
        scene.crossed[pair],
        scene.corners,
    )


@kernel
def gather(
    wanted: int, own: Wanted, row: int, column: int, tile: Tile, scene: Scene, share: Share, scratch: Scratch
) -> Gathered:
    """Put noise and the nuisance levels at one place into the scratch."""
    noise = scene.minimum[wanted]
    scratch.means[0], scratch.sigmas[0], scratch.loads[0] = noise, 0.0, 0.0
    least = noise + share.factor * own.sigma
    count, worst, unknown, strongest = 1, -1, 0, -math.inf
    for pair in range(scene.start[wanted], scene.start[wanted + 1]):
        other = scene.partner[pair]
        if not tile.on_air[other]:
            continue
        nuisance = arriving_db(pair, other, row, column, tile, scene)
        if math.isnan(nuisance):
            unknown += 1
        elif nuisance > noise / LOGS_PER_DB + scene.cut_db[other]:
            nuisance += gain_db(wanted, pair, other, row, column, tile, scene)
            level, sigma, load = nuisance * LOGS_PER_DB, scene.sigma[other], scene.load[other]
            scratch.means[count], scratch.sigmas[count], scratch.loads[count] = level, sigma, load
            least = max(least, level + share.factor * ratio_sigma(own, sigma * sigma, load))
            count += 1
            if level > strongest:
                strongest, worst = level, other
    return Gathered(count, worst, unknown, least)


@kernel
def judge_one(
    wanted: int, row: int, column: int, tile: Tile, scene: Scene, share: Share, scratch: Scratch
) -> Verdict:
    """Judge one wanted emission at one place."""
    own = Wanted(scene.sigma[wanted], scene.load[wanted])
    level = float(tile.median[wanted, row, column]) * LOGS_PER_DB
    found = gather(wanted, own, row, column, tile, scene, share, scratch)
    alone = normal_share(level - scene.minimum[wanted], own.sigma)
    if found.strength == 1:
        return Verdict(found.least, alone, found.worst, found.unknown)
    means, sigmas, loads = scratch.means, scratch.sigmas, scratch.loads
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
def pair_of(wanted: int, other: int, scene: Scene) -> int:
    """Return the place of an interferer among the pairs of a wanted emission; −1 when it is none."""
    low, high = scene.start[wanted], scene.start[wanted + 1]
    while low < high:
        middle = (low + high) // 2
        if scene.partner[middle] < other:
            low = middle + 1
        else:
            high = middle
    return low if low < scene.start[wanted + 1] and scene.partner[low] == other else -1


@kernel
def least_usable(
    wanted: int, other: int, row: int, column: int, tile: Tile, scene: Scene, factor: float
) -> float:
    """Return the level that one interferer alone would ask of a wanted emission; −inf when it is none."""
    pair = pair_of(wanted, other, scene)
    if pair < 0:
        return -math.inf
    nuisance = arriving_db(pair, other, row, column, tile, scene)
    if not nuisance > scene.minimum[wanted] / LOGS_PER_DB + scene.cut_db[other]:
        return -math.inf
    nuisance += gain_db(wanted, pair, other, row, column, tile, scene)
    own, sigma = Wanted(scene.sigma[wanted], scene.load[wanted]), scene.sigma[other]
    return nuisance * LOGS_PER_DB + factor * ratio_sigma(own, sigma * sigma, scene.load[other])
