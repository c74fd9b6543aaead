"""How strong a nuisance field a service stands at a place: what one more interferer may bring there.

The judge of :mod:`combe.reception.judge_one` is asked over and over, with all other interferers as they are,
and the new one's level halved in on. So whoever is told harmed by this is harmed by the judge of coverage.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from combe.compiling import kernel
from combe.reception.judge_cells import FloatArray, Judges
from combe.reception.judge_one import judge_one
from combe.reception.judge_scene import HEARD, Place, Scene, Share
from combe.reception.pair_sum import LOGS_PER_DB

_WEAKEST_DBUV_M: Final = -100.0
_OVER_WANTED_DB: Final = 60.0
_HALVINGS: Final = 40


class Heard(NamedTuple):
    """Fields of all emissions at places: x, y [m] (n,); median and at time [dB(µV/m)] (emissions, n)."""

    x_m: FloatArray
    y_m: FloatArray
    median_dbuv_m: FloatArray
    at_time_dbuv_m: FloatArray


def stands_dbuv_m(judges: Judges, heard: Heard, wanted: int, other: int) -> FloatArray:
    """Return the greatest level of one interferer that leaves a service served, for each place.

    Parameters
    ----------
    judges
        Emissions, with ``other`` as an interferer of ``wanted`` at protection ratios of 0 dB and at the place
        of the wanted station, so that its field is its nuisance field.
    heard
        What is heard at the places; −inf of emissions off air. That of ``other`` is not looked at.
    wanted, other
        Indices of the service, and of the interferer.

    Returns
    -------
    array (n,)
        Nuisance field [dB(µV/m)]; −inf where the service is not had even without the interferer.
    """
    most = int((judges.scene.emissions["end_pair"] - judges.scene.emissions["first_pair"]).max())
    out = np.empty(heard.x_m.size)
    _search(judges.scene, judges.share, heard, wanted, other, most, out)
    return out


@kernel
def _margin_db(
    scene: Scene, share: Share, place: Place, wanted: int, other: int, level_db: float, signals: FloatArray
) -> float:
    """Return the margin [dB] of the wanted service with the interferer at a level."""
    place.heard[other].median = level_db
    place.heard[other].at_time = level_db
    verdict = judge_one(wanted, place, scene, share, math.inf, signals)
    margin_db: float = place.heard[wanted].median - verdict.usable / LOGS_PER_DB
    return margin_db


@kernel
def _search(
    scene: Scene, share: Share, heard: Heard, wanted: int, other: int, most: int, out: FloatArray
) -> None:
    """Halve the level in on for each place."""
    count = heard.median_dbuv_m.shape[0]
    signals, there = np.empty((3, most + 1)), np.empty(count + 1, dtype=HEARD)
    for n in range(out.size):
        for i in range(count):
            there[i].median, there[i].at_time = heard.median_dbuv_m[i, n], heard.at_time_dbuv_m[i, n]
        place = Place(heard.x_m[n], heard.y_m[n], there)
        low, high = _WEAKEST_DBUV_M, heard.median_dbuv_m[wanted, n] + _OVER_WANTED_DB
        if not _margin_db(scene, share, place, wanted, other, -math.inf, signals) >= 0.0:
            out[n] = -math.inf
            continue
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            if _margin_db(scene, share, place, wanted, other, middle, signals) >= 0.0:
                low = middle
            else:
                high = middle
        out[n] = low
