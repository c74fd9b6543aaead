"""The samples of a straight way: ground at equal steps, and over it the zones, and cover more closely.

Over cover the samples stand closer near both ends, with the highest cover of each stretch between; the step
and the reasons for it are those of :mod:`combe.terrain.clutter`, as in the area sweep. All samples of the
plain profile are among these, so that a bound over the bare ground of those still holds.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel_part
from combe.decibels import FloatArray
from combe.prediction.straight import IntArray, Line, Way, height_on, line_of, nearest_on, steps_between
from combe.propagation.p1812 import INLAND
from combe.terrain import COVER_STEP_M, NEAR_STEPS, Block, cover_parts

_SAME_STEP = 1e-6
"""Samples nearer to each other than this share of a step are one."""


class Surface(NamedTuple):
    """What ways run over: the ground [m] in the raster's cells, its cover [m] and its zones, or empty ones.

    Cover has the rows and columns of the raster or so many times them.
    """

    raster: Block
    cover: npt.NDArray[np.float32]
    zones: npt.NDArray[np.uint8]


class CoveredSamples(NamedTuple):
    """Room for the samples of a profile over cover, which are closer near its ends.

    Where they are, counted in steps of the plain profile; then as :class:`Scratch`; ``size`` (1,) how many.
    """

    at: FloatArray
    distance: FloatArray
    ground: FloatArray
    cover: FloatArray
    zone: IntArray
    size: IntArray


class Scratch(NamedTuple):
    """Room for one profile: distance [km], ground and cover [m], zones; and 1/n for n of 1 upwards."""

    distance: FloatArray
    ground: FloatArray
    cover: FloatArray
    zone: IntArray
    inverse: FloatArray
    covered: CoveredSamples


@kernel_part
def new_scratch(longest_km: float, step_km: float) -> Scratch:
    """Return room for profiles of up to ``longest_km``."""
    size = steps_between(longest_km, step_km) + 2
    inverse = np.empty(size)
    for n in range(1, size):
        inverse[n] = 1.0 / n
    zone = np.full(size, INLAND, np.int64)
    near = int(NEAR_STEPS * max(1000.0 * step_km / COVER_STEP_M, 1.0)) + 2
    more = size + 2 * near
    covered = CoveredSamples(
        np.empty(more),
        np.empty(more),
        np.empty(more),
        np.empty(more),
        np.full(more, INLAND, np.int64),
        np.zeros(1, np.int64),
    )
    return Scratch(np.empty(size), np.empty(size), np.zeros(size), zone, inverse, covered)


@kernel_part
def complete_profile(surface: Surface, way: Way, distance_km: float, room: Scratch) -> bool:
    """Add ends, distances, cover and zones to a profile with its ground filled.

    False where ground, cover or zone is not known on the way.
    """
    steps = way.steps
    room.ground[0], room.ground[steps] = way.p.ground_m[way.i], way.q.ground_m[way.j]
    total, known, step_km = 0.0, True, distance_km / steps
    for n in range(steps + 1):
        room.distance[n] = n * step_km
        total += room.ground[n]
    # One sum tells of any void, for NaN stays NaN.
    if math.isnan(total):
        return False
    if surface.cover.size > 0:
        return _complete_covered(surface, way, step_km, room)
    if surface.zones.size > 0:
        for n in range(steps + 1):
            room.zone[n] = int(nearest_on(way, surface.zones, 1, n / steps, 0.0))
            known = known and room.zone[n] > 0
    return known


@kernel_part
def _complete_covered(surface: Surface, way: Way, step_km: float, room: Scratch) -> bool:
    """Fill the samples over cover of a way whose plain profile is filled; False as above."""
    near = _place_samples(way.steps, step_km, room)
    _ground_samples(line_of(way, surface.raster), room)
    _cover_samples(surface, way, step_km, near, room)
    size, total, known = room.covered.size[0], 0.0, True
    room.covered.cover[0] = room.covered.cover[size - 1] = 0.0
    for n in range(size):
        room.covered.distance[n] = room.covered.at[n] * step_km
        total += room.covered.ground[n] + room.covered.cover[n]
        if surface.zones.size > 0:
            zone = int(nearest_on(way, surface.zones, 1, room.covered.at[n] / way.steps, 0.0))
            room.covered.zone[n] = zone
            known = known and zone > 0
    return known and not math.isnan(total)


@kernel_part
def _near_places(step_km: float, at: FloatArray) -> int:
    """Fill ``at`` with places near an end [steps from it], the first sample of the plain profile among them.

    Returns how many they are.
    """
    share = min(COVER_STEP_M / (1000.0 * step_km), 1.0)
    count = 0
    for k in range(1, int(NEAR_STEPS / share) + 1):
        before, here = (k - 1) * share, k * share
        # Where the closer step passes over the plain profile's first sample, that is put in between: the
        # bound over bare ground goes by it.
        if before < 1.0 - _SAME_STEP and here > 1.0 + _SAME_STEP:
            at[count] = 1.0
            count += 1
        at[count] = here
        count += 1
    return count


@kernel_part
def _place_samples(steps: int, step_km: float, room: Scratch) -> int:
    """Fill where the samples of the whole way are [steps from its beginning]; returns how many are near."""
    at = room.covered.at
    at[0] = 0.0
    near = _near_places(step_km, at[1:])
    for n in range(2, steps - 1):
        at[near + n - 1] = n
    size = 2 * near + steps - 1
    # The far end mirrors the near one.
    for n in range(near + 1):
        at[size - 1 - n] = steps - at[n]
    room.covered.size[0] = size
    return near


@kernel_part
def _ground_samples(line: Line, room: Scratch) -> None:
    """Fill the ground [m] of all samples; the ends have their own."""
    size = room.covered.size[0]
    for n in range(1, size - 1):
        room.covered.ground[n] = height_on(line, room.covered.at[n])
    room.covered.ground[0], room.covered.ground[size - 1] = room.ground[0], room.ground[line.steps]


@kernel_part
def _cover_samples(surface: Surface, way: Way, step_km: float, near: int, room: Scratch) -> None:
    """Fill the cover [m] of all samples but the ends."""
    cover = surface.cover
    finer, parts = cover.shape[0] // surface.raster.shape[0], cover_parts(1000.0 * step_km)
    size = room.covered.size[0]
    for n in range(1, size - 1):
        place = room.covered.at[n]
        if near < n < size - 1 - near:
            room.covered.cover[n] = _highest_cover(cover, finer, way, place, parts)
        else:
            room.covered.cover[n] = nearest_on(way, cover, finer, place / way.steps, math.nan)


@kernel_part
def _highest_cover(cover: npt.NDArray[np.float32], finer: int, way: Way, n: float, parts: int) -> float:
    """Return the highest cover [m] within half a step of sample n; NaN where any is not known."""
    highest = 0.0
    for part in range(parts):
        share = (n - 0.5 + (part + 0.5) / parts) / way.steps
        value = nearest_on(way, cover, finer, share, math.nan)
        highest = value if value > highest or math.isnan(value) else highest
    return highest
