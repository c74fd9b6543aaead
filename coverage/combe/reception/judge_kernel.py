"""Kernels that judge the cells of a map: the wanted stations in turn, and the best two of them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.reception.judge_one import Verdict, go_to, judge_one, least_usable
from combe.reception.judge_scene import HEARD, Indices, Layers, Place, Records, Scene, Share, Tile
from combe.reception.multiplication import normal_share
from combe.reception.pair_sum import LOGS_PER_DB

FloatArray = npt.NDArray[np.float64]
Candidates = npt.NDArray[np.int64]


@kernel
def noise_margins(
    candidates: Candidates,
    on_air: npt.NDArray[np.bool_],
    place: Place,
    scene: Scene,
    factor: float,
    noise: FloatArray,
) -> int:
    """Write the margins of the candidates against noise alone [dB], and return which is best (−1: none).

    NaN when off air or not predicted.
    """
    best = -1
    for i in range(candidates.size):
        wanted = candidates[i]
        own = scene.emissions[wanted]
        usable_db = (own.minimum + factor * own.sigma) / LOGS_PER_DB
        noise[i] = place.heard[wanted].median - usable_db if on_air[wanted] else math.nan
        if not math.isnan(noise[i]) and (best < 0 or noise[i] > noise[best]):
            best = i
    return best


@inner_kernel
def clear_cell(cell: Any) -> None:
    """Write what stands where nothing is predicted."""
    cell.server, cell.second, cell.serving, cell.worst, cell.unknown = -1, -1, 0, -1, 0
    cell.margin, cell.second_margin, cell.noise_margin = math.nan, math.nan, math.nan
    cell.usable, cell.share, cell.noise_share = math.nan, math.nan, math.nan


@inner_kernel
def write_server(cell: Any, wanted: int, margin: float, verdict: Verdict, noise_share: float) -> None:
    """Put an emission in first place; the one that stood there comes second if it serves."""
    if cell.margin >= 0.0:
        cell.second, cell.second_margin = cell.server, cell.margin
    cell.server, cell.margin, cell.usable = wanted, margin, verdict.usable / LOGS_PER_DB
    cell.share, cell.noise_share = verdict.share, noise_share
    cell.worst, cell.unknown = verdict.worst, verdict.unknown


@kernel
def judge_candidate(
    cell: Any, wanted: int, place: Place, scene: Scene, share: Share, signals: FloatArray
) -> None:
    """Judge one candidate and rank it; an equal one does not displace an earlier one.

    One that cannot serve and cannot beat the best margin so far is given up as soon as that is clear.
    """
    best, second, median = cell.margin, cell.second_margin, place.heard[wanted].median
    limit = math.inf if math.isnan(best) else (median - min(best, 0.0)) * LOGS_PER_DB
    verdict = judge_one(wanted, place, scene, share, limit, signals)
    if verdict.usable > limit:
        return
    margin = median - verdict.usable / LOGS_PER_DB
    cell.serving += 1 if margin >= 0.0 else 0
    if math.isnan(best) or margin > best:
        own = scene.emissions[wanted]
        noise_share = normal_share(median * LOGS_PER_DB - own.minimum, own.sigma)
        write_server(cell, wanted, margin, verdict, noise_share)
    elif margin >= 0.0 and not margin <= second:
        cell.second, cell.second_margin = wanted, margin


@kernel
def judge_cell(
    cell: Any,
    candidates: Candidates,
    on_air: npt.NDArray[np.bool_],
    place: Place,
    scene: Scene,
    share: Share,
    signals: FloatArray,
    noise: FloatArray,
) -> None:
    """Judge the candidates of one cell: the best against noise, then each other that can matter.

    One can matter that may serve, or have as good a margin as the best so far, by two bounds: its margin is
    at most that against noise alone, and that against its strongest interferer alone.
    """
    clear_cell(cell)
    first = noise_margins(candidates, on_air, place, scene, share.factor, noise)
    if first < 0:
        return
    cell.noise_margin = noise[first]
    judge_candidate(cell, candidates[first], place, scene, share, signals)
    for i in range(candidates.size):
        least_margin = min(float(cell.margin), 0.0)
        if i == first or not noise[i] >= least_margin:
            continue
        limit_db = place.heard[candidates[i]].median - least_margin
        if least_usable(candidates[i], place, scene, share.factor, limit_db) <= limit_db:
            judge_candidate(cell, candidates[i], place, scene, share, signals)


@kernel
def judge_tile(
    candidates: Candidates, tile: Tile, scene: Scene, share: Share, most: int, cells: Records
) -> None:
    """Judge all cells of a tile; ``most`` is the greatest number of partners of an emission."""
    signals, noise = np.empty((3, most + 1)), np.empty(candidates.size)
    heard = np.empty(tile.on_air.size, dtype=HEARD)
    for row in range(tile.y_m.size):
        for column in range(tile.x_m.size):
            place = go_to(row, column, tile, heard)
            cell = cells[row, column]
            judge_cell(cell, candidates, tile.on_air, place, scene, share, signals, noise)


@kernel
def judge_named(
    named: Indices, tile: Tile, scene: Scene, share: Share, most: int, margin: Layers, unknown: Indices
) -> None:
    """Write margin and unknown interferers of the emission that is named for each cell; NaN for −1."""
    signals, heard = np.empty((3, most + 1)), np.empty(tile.on_air.size, dtype=HEARD)
    for row in range(tile.y_m.size):
        for column in range(tile.x_m.size):
            wanted = named[row, column]
            margin[row, column], unknown[row, column] = math.nan, 0
            if wanted >= 0 and tile.on_air[wanted]:
                place = go_to(row, column, tile, heard)
                verdict = judge_one(wanted, place, scene, share, math.inf, signals)
                margin[row, column] = place.heard[wanted].median - verdict.usable / LOGS_PER_DB
                unknown[row, column] = verdict.unknown


@kernel
def judge_emission(
    wanted: int, tile: Tile, scene: Scene, share: Share, most: int, margin: Layers, served: Layers
) -> None:
    """Write margin [dB] and share of places served of one emission in every cell; NaN without prediction."""
    signals, heard = np.empty((3, most + 1)), np.empty(tile.on_air.size, dtype=HEARD)
    for row in range(tile.y_m.size):
        for column in range(tile.x_m.size):
            margin[row, column], served[row, column] = math.nan, math.nan
            if not math.isnan(tile.median[wanted, row, column]):
                place = go_to(row, column, tile, heard)
                verdict = judge_one(wanted, place, scene, share, math.inf, signals)
                margin[row, column] = place.heard[wanted].median - verdict.usable / LOGS_PER_DB
                served[row, column] = verdict.share
