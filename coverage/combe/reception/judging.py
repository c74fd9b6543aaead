"""The judge of one place: one wanted emission against noise and interferers.

The noise of the receiver counts as an interferer of the minimum field, or of that which an emission gives for
noise beside interference, without scatter over places. The usable level is the wanted median that a stated
share of places needs. It is never less than noise alone, or any one interferer alone, would ask: that is
exactly true of the chances, and the approximate sums are held to it.

Of a network on one frequency, what is wanted is the sum of what a receiver can use of its echoes.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from combe.compiling import kernel_part
from combe.reception.bench import Bench, Place, arriving_db, asked_by_all, gain_db
from combe.reception.echoes import Carrier, carrier_of, stand_of_echoes
from combe.reception.multiplication import Wanted, normal_share, ratio_sigma
from combe.reception.nuisance import LEAST_GAIN_DB
from combe.reception.summing import LOGS_PER_DB


class Gathered(NamedTuple):
    """The signals that were put together, noise first.

    ``strength`` is how many there are, ``unknown`` how many interferers have no prediction, ``least`` the
    most that one signal alone would ask of the wanted level.
    """

    strength: int
    unknown: int
    least: float


class Verdict(NamedTuple):
    """Level of what is wanted [dB(µV/m)], the usable one, shares of places served, and unknown interferers.

    ``share`` is served with interference, ``noise_share`` by noise alone.
    """

    level_db: float
    usable: float
    share: float
    noise_share: float
    unknown: int


@kernel_part
def gather(wanted: int, place: Place, bench: Bench, carrier: Carrier, limit: float) -> Gathered:
    """Put noise and the nuisance levels at one place into the signals; stop once ``least`` passes a limit."""
    scene, signals = bench.scene, bench.signals
    own, what = scene.emissions[wanted], Wanted(carrier.sigma, carrier.load)
    factor = own.factor
    # Noise is a signal like any other, but one that does not scatter and rises with none.
    signals[0, 0], signals[1, 0], signals[2, 0] = own.noise, 0.0, 0.0
    # Noise alone asks for so much, in the share of places that the factor stands for.
    least = own.minimum + factor * carrier.sigma
    count, unknown = 1, 0
    for index in range(own.first_pair, own.end_pair):
        pair = scene.pairs[index]
        other = scene.emissions[pair.partner]
        nuisance = arriving_db(pair, place)
        # The aerial only takes away, so one too weak before it need not be turned for.
        if math.isnan(nuisance):
            unknown += 1
        elif carrier.echoes and pair.echo:
            # Of what is wanted itself, see the echoes.
            continue
        elif nuisance > own.noise / LOGS_PER_DB + other.cut_db:
            level = (nuisance + gain_db(own, other, pair.crossed, place, scene.corners)) * LOGS_PER_DB
            alone = factor * ratio_sigma(what, other.sigma * other.sigma, other.load)
            least = max(least, level + alone)
            signals[0, count], signals[1, count], signals[2, count] = level, other.sigma, other.load
            count += 1
            # One signal asks for more than there is: what the others add cannot change the answer.
            if least > limit:
                break
    return Gathered(count, unknown, least)


@kernel_part
def judge_place(wanted: int, place: Place, bench: Bench, least_db: float) -> Verdict:
    """Judge one wanted emission at one place; a margin surely under ``least_db`` is only said to be so."""
    scene = bench.scene
    carrier = carrier_of(wanted, place, bench)
    own, level_db = Wanted(carrier.sigma, carrier.load), carrier.level_db
    level = level_db * LOGS_PER_DB
    alone = normal_share(level - scene.emissions[wanted].minimum, own.sigma)
    if carrier.echoes:
        # No one interferer is too much for it: another echo may lift it.
        gathered = gather(wanted, place, bench, carrier, math.inf)
        stand = stand_of_echoes(scene.emissions[wanted], gathered.strength, bench, least_db * LOGS_PER_DB)
        return Verdict(level_db, level - stand.margin, min(stand.share, alone), alone, gathered.unknown)
    limit = (level_db - least_db) * LOGS_PER_DB
    gathered = gather(wanted, place, bench, carrier, limit)
    if gathered.strength == 1 or gathered.least > limit:
        return Verdict(level_db, gathered.least, alone, alone, gathered.unknown)
    usable, served = asked_by_all(level, scene.emissions[wanted].factor, own, gathered.strength, bench)
    # The sums are approximations. No interference leaves less asked than its strongest part does, nor more
    # places served than noise alone.
    return Verdict(level_db, max(usable, gathered.least), min(served, alone), alone, gathered.unknown)


@kernel_part
def least_usable(wanted: int, place: Place, bench: Bench, limit_db: float) -> float:
    """Return a level [dB(µV/m)] that one interferer alone would ask of a wanted emission; −inf for none.

    That interferer is the one that arrives strongest before the aerial; or the first that even the least
    gain of any aerial leaves over a limit, for then the rest need not be looked at.
    """
    scene = bench.scene
    own = scene.emissions[wanted]
    factor = own.factor
    # What is wanted may be more than this emission, so its level tells nothing of what is too much.
    if own.grouped:
        return -math.inf
    # For less than half of the places μ is negative, and a scattered interferer asks less than its median.
    sure_db = limit_db - LEAST_GAIN_DB if factor >= 0.0 else math.inf
    strongest_pair, strongest = -1, -math.inf
    for index in range(own.first_pair, own.end_pair):
        arriving = arriving_db(scene.pairs[index], place)
        if arriving > strongest:
            strongest_pair, strongest = index, arriving
            if arriving > sure_db:
                break
    if strongest_pair < 0:
        return -math.inf
    other = scene.emissions[scene.pairs[strongest_pair].partner]
    if strongest <= own.noise / LOGS_PER_DB + other.cut_db:
        return -math.inf
    alone = factor * ratio_sigma(Wanted(own.sigma, own.load), other.sigma * other.sigma, other.load)
    gain = gain_db(own, other, scene.pairs[strongest_pair].crossed, place, scene.corners)
    asked: float = strongest + gain + alone / LOGS_PER_DB
    return asked
