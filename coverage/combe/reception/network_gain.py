"""What a network on one frequency gives and takes in each cell: gain, delay spread, what its echoes harm."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from combe.compiling import kernel
from combe.reception.bench import HEARD, Bench, Layers, Place, Scene, Share, Tile, go_to, set_up
from combe.reception.echoes import carrier_of, stand_of_echoes
from combe.reception.judges import Fields, Judges, tile_of
from combe.reception.judging import gather, judge_place
from combe.reception.one_frequency import HARM, spread_us
from combe.reception.summing import LOGS_PER_DB


class NetworkGain(NamedTuple):
    """An emission of a network on one frequency over a tile, all its stations on the air; (rows, columns).

    ``noise_margin_db`` what receivers can use over what noise alone asks [dB]; ``gain_db`` by how much that
    is more than of the emission alone, negative where receivers put their window for others; ``spread_us``
    delay spread; ``unharmed_db`` the margin if no echo disturbed, never less than the margin; −inf
    where it has no echoes. NaN without prediction.
    """

    noise_margin_db: Layers
    gain_db: Layers
    spread_us: Layers
    unharmed_db: Layers


def gain_of_network(judges: Judges, fields: Fields, wanted: int) -> NetworkGain:
    """Return what its network gives and takes to an emission; one of no network gains and loses nothing.

    Errors as :func:`combe.reception.judge_emission`.
    """
    tile = tile_of(judges, fields)
    found = NetworkGain(*np.full((4, *tile.median.shape[1:]), np.nan, dtype=np.float32))
    _gain_tile(wanted, tile, judges.scene, judges.share, found)
    return found


@kernel
def _gain_tile(wanted: int, tile: Tile, scene: Scene, share: Share, found: NetworkGain) -> None:
    bench, heard = set_up(scene, share), np.empty(tile.on_air.size, dtype=HEARD)
    own = scene.emissions[wanted]
    for row in range(tile.median.shape[1]):
        for column in range(tile.median.shape[2]):
            place = go_to(row, column, tile, heard)
            median = place.heard[wanted].median
            if math.isnan(median):
                continue
            carrier = carrier_of(wanted, place, bench)
            alone = median - (own.minimum + own.factor * own.sigma) / LOGS_PER_DB
            asked = (own.minimum + own.factor * carrier.sigma) / LOGS_PER_DB
            margin = carrier.level_db - asked if carrier.echoes else alone
            found.noise_margin_db[row, column] = margin
            found.gain_db[row, column] = margin - alone if carrier.echoes else 0.0
            found.spread_us[row, column], found.unharmed_db[row, column] = 0.0, -math.inf
            if carrier.echoes:
                found.spread_us[row, column] = spread_us(bench.echoes, own.end_pair - own.first_pair + 1)
                found.unharmed_db[row, column] = _unharmed_db(wanted, place, bench)


@kernel
def _unharmed_db(wanted: int, place: Place, bench: Bench) -> float:
    """Return the margin if the echoes that a receiver cannot use did not disturb [dB]."""
    verdict = judge_place(wanted, place, bench, -math.inf)
    carrier = carrier_of(wanted, place, bench)
    gathered = gather(wanted, place, bench, carrier, math.inf)
    # The same echoes once more, of which nothing disturbs.
    bench.echoes[HARM, :] = -math.inf
    clean = stand_of_echoes(bench.scene.emissions[wanted], gathered.strength, bench, -math.inf)
    margin = verdict.level_db * LOGS_PER_DB - verdict.usable
    return max(clean.margin, margin) / LOGS_PER_DB
