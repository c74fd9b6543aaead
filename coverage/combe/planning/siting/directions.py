"""For a chosen site: the pattern, its azimuth and the ERP that serve the same people with least power.

Every option is let down until the farthest of the targets that depend on the site is only just served. Of
what is left the one that radiates least in all is taken, and of equals the one that spills least beside the
targets.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning.siting.problem import Problem, price_targets
from combe.planning.siting.template import TURNS, PatternOption
from combe.prediction import IntArray

BESIDE_DEG: Final = 5.0
"""Directions farther than this from every target are spill (our own choice)."""

_ROUNDING_DB: Final = 1e-6


@dataclass(frozen=True)
class Direction:
    """An option let down to what its targets need.

    ``down_db`` how far every service may come down from the option's ERP; ``radiated_db`` mean power over all
    bearings, and ``spill_db`` over those beside the targets, against the template's omni at full ERP.
    """

    option: int
    down_db: float
    radiated_db: float
    spill_db: float


def headroom_of(problem: Problem, hill: int) -> tuple[FloatArray, IntArray]:
    """Return headroom [dB] and bearing [tenths of a degree] of one hill towards each target, both (n,)."""
    headroom, _ = price_targets(problem, hill, hill + 1)
    return headroom.level_db[0], headroom.bearing[0].astype(np.int64)


def least_power(
    headroom_db: FloatArray,
    bearing: IntArray,
    depends: npt.NDArray[np.bool_],
    options: Sequence[PatternOption],
) -> Direction:
    """Return the option that serves all targets that depend on a site with least power.

    Parameters
    ----------
    headroom_db, bearing
        Of the site, from :func:`headroom_of`.
    depends
        Targets (n,) that have to stay served.

    Raises
    ------
    RangeError
        Where no target depends on the site, or no option serves all of them.
    """
    if not depends.any():
        raise RangeError("targets that depend on the site", "none", "at least one")
    beside = _beside(bearing[depends])
    serving = [
        direction
        for number, option in enumerate(options)
        if (direction := _let_down(number, option, headroom_db, bearing, depends, beside)) is not None
    ]
    if not serving:
        raise RangeError(
            "options that serve all targets of the site", "none", "one or more", "give more patterns"
        )
    # Rounded, so that options which differ by nothing but the order of a sum are told apart by their spill.
    return min(serving, key=lambda each: (round(each.radiated_db, 6), each.spill_db, each.option))


def _let_down(
    number: int,
    option: PatternOption,
    headroom_db: FloatArray,
    bearing: IntArray,
    depends: npt.NDArray[np.bool_],
    beside: npt.NDArray[np.bool_],
) -> Direction | None:
    """Return an option let down as far as it goes, or None where it does not serve all."""
    spare_db = float(np.min(headroom_db[depends] + option.gain_db[bearing[depends]]))
    if spare_db < -_ROUNDING_DB:
        return None
    # A hair below 0 by rounding was let pass above, and must not raise the power.
    down_db = max(spare_db, 0.0)
    power = 10.0 ** ((option.gain_db - down_db) / 10.0)
    spill = float(power[beside].sum()) / TURNS
    return Direction(number, down_db, _db(float(power.mean())), _db(spill))


def _db(power: float) -> float:
    return float(10.0 * np.log10(power)) if power > 0.0 else float("-inf")


def _beside(bearing: IntArray) -> npt.NDArray[np.bool_]:
    """Return which of the 3600 directions are away from all bearings."""
    near = np.zeros(TURNS, dtype=np.bool_)
    reach = round(BESIDE_DEG * TURNS / 360.0)
    for shift in range(-reach, reach + 1):
        near[(bearing + shift) % TURNS] = True
    return ~near
