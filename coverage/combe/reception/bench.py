"""The bench that every judge works at: emissions and their pairs, a place, and what is heard there.

Levels are natural logarithms of power (1 dB = ln(10)/10). Tables are arrays of records: a call between
kernels passes every array as seven words, so a few arrays of records cost much less than many of numbers.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel, kernel_part
from combe.decibels import FloatArray
from combe.reception.multiplication import Wanted, normal_share, product_level, product_share, ratio_sigma
from combe.reception.nuisance import aerial_gain_db
from combe.reception.one_frequency import ROWS
from combe.reception.summing import SumSettings, sum_levels

Layers = npt.NDArray[np.float32]
Indices = npt.NDArray[np.int16]
Records = npt.NDArray[Any]
Margins = npt.NDArray[np.float32]

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
        ("factor", "f8"),
        ("cut_db", "f8"),
        ("curve", "i8"),
        ("first_pair", "i8"),
        ("end_pair", "i8"),
        ("grouped", "?"),
        ("window", "i8"),
        ("delay_us", "f8"),
        ("useful_us", "f8"),
        ("guard_us", "f8"),
        ("equalised_us", "f8"),
        ("own_ratio", "f8"),
    ]
)
"""An emission: place, levels (minimum, and noise beside interference), its scatter, the share of places to
be served as the factor μ of the normal distribution, how far under the noise it is left out as an interferer,
which curve its viewers' aerials have, and its pairs. If it is one of a network on one frequency: the
receiver's window by number, delay and symbol, and its ratio against what it cannot use of itself."""

PAIR: Final = np.dtype(
    [
        ("partner", "i8"),
        ("tropospheric_db", "f8"),
        ("continuous_db", "f8"),
        ("crossed", "?"),
        ("echo", "?"),
    ]
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
    """How the share of places is worked out: the way to sum."""

    summing: SumSettings


class Place(NamedTuple):
    """One place: where it is [m], and what is heard there of every emission."""

    x_m: float
    y_m: float
    heard: Records


class Bench(NamedTuple):
    """What one thread judges with: the scene, the share asked, and room for the signals of one place.

    ``signals`` (3, n): mean, deviation and load of each; ``others`` of the same shape keeps them. ``echoes``:
    see :mod:`combe.reception.one_frequency`; the wanted emission first, then one for each of its pairs.
    ``noise`` (emissions,) keeps margins against noise [dB].
    """

    scene: Scene
    share: Share
    signals: FloatArray
    others: FloatArray
    echoes: FloatArray
    noise: Margins


class Asked(NamedTuple):
    """What signals together ask of a wanted level, and the share of places in which one level serves."""

    usable: float
    share: float


@kernel
def set_up(scene: Scene, share: Share) -> Bench:
    """Return a bench with room for noise and as many interferers as any emission has."""
    most = 0
    for i in range(scene.emissions.size):
        most = max(most, scene.emissions[i].end_pair - scene.emissions[i].first_pair)
    # Of a network on one frequency what is wanted may disturb itself too.
    signals, others, echoes = np.empty((3, most + 2)), np.empty((3, most + 2)), np.zeros((ROWS, most + 1))
    return Bench(scene, share, signals, others, echoes, np.empty(scene.emissions.size, dtype=np.float32))


@kernel_part
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


@kernel_part
def asked_by_all(level: float, factor: float, wanted: Wanted, count: int, bench: Bench) -> Asked:
    """Return what the first signals on the bench together ask of what is wanted, and how its level stands."""
    means, sigmas, loads = bench.signals[0], bench.signals[1], bench.signals[2]
    summing = bench.share.summing
    if summing.method == MULTIPLICATION:
        return Asked(
            product_level(factor, wanted, means, sigmas, loads, count),
            product_share(level, wanted, means, sigmas, loads, count),
        )
    # Wanted less the sum is normal too, so the share μ asks for μ deviations of that difference.
    total = sum_levels(means, sigmas, loads, count, summing, bench.scene.table)
    sigma = ratio_sigma(wanted, total.variance, total.load)
    return Asked(total.mean + factor * sigma, normal_share(level - total.mean, sigma))
