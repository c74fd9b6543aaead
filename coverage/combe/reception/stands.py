"""How strong a nuisance field a service stands at a place: what one more interferer may bring there.

The bench of :mod:`combe.reception.bench` is asked over and over, with all other interferers as they are, and
the new one's level halved in on. So whoever is told harmed by this is harmed by the judge of coverage.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from combe.compiling import kernel, kernel_part
from combe.decibels import FloatArray
from combe.reception.bench import HEARD, Bench, Place, Scene, Share, Tile, go_to, set_up
from combe.reception.emission import Partners
from combe.reception.judges import Fields, Judges, make_judges, tile_of
from combe.reception.judging import judge_place
from combe.reception.summing import LOGS_PER_DB

_WEAKEST_DBUV_M: Final = -100.0
_OVER_WANTED_DB: Final = 60.0
_HALVINGS: Final = 40


def stands_dbuv_m(judges: Judges, fields: Fields, wanted: int, sigma_db: float) -> FloatArray:
    """Return the greatest nuisance field of one more interferer that leaves a service served.

    Parameters
    ----------
    judges
        All that are on the air.
    fields
        What is heard of them.
    wanted
        Index of the service.
    sigma_db
        Deviation of the new interferer's field over places [dB].

    Returns
    -------
    array (rows, columns)
        Nuisance field [dB(µV/m)], protection ratio and aerial counted; −inf where the service is not had even
        without the interferer.
    """
    tile, stands = tile_of(judges, fields), np.empty(fields.median_dbuv_m.shape[1:])
    _search(_with_one_more(judges, wanted, sigma_db), judges.share, tile, wanted, stands)
    return stands


def _with_one_more(judges: Judges, wanted: int, sigma_db: float) -> Scene:
    """Return the scene with one more emission, the last, whose field is its nuisance field.

    For that its protection ratios are 0 dB, and it lies where the viewers' aerials look.
    """
    own, partners = judges.emissions[wanted], judges.partners
    # Only the wanted service has the new interferer for a partner; the new one has none, and is judged by
    # nobody.
    at, last = int(partners.start[wanted + 1]), partners.start.size - 1
    start = partners.start.copy()
    start[wanted + 1 :] += 1
    with_it = Partners(
        np.append(start, start[-1]),
        np.insert(partners.emission, at, last),
        np.insert(partners.tropospheric_db, at, 0.0),
        np.insert(partners.continuous_db, at, 0.0),
        np.insert(partners.crossed, at, False),
        np.insert(partners.echo, at, False),
    )
    return make_judges([*judges.emissions, replace(own, sigma_db=sigma_db)], judges.rules, with_it).scene


@kernel_part
def _margin_db(wanted: int, level_db: float, place: Place, bench: Bench) -> float:
    """Return the margin [dB] of the wanted service with the new interferer, the last, at a level."""
    place.heard[-1].median = level_db
    place.heard[-1].at_time = level_db
    verdict = judge_place(wanted, place, bench, -math.inf)
    margin_db: float = verdict.level_db - verdict.usable / LOGS_PER_DB
    return margin_db


@kernel
def _search(scene: Scene, share: Share, tile: Tile, wanted: int, stands: FloatArray) -> None:
    """Halve the level in on for each place."""
    bench, heard = set_up(scene, share), np.empty(scene.emissions.size, dtype=HEARD)
    for row in range(tile.median.shape[1]):
        for column in range(tile.median.shape[2]):
            place = go_to(row, column, tile, heard)
            # More interference never raises a margin, so halving finds where it comes to nought; the end
            # kept is the one at which the service is had.
            low, high = _WEAKEST_DBUV_M, place.heard[wanted].median + _OVER_WANTED_DB
            if not _margin_db(wanted, -math.inf, place, bench) >= 0.0:
                stands[row, column] = -math.inf
                continue
            # Forty halvings of some 250 dB leave a fraction of a millionth of a decibel.
            for _ in range(_HALVINGS):
                middle = 0.5 * (low + high)
                if _margin_db(wanted, middle, place, bench) >= 0.0:
                    low = middle
                else:
                    high = middle
            stands[row, column] = low
