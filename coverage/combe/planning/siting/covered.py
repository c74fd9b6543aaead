"""The samples of a straight way over ground cover: closer near both ends, with the highest cover between.

The step of cover and the reasons for it are those of :mod:`combe.terrain.cover_step`, as in the area sweep.
All samples of the plain profile are among these, so that a bound over the bare ground of those still holds.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.planning.siting.setting import Scratch, Setting
from combe.planning.siting.straight import FloatArray, Line, Places, height_on, line_between, nearest_to
from combe.terrain.cover_step import COVER_STEP_M, NEAR_STEPS, cover_parts

_SAME_STEP = 1e-6
"""Samples nearer to each other than this share of a step are one."""


@kernel
def near_places(step_km: float, at: FloatArray) -> int:
    """Fill ``at`` with places near an end [steps from it], the first sample of the plain profile among them.

    Returns how many they are.
    """
    share = min(COVER_STEP_M / (1000.0 * step_km), 1.0)
    count = 0
    for k in range(1, int(NEAR_STEPS / share) + 1):
        before, here = (k - 1) * share, k * share
        if before < 1.0 - _SAME_STEP and here > 1.0 + _SAME_STEP:
            at[count] = 1.0
            count += 1
        at[count] = here
        count += 1
    return count


@kernel
def _place_samples(steps: int, step_km: float, room: Scratch) -> int:
    """Fill where the samples of the whole way are [steps from its beginning]; returns how many are near."""
    at = room.covered.at
    at[0] = 0.0
    near = near_places(step_km, at[1:])
    for n in range(2, steps - 1):
        at[near + n - 1] = n
    size = 2 * near + steps - 1
    for n in range(near + 1):
        at[size - 1 - n] = steps - at[n]
    room.covered.size[0] = size
    return near


@kernel
def _highest_cover(
    cover: npt.NDArray[np.float32],
    finer: int,
    p: Places,
    i: int,
    q: Places,
    j: int,
    steps: int,
    n: float,
    parts: int,
) -> float:
    """Return the highest cover [m] within half a step of sample n; NaN where any is not known."""
    highest = 0.0
    for part in range(parts):
        share = (n - 0.5 + (part + 0.5) / parts) / steps
        value = nearest_to(cover, finer, p, i, q, j, share, math.nan)
        highest = value if value > highest or math.isnan(value) else highest
    return highest


@kernel
def _cover_samples(
    s: Setting, p: Places, i: int, q: Places, j: int, steps: int, step_km: float, near: int, room: Scratch
) -> None:
    """Fill the cover [m] of all samples but the ends."""
    finer, parts = s.cover.shape[0] // s.raster.shape[0], cover_parts(1000.0 * step_km)
    size = room.covered.size[0]
    for n in range(1, size - 1):
        place = room.covered.at[n]
        if near < n < size - 1 - near:
            room.covered.cover[n] = _highest_cover(s.cover, finer, p, i, q, j, steps, place, parts)
        else:
            room.covered.cover[n] = nearest_to(s.cover, finer, p, i, q, j, place / steps, math.nan)


@kernel
def _ground_samples(line: Line, room: Scratch) -> None:
    """Fill the ground [m] of all samples; the ends have their own."""
    size = room.covered.size[0]
    for n in range(1, size - 1):
        room.covered.ground[n] = height_on(line, room.covered.at[n])
    room.covered.ground[0], room.covered.ground[size - 1] = room.ground[0], room.ground[line.steps]


@kernel
def complete_covered(
    s: Setting, p: Places, i: int, q: Places, j: int, steps: int, step_km: float, room: Scratch
) -> bool:
    """Fill the samples over cover of a way whose plain profile is filled.

    False where ground, cover or zone is not known on the way.
    """
    near = _place_samples(steps, step_km, room)
    _ground_samples(line_between(s.raster, p, i, q, j, steps), room)
    _cover_samples(s, p, i, q, j, steps, step_km, near, room)
    size, total, known = room.covered.size[0], 0.0, True
    room.covered.cover[0] = room.covered.cover[size - 1] = 0.0
    for n in range(size):
        room.covered.distance[n] = room.covered.at[n] * step_km
        total += room.covered.ground[n] + room.covered.cover[n]
        if s.zones.size > 0:
            zone = int(nearest_to(s.zones, 1, p, i, q, j, room.covered.at[n] / steps, 0.0))
            room.covered.zone[n] = zone
            known = known and zone > 0
    return known and not math.isnan(total)
