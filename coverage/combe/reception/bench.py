"""The bench that every judge works at: one wanted emission at one place, against noise and interferers.

The noise of the receiver counts as an interferer of the minimum field, or of that which an emission gives for
noise beside interference, without scatter over places. The usable level is the wanted median that a stated
share of places needs. It is never less than noise alone, or any one interferer alone, would ask: that is
exactly true of the chances, and the approximate sums are held to it.

Levels are natural logarithms of power (1 dB = ln(10)/10). Tables are arrays of records: a call between
kernels passes every array as seven words, so a few arrays of records cost much less than many of numbers.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.reception.multiplication import Wanted, normal_share, product_level, product_share, ratio_sigma
from combe.reception.nuisance import LEAST_GAIN_DB, aerial_gain_db
from combe.reception.summing import LOGS_PER_DB, SumSettings, sum_levels

Layers = npt.NDArray[np.float32]
Indices = npt.NDArray[np.int16]
Records = npt.NDArray[Any]

MULTIPLICATION: Final = 3
"""Method number of the simplified multiplication, beside those of :mod:`combe.reception.summing`."""

EMISSION: Final = np.dtype(
    [
        ("x_m", "f8"),
        ("y_m", "f8"),
        ("minimum", "f8"),
        ("noise", "f8"),
        ("sigma", "f8"),
        ("load", "f8"),
        ("cut_db", "f8"),
        ("curve", "i8"),
        ("first_pair", "i8"),
        ("end_pair", "i8"),
    ]
)
"""An emission: place, levels (minimum, and noise beside interference), its scatter, how far under the noise
it is left out as an interferer, which curve its viewers' aerials have, and its pairs."""

PAIR: Final = np.dtype(
    [("partner", "i8"), ("tropospheric_db", "f8"), ("continuous_db", "f8"), ("crossed", "?")]
)
"""An interferer of an emission; see :class:`combe.reception.emission.Partners`."""

HEARD: Final = np.dtype([("median", "f8"), ("at_time", "f8")])
"""Fields of an emission at a place [dB(µV/m)]; −inf when it is off air."""


class Scene(NamedTuple):
    """Emissions, their pairs one after the other, the corners of aerials' curves, the table of pair sums."""

    emissions: Records
    pairs: Records
    corners: FloatArray
    table: FloatArray


class Tile(NamedTuple):
    """Places and fields [dB(µV/m)] (emissions, rows, columns).

    The places [m] are those of a grid, x by column and y by row; or, with ``scattered``, each cell has its
    own, row by row.
    """

    x_m: FloatArray
    y_m: FloatArray
    scattered: bool
    median: Layers
    at_time: Layers
    on_air: npt.NDArray[np.bool_]


class Share(NamedTuple):
    """The share of places to be served, as the factor μ of the normal distribution, and the way to sum."""

    factor: float
    summing: SumSettings


class Place(NamedTuple):
    """One place: where it is [m], and what is heard there of every emission."""

    x_m: float
    y_m: float
    heard: Records


class Bench(NamedTuple):
    """What one thread judges with: the scene, the share asked, and room for the signals of one place.

    ``signals`` (3, n): mean, deviation and load of each.
    """

    scene: Scene
    share: Share
    signals: FloatArray


class Gathered(NamedTuple):
    """The signals that were put together, noise first.

    ``strength`` is how many there are, ``unknown`` how many interferers have no prediction, ``least`` the
    most that one signal alone would ask of the wanted level.
    """

    strength: int
    unknown: int
    least: float


class Verdict(NamedTuple):
    """Usable level, the shares of places served with interference and by noise alone, unknown interferers."""

    usable: float
    share: float
    noise_share: float
    unknown: int


@kernel
def set_up(scene: Scene, share: Share) -> Bench:
    """Return a bench with room for noise and as many interferers as any emission has."""
    most = 0
    for i in range(scene.emissions.size):
        most = max(most, scene.emissions[i].end_pair - scene.emissions[i].first_pair)
    return Bench(scene, share, np.empty((3, most + 1)))


