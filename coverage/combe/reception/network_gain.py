"""What a network on one frequency gives and takes in each cell: gain, delay spread, what its echoes harm."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from combe.compiling import kernel, kernel_part
from combe.reception.bench import HEARD, Bench, Layers, Place, Scene, Share, Tile, go_to, set_up
from combe.reception.echoes import Carrier, carrier_of, stand_of_echoes
from combe.reception.judges import Fields, Judges, tile_of
from combe.reception.judging import gather, judge_place
from combe.reception.one_frequency import HARM, spread_us
from combe.reception.summing import LOGS_PER_DB


class NetworkGain(NamedTuple):
    """An emission of a network on one frequency over a tile, all its stations on the air; (rows, columns).

    ``margin_db`` as it is judged; ``noise_margin_db`` what receivers can use over what noise alone asks [dB],
    and ``alone_db`` the same of the emission's own field, which may be more where receivers put their window
    for others; ``spread_us`` delay spread; ``unharmed_db`` the margin if no echo disturbed, never less than
    the margin; −inf where it has no echoes. NaN without prediction.
    """

    margin_db: Layers
    noise_margin_db: Layers
    alone_db: Layers
    spread_us: Layers
    unharmed_db: Layers


def gain_of_network(judges: Judges, fields: Fields, wanted: int) -> NetworkGain:
    """Return what its network gives and takes to an emission; one of no network gains and loses nothing.

    Errors as :func:`combe.reception.judge_emission`.
    """
    tile = tile_of(judges, fields)
    found = NetworkGain(
        *np.full((len(NetworkGain._fields), *tile.median.shape[1:]), np.nan, dtype=np.float32)
    )
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
            verdict = judge_place(wanted, place, bench, -math.inf)
            carrier = carrier_of(wanted, place, bench)
            alone = median - (own.minimum + own.factor * own.sigma) / LOGS_PER_DB
            asked = (own.minimum + own.factor * carrier.sigma) / LOGS_PER_DB
            margin = verdict.level_db - verdict.usable / LOGS_PER_DB
            found.margin_db[row, column], found.alone_db[row, column] = margin, alone
            found.noise_margin_db[row, column] = carrier.level_db - asked
            found.spread_us[row, column], found.unharmed_db[row, column] = 0.0, -math.inf
            if carrier.echoes:
                found.spread_us[row, column] = spread_us(bench.echoes, own.end_pair - own.first_pair + 1)
                found.unharmed_db[row, column] = max(margin, _clean_margin_db(wanted, place, bench, carrier))


@kernel_part
def _clean_margin_db(wanted: int, place: Place, bench: Bench, carrier: Carrier) -> float:
    """Return the margin if the echoes that a receiver cannot use did not disturb [dB]."""
    gathered = gather(wanted, place, bench, carrier, math.inf)
    # The same echoes are still on the bench; now nothing of them disturbs.
    bench.echoes[HARM, :] = -math.inf
    clean = stand_of_echoes(bench.scene.emissions[wanted], gathered.strength, bench, -math.inf)
    margin_db: float = clean.margin / LOGS_PER_DB
    return margin_db
