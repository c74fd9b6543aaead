"""Kernels that judge the cells of a map: the wanted stations in turn, and the best two of them."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.reception.judge_one import Verdict, judge_one, least_usable
from combe.reception.judge_scene import Indices, Layers, Maps, Scene, Scratch, Share, Tile
from combe.reception.multiplication import normal_share
from combe.reception.pair_sum import LOGS_PER_DB

FloatArray = npt.NDArray[np.float64]
Candidates = npt.NDArray[np.int64]


@kernel
def margin_db(wanted: int, row: int, column: int, tile: Tile, usable: float) -> float:
    """Return how far the wanted median is over a usable level [dB]; NaN without prediction."""
    return float(tile.median[wanted, row, column]) - usable / LOGS_PER_DB


@kernel
def noise_margins(
    candidates: Candidates, row: int, column: int, tile: Tile, scene: Scene, factor: float, noise: FloatArray
) -> None:
    """Write the margins of the candidates against noise alone [dB]; NaN when off air or not predicted."""
    for i in range(candidates.size):
        wanted = candidates[i]
        usable = scene.minimum[wanted] + factor * scene.sigma[wanted]
        noise[i] = margin_db(wanted, row, column, tile, usable) if tile.on_air[wanted] else math.nan


@kernel
def take_best(noise: FloatArray) -> int:
    """Return the candidate of the best margin against noise; −1 when all are taken."""
    best = -1
    for i in range(noise.size):
        if not math.isnan(noise[i]) and (best < 0 or noise[i] > noise[best]):
            best = i
    return best


@kernel
def clear_cell(row: int, column: int, maps: Maps) -> None:
    """Write what stands where nothing is predicted."""
    maps.server[row, column] = maps.second[row, column] = maps.worst[row, column] = -1
    maps.serving[row, column] = maps.unknown[row, column] = 0
    maps.margin[row, column] = maps.second_margin[row, column] = maps.noise_margin[row, column] = math.nan
    maps.usable[row, column] = maps.share[row, column] = maps.noise_share[row, column] = math.nan


@kernel
def write_server(
    wanted: int, row: int, column: int, margin: float, verdict: Verdict, tile: Tile, scene: Scene, maps: Maps
) -> None:
    """Put an emission in first place; the one that stood there comes second if it serves."""
    if maps.margin[row, column] >= 0.0:
        maps.second[row, column] = maps.server[row, column]
        maps.second_margin[row, column] = maps.margin[row, column]
    maps.server[row, column], maps.margin[row, column] = wanted, margin
    maps.usable[row, column] = verdict.usable / LOGS_PER_DB
    spare = float(tile.median[wanted, row, column]) * LOGS_PER_DB - scene.minimum[wanted]
    maps.share[row, column] = verdict.share
    maps.noise_share[row, column] = normal_share(spare, scene.sigma[wanted])
    maps.worst[row, column], maps.unknown[row, column] = verdict.worst, verdict.unknown


@kernel
def judge_candidate(
    wanted: int,
    row: int,
    column: int,
    tile: Tile,
    scene: Scene,
    share: Share,
    scratch: Scratch,
    maps: Maps,
) -> None:
    """Judge one candidate and rank it; an equal one does not displace an earlier one."""
    verdict = judge_one(wanted, row, column, tile, scene, share, scratch)
    margin = margin_db(wanted, row, column, tile, verdict.usable)
    best, second = maps.margin[row, column], maps.second_margin[row, column]
    maps.serving[row, column] += margin >= 0.0
    if math.isnan(best) or margin > best:
        write_server(wanted, row, column, margin, verdict, tile, scene, maps)
    elif margin >= 0.0 and not margin <= second:
        maps.second[row, column], maps.second_margin[row, column] = wanted, margin


@kernel
def can_matter(
    wanted: int, first: int, row: int, column: int, noise: float, tile: Tile, scene: Scene, factor: float,
    best: float,
) -> bool:  # fmt: skip
    """Tell whether a candidate may serve, or have the best margin so far, from bounds of its margin.

    The bounds: its margin against noise alone [dB], and against the first candidate as its only interferer.
    """
    if first < 0:
        return True
    usable = least_usable(wanted, first, row, column, tile, scene, factor)
    ceiling = min(noise, margin_db(wanted, row, column, tile, usable))
    return ceiling >= 0.0 or ceiling > best


@kernel
def judge_cell(
    row: int,
    column: int,
    candidates: Candidates,
    tile: Tile,
    scene: Scene,
    share: Share,
    scratch: Scratch,
    noise: FloatArray,
    maps: Maps,
) -> None:
    """Judge the candidates of one cell, best against noise first, until no other can matter."""
    clear_cell(row, column, maps)
    noise_margins(candidates, row, column, tile, scene, share.factor, noise)
    next_one, first = take_best(noise), -1
    if next_one >= 0:
        maps.noise_margin[row, column] = noise[next_one]
    while next_one >= 0:
        wanted, best = candidates[next_one], float(maps.margin[row, column])
        if noise[next_one] < 0.0 and noise[next_one] <= best:
            break
        if can_matter(wanted, first, row, column, noise[next_one], tile, scene, share.factor, best):
            judge_candidate(wanted, row, column, tile, scene, share, scratch, maps)
        if first < 0:
            first = wanted
        noise[next_one] = math.nan
        next_one = take_best(noise)


@kernel
def judge_tile(candidates: Candidates, tile: Tile, scene: Scene, share: Share, most: int, maps: Maps) -> None:
    """Judge all cells of a tile; ``most`` is the greatest number of partners of an emission."""
    scratch = Scratch(np.empty(most + 1), np.empty(most + 1), np.empty(most + 1))
    noise = np.empty(candidates.size)
    for row in range(tile.y_m.size):
        for column in range(tile.x_m.size):
            judge_cell(row, column, candidates, tile, scene, share, scratch, noise, maps)


@kernel
def judge_named(
    named: Indices, tile: Tile, scene: Scene, share: Share, most: int, margin: Layers, unknown: Indices
) -> None:
    """Write margin and unknown interferers of the emission that is named for each cell; NaN for −1."""
    scratch = Scratch(np.empty(most + 1), np.empty(most + 1), np.empty(most + 1))
    for row in range(tile.y_m.size):
        for column in range(tile.x_m.size):
            wanted = named[row, column]
            margin[row, column], unknown[row, column] = math.nan, 0
            if wanted >= 0 and tile.on_air[wanted]:
                verdict = judge_one(wanted, row, column, tile, scene, share, scratch)
                margin[row, column] = margin_db(wanted, row, column, tile, verdict.usable)
                unknown[row, column] = verdict.unknown