@kernel
def go_to(row: int, column: int, tile: Tile, heard: Records) -> Place:
    """Return the place of a cell; its fields are copied side by side, for they are read many times."""
    for i in range(tile.on_air.size):
        heard[i].median = tile.median[i, row, column] if tile.on_air[i] else -math.inf
        heard[i].at_time = tile.at_time[i, row, column] if tile.on_air[i] else -math.inf
    # A grid has one x a column and one y a row; scattered places have both by their flat number.
    across, down = column, row
    if tile.scattered:
        across = down = row * tile.median.shape[2] + column
    return Place(tile.x_m[across], tile.y_m[down], heard)


@inner_kernel
def arriving_db(pair: Any, place: Place) -> float:
    """Return field plus protection ratio of an interferer [dB(µV/m)] for the time that counts, or NaN."""
    heard = place.heard[pair.partner]
    at_time: float = heard.at_time + pair.tropospheric_db
    median: float = heard.median + pair.continuous_db
    # Not max(): where either is NaN the interferer is unknown, and must not count as the other of the two.
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
        corners[own.curve],
    )


@kernel
def gather(wanted: int, place: Place, bench: Bench, limit: float) -> Gathered:
    """Put noise and the nuisance levels at one place into the signals; stop once ``least`` passes a limit."""
    scene, signals, factor = bench.scene, bench.signals, bench.share.factor
    own = scene.emissions[wanted]
    # Noise is a signal like any other, but one that does not scatter and rises with none.
    signals[0, 0], signals[1, 0], signals[2, 0] = own.noise, 0.0, 0.0
    # Noise alone asks for so much, in the share of places that the factor stands for.
    least = own.minimum + factor * own.sigma
    count, unknown = 1, 0
    for index in range(own.first_pair, own.end_pair):
        pair = scene.pairs[index]
        other = scene.emissions[pair.partner]
        nuisance = arriving_db(pair, place)
        # The aerial only takes away, so one too weak before it need not be turned for.
        if math.isnan(nuisance):
            unknown += 1
        elif nuisance > own.noise / LOGS_PER_DB + other.cut_db:
            level = (nuisance + gain_db(own, other, pair.crossed, place, scene.corners)) * LOGS_PER_DB
            signals[0, count], signals[1, count], signals[2, count] = level, other.sigma, other.load
            alone = factor * ratio_sigma(Wanted(own.sigma, own.load), other.sigma * other.sigma, other.load)
            least = max(least, level + alone)
            count += 1
            # One signal asks for more than there is: what the others add cannot change the answer.
            if least > limit:
                break
    return Gathered(count, unknown, least)


@kernel
def judge_place(wanted: int, place: Place, bench: Bench, limit: float) -> Verdict:
    """Judge one wanted emission at one place; once the usable level is over a limit, just say so."""
    scene, share, signals = bench.scene, bench.share, bench.signals
    own = Wanted(scene.emissions[wanted].sigma, scene.emissions[wanted].load)
    level = place.heard[wanted].median * LOGS_PER_DB
    gathered = gather(wanted, place, bench, limit)
    alone = normal_share(level - scene.emissions[wanted].minimum, own.sigma)
    if gathered.strength == 1 or gathered.least > limit:
        return Verdict(gathered.least, alone, alone, gathered.unknown)
    means, sigmas, loads = signals[0], signals[1], signals[2]
    if share.summing.method == MULTIPLICATION:
        usable = product_level(share.factor, own, means, sigmas, loads, gathered.strength)
        served = product_share(level, own, means, sigmas, loads, gathered.strength)
    else:
        # Wanted less the sum is normal too, so the share μ asks for μ deviations of that difference.
        total = sum_levels(means, sigmas, loads, gathered.strength, share.summing, scene.table)
        sigma = ratio_sigma(own, total.variance, total.load)
        usable = total.mean + share.factor * sigma
        served = normal_share(level - total.mean, sigma)
    # The sums are approximations. No interference leaves less asked than its strongest part does, nor more
    # places served than noise alone.
    return Verdict(max(usable, gathered.least), min(served, alone), alone, gathered.unknown)


@kernel
def least_usable(wanted: int, place: Place, bench: Bench, limit_db: float) -> float:
    """Return a level [dB(µV/m)] that one interferer alone would ask of a wanted emission; −inf for none.

    That interferer is the one that arrives strongest before the aerial; or the first that even the least
    gain of any aerial leaves over a limit, for then the rest need not be looked at.
    """
    scene, factor = bench.scene, bench.share.factor
    own = scene.emissions[wanted]
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
