"""Where rasters of one set meet: gaps, overlaps, lattices that do not fit, steps along the shared edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final, Literal

import numpy as np
from rasterio.windows import Window

from combe.decibels import FloatArray
from combe.terrain.raster import read_numbers, safe_open
from combe.terrain.raster_look import RasterLook

_NEAR_CELLS: Final = 3.0
"""Edges farther apart are no seam."""

_FITS_CELLS: Final = 0.02
_MOST_PAIRS: Final = 200
_STEP_TIMES: Final = 3.0
"""A step is told where it is this many times what neighbouring cells differ by inside."""

_LEAST_STEP: Final = 0.2


@dataclass(frozen=True)
class Seam:
    """Two rasters that meet.

    Attributes
    ----------
    first, second
        Names of the files: the western or northern one first.
    side
        On which side of the first the second lies.
    gap_cells
        How many cells lie between them; negative where they overlap.
    shift_cells
        How far the second's lattice is off that of the first, along the edge and across it, -0.5 to 0.5 cell.
    step, step_inside
        Middle difference across the seam, and middle size of those between neighbours inside, in the unit
        of the numbers; NaN where they were not compared.
    """

    first: str
    second: str
    side: Literal["east", "south"]
    gap_cells: float
    shift_cells: tuple[float, float]
    step: float
    step_inside: float

    @property
    def is_shifted(self) -> bool:
        """Whether the lattices do not fit."""
        return max(map(abs, self.shift_cells)) > _FITS_CELLS

    @property
    def has_gap(self) -> bool:
        """Whether ground lies between the two."""
        return self.gap_cells > _FITS_CELLS

    @property
    def has_step(self) -> bool:
        """Whether heights jump at the seam more than they do inside."""
        return abs(self.step) > max(_LEAST_STEP, _STEP_TIMES * self.step_inside)


def seams_of(looks: Sequence[RasterLook]) -> tuple[Seam, ...]:
    """Return the seams between north-up rasters of one system and one size of cells."""
    sound = [each for each in looks if each.crs_name and not each.rotated and not each.south_up]
    found = []
    for one, other in list(combinations(sound, 2))[:_MOST_PAIRS]:
        alike = one.crs_name == other.crs_name and all(
            math.isclose(a, b, rel_tol=1e-4) for a, b in zip(one.cell_own, other.cell_own, strict=True)
        )
        if alike:
            found += [seam for pair in ((one, other), (other, one)) if (seam := _seam(*pair)) is not None]
    return tuple(found)


def _seam(one: RasterLook, other: RasterLook) -> Seam | None:
    """Return the seam of a raster with one to its east or south, None where there is none."""
    wide, high = one.cell_own
    w1, s1, e1, n1 = one.bounds
    w2, s2, e2, n2 = other.bounds
    east, south = (w2 - e1) / wide, (s1 - n2) / high
    beside = min(n1, n2) - max(s1, s2) > 2.0 * high
    below = min(e1, e2) - max(w1, w2) > 2.0 * wide
    shift = _part((w2 - w1) / wide), _part((n1 - n2) / high)
    if beside and abs(east) < _NEAR_CELLS:
        step, inside = _step(one, other, "east", east)
        return Seam(one.path.name, other.path.name, "east", east, shift, step, inside)
    if below and abs(south) < _NEAR_CELLS:
        step, inside = _step(one, other, "south", south)
        return Seam(one.path.name, other.path.name, "south", south, shift, step, inside)
    return None


def _part(cells: float) -> float:
    """Return by what a number of cells is more or less than a whole one."""
    return cells - round(cells)


def _step(one: RasterLook, other: RasterLook, side: str, gap: float) -> tuple[float, float]:
    """Return the middle step over a seam, and the middle size of steps beside it."""
    # Where edges overlap, the cells of one place are compared; else those that are neighbours.
    shared = max(0, round(-gap))
    ours, theirs = _edge(one, side, -1 - max(0, shared - 1), 2), _edge(other, "at", 0, 1, side)
    first = (
        round((one.bounds[3] - other.bounds[3]) / one.cell_own[1])
        if side == "east"
        else round((other.bounds[0] - one.bounds[0]) / one.cell_own[0])
    )
    near, inner = ours
    (beyond,) = theirs
    # ``first`` is where the other's edge begins, counted along ours.
    start, end = max(0, first), min(near.size, first + beyond.size)
    if end - start < 2:
        return math.nan, math.nan
    across = beyond[start - first : end - first] - near[start:end]
    inside = np.abs(near[start:end] - inner[start:end])
    if not np.isfinite(across).any() or not np.isfinite(inside).any():
        return math.nan, math.nan
    return float(np.nanmedian(across)), float(np.nanmedian(inside))


def _edge(look: RasterLook, side: str, place: int, count: int, seam: str = "") -> list[FloatArray]:
    """Return rows or columns at an edge, the outermost first."""
    along_rows = (side if side != "at" else seam) == "south"
    length = look.rows if along_rows else look.columns
    first = place % length
    lines = []
    with safe_open(look.path) as dataset:
        for number in range(count):
            at = max(0, first - number)
            window = Window(0, at, look.columns, 1) if along_rows else Window(at, 0, 1, look.rows)
            lines.append(read_numbers(dataset, window).ravel())
    return lines
