"""What is wanted at a place of a network on one frequency: what a receiver can use of all its echoes.

A receiver whose aerial looks at one station hears the others of the network too. It uses a part of each echo;
the rest disturbs. Both parts are of one field, and rise and fall together: an echo of power P of which the
part w is of use is had with the others where Σ w·P ≥ N + r·Σ (1 − w)·P, for noise and all other interference
N and the ratio r that is asked. So each echo counts once, with w − r·(1 − w) of its power, on the side of
which that is: exact, where sums of useful and of harmful parts as if they were independent are not.

The margin is by how much more than r the receiver could ask. With r raised to k·r the parts change sides, so
it is sought; where every echo is of use in full, or not at all, nothing changes sides.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

from combe.compiling import inner_kernel, kernel, kernel_part
from combe.reception.bench import MULTIPLICATION, Bench, Place, arriving_db, asked_by_all, gain_db
from combe.reception.multiplication import Wanted, normal_share, ratio_sigma
from combe.reception.one_frequency import (
    ARRIVAL_US,
    HARM,
    LEVEL,
    LOAD,
    SIGMA,
    WEIGHT,
    arrival_us,
    weigh,
)
from combe.reception.summing import LOGS_PER_DB, SCHWARTZ_YEH, LevelSum, SumSettings, sum_levels

_MOST_STEPS: Final = 30
_CLOSE: Final = 1e-4
"""Of a natural logarithm of power: half a thousandth of a decibel."""

_LOWEST: Final = -100.0 * LOGS_PER_DB
"""No echo that is of use in part falls so far short."""


class Carrier(NamedTuple):
    """What is wanted at a place: its median [dB(µV/m)], deviation and load, and whether echoes add to it."""

    level_db: float
    sigma: float
    load: float
    echoes: bool


class Stand(NamedTuple):
    """How the echoes stand at a place: margin in natural logarithms of power, and the share of places."""

    margin: float
    share: float


@kernel
def carrier_of(wanted: int, place: Place, bench: Bench) -> Carrier:
    """Return what is wanted at a place by an aerial that looks at an emission.

    Where echoes add to it, these stay on the bench with their weights.
    """
    own = bench.scene.emissions[wanted]
    alone = Carrier(place.heard[wanted].median, own.sigma, own.load, False)
    # Off the air, or without prediction, it is nothing that an aerial would look at.
    if not own.grouped or not alone.level_db > -math.inf:
        return alone
    # With no other on the air it stands alone, in a window of its own.
    if _hear(own, alone, place, bench) == 1:
        return alone
    weigh(bench.echoes, _count(own), own.minimum, own)
    total = _useful_sum(own, -math.inf, bench)
    return Carrier(total.mean / LOGS_PER_DB, math.sqrt(total.variance), total.load, True)


@inner_kernel
def _count(own: Any) -> int:
    """Return how many columns of the bench an emission of a network has: itself, and one for each pair."""
    columns: int = own.end_pair - own.first_pair + 1
    return columns


@kernel_part
def _hear(own: Any, alone: Carrier, place: Place, bench: Bench) -> int:
    """Write an emission and its echoes behind its aerial to the bench; return how many arrive."""
    scene, echoes, count = bench.scene, bench.echoes, 1
    echoes[LEVEL, 0], echoes[HARM, 0] = alone.level_db * LOGS_PER_DB, own.own_ratio
    echoes[ARRIVAL_US, 0] = arrival_us(own.x_m - place.x_m, own.y_m - place.y_m, own.delay_us)
    echoes[SIGMA, 0], echoes[LOAD, 0] = own.sigma, own.load
    for index in range(own.first_pair, own.end_pair):
        pair, at = scene.pairs[index], index - own.first_pair + 1
        other = scene.emissions[pair.partner]
        median = place.heard[pair.partner].median
        echoes[LEVEL, at] = -math.inf
        # Written so that an echo without prediction (NaN) adds nothing.
        if pair.echo and median > -math.inf:
            gain = gain_db(own, other, pair.crossed, place, scene.corners)
            echoes[LEVEL, at] = (median + gain) * LOGS_PER_DB
            # What disturbs may be the field of a rare time, which is more than the median that is of use.
            echoes[HARM, at] = (arriving_db(pair, place) - median) * LOGS_PER_DB
            echoes[ARRIVAL_US, at] = arrival_us(other.x_m - place.x_m, other.y_m - place.y_m, other.delay_us)
            echoes[SIGMA, at], echoes[LOAD, at] = other.sigma, other.load
            count += 1
    return count


@inner_kernel
def _of_use(i: int, raised: float, bench: Bench) -> float:
    """Return the part of an echo's power that is of use after what disturbs; negative where more disturbs.

    ``raised`` is the logarithm of k; −inf leaves out what disturbs.
    """
    weight = bench.echoes[WEIGHT, i]
    part: float = weight - math.exp(bench.echoes[HARM, i] + raised) * (1.0 - weight)
    return part


@kernel_part
def _useful_sum(own: Any, raised: float, bench: Bench) -> LevelSum:
    """Return the sum of the echoes that are of use after what of them disturbs; −inf for none."""
    echoes, signals, factor = bench.echoes, bench.signals, own.factor
    useful, least = 0, -math.inf
    for i in range(_count(own)):
        if echoes[LEVEL, i] == -math.inf or _of_use(i, raised, bench) <= 0.0:
            continue
        signals[0, useful] = echoes[LEVEL, i] + math.log(_of_use(i, raised, bench))
        signals[1, useful], signals[2, useful] = echoes[SIGMA, i], echoes[LOAD, i]
        least = max(least, signals[0, useful] - factor * signals[1, useful])
        useful += 1
    if useful == 0:
        return LevelSum(-math.inf, 0.0, 0.0)
    settings = bench.share.summing
    # A method that multiplies chances has no sum of its own.
    method = SCHWARTZ_YEH if settings.method == MULTIPLICATION else settings.method
    chosen = SumSettings(method, settings.k, settings.neglect)
    total = sum_levels(signals[0], signals[1], signals[2], useful, chosen, bench.scene.table)
    # The sums are approximations. A sum is never less than its strongest part, in no share of places.
    mean = max(total.mean, least + factor * math.sqrt(total.variance)) if factor >= 0.0 else total.mean
    return LevelSum(mean, total.variance, total.load)


@kernel_part
def _harmful(own: Any, strength: int, raised: float, bench: Bench) -> int:
    """Put the others, and the echoes that disturb, into the signals; return how many there are."""
    signals, count = bench.signals, strength
    signals[:, :strength] = bench.others[:, :strength]
    for i in range(_count(own)):
        if bench.echoes[LEVEL, i] > -math.inf and _of_use(i, raised, bench) < 0.0:
            # Wanted is compared with k times all that disturbs: of an echo k is in its part already.
            signals[0, count] = bench.echoes[LEVEL, i] + math.log(-_of_use(i, raised, bench)) - raised
            signals[1, count], signals[2, count] = bench.echoes[SIGMA, i], bench.echoes[LOAD, i]
            count += 1
    return count


@kernel_part
def _stand(own: Any, strength: int, raised: float, bench: Bench) -> Stand:
    """Return how the echoes stand against others and themselves where the receiver asks for k times more."""
    signals = bench.signals
    wanted = _useful_sum(own, raised, bench)
    if wanted.mean == -math.inf:
        return Stand(-math.inf, 0.0)
    what = Wanted(math.sqrt(wanted.variance), wanted.load)
    # Noise alone asks for so much, and each that disturbs: less than its strongest part no sum asks.
    least, count = own.minimum + own.factor * what.sigma, _harmful(own, strength, raised, bench)
    spare = wanted.mean - raised
    if count == 1:
        return Stand(spare - least, normal_share(spare - own.minimum, what.sigma))
    for i in range(1, count):
        sigma = ratio_sigma(what, signals[1, i] * signals[1, i], signals[2, i])
        least = max(least, signals[0, i] + own.factor * sigma)
    usable, served = asked_by_all(spare, own.factor, what, count, bench)
    return Stand(spare - max(usable, least), served)


@kernel_part
def stand_of_echoes(own: Any, strength: int, bench: Bench, least: float) -> Stand:
    """Return how the echoes on the bench stand, with noise and other interferers as its first signals.

    One that is not served, where ``least`` asks for more, is only said to be so.
    """
    bench.others[:, :strength] = bench.signals[:, :strength]
    stand = _stand(own, strength, 0.0, bench)
    given_up = stand.margin < 0.0 <= least
    if given_up or not _any_in_part(own, bench):
        return stand
    # What is asked of the others falls one for one with k, and of the echoes faster: the margin lies between
    # nought and what it seems. Where more of every echo disturbs than is of use it seems to have no end.
    near, over_near = 0.0, stand.margin
    far = max(stand.margin, _LOWEST)
    over_far = _stand(own, strength, far, bench).margin
    for _ in range(_MOST_STEPS):
        if abs(far - near) < _CLOSE:
            break
        tried = 0.5 * (far + near)
        if over_near > -math.inf and over_far > -math.inf and over_far != over_near:
            tried = far - over_far * (far - near) / (over_far - over_near)
        over = _stand(own, strength, tried, bench).margin
        if abs(over) < _CLOSE:
            near = tried
            break
        # By false position; the end that stays is taken for half of what it is, or it would stay for long.
        if (over >= 0.0) == (stand.margin >= 0.0):
            near, over_near, over_far = tried, over, 0.5 * over_far
        else:
            far, over_far, over_near = tried, over, 0.5 * over_near
    # The end at which it is served, or is not, as it is with the ratio that is asked.
    return Stand(near, stand.share)


@kernel_part
def _any_in_part(own: Any, bench: Bench) -> bool:
    """Return whether any echo is of use in part."""
    found = False
    for i in range(_count(own)):
        heard = bench.echoes[LEVEL, i] > -math.inf
        found = found or (heard and 0.0 < bench.echoes[WEIGHT, i] < 1.0)
    return found
