"""Several terrains as one: fine ones near a relay over coarse ones beyond, or one beside another.

Each keeps its own lattice and reference system, and is sampled in its own cells; nothing is warped. In the
order given, the first that has a height at a place wins. What stands on the ground and what follows from it
(cover, zones, the table of places) is held on the lattice of the coarsest of them, drawn out over all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from combe.decibels import FloatArray
from combe.terrain.blocks import BlockCache
from combe.terrain.headers import Header
from combe.terrain.projecting import to_lonlat
from combe.terrain.sampling import lattice_position
from combe.terrain.tiles import Terrain, misfit, read_headers, terrain_of_headers

_ALONG_A_SIDE: Final = 21


def open_terrains(
    paths: Sequence[Path | str],
    *,
    crs: str | None = None,
    vertical_datum: str = "unknown",
    surface_model: bool = False,
    credit: str = "",
    sea_floor: bool = False,
    codes: bool = False,
) -> tuple[Terrain, ...]:
    """Open elevation files that need not lie on one lattice: one terrain for each lattice, in order.

    Parameters
    ----------
    sea_floor
        True where heights below 0 are the bed of the sea, whose surface is at 0.
    paths, crs, vertical_datum, surface_model, credit, codes
        As for :func:`combe.terrain.tiles.open_terrain`.

    Raises
    ------
    RasterError, RangeError
        As that one does, but for tiles that lie on another lattice than the first.
    """
    groups: list[list[Header]] = []
    for header in read_headers(paths, crs, codes=codes):
        told = replace(header, tile=replace(header.tile, sea_floor=sea_floor))
        kin = next((group for group in groups if misfit(told, group[0]) is None), None)
        if kin is None:
            groups.append([told])
        else:
            kin.append(told)
    return tuple(terrain_of_headers(group, vertical_datum, surface_model, credit) for group in groups)


def join_terrains(terrains: Sequence[Terrain]) -> Terrain:
    """Return terrains of one lattice each as one terrain; the first with a height at a place wins there.

    Ground that was measured goes before ground that was filled in, whichever terrain has it.
    """
    if len(terrains) == 1:
        return terrains[0]
    raw = [replace(each, fill_within_m=0.0, blocks=BlockCache()) for each in terrains]
    filled = [each for each in terrains if each.fill_within_m]
    # The coarsest has the fewest cells for all that is held over the whole area.
    base = max(range(len(raw)), key=lambda number: raw[number].cell_size_m)
    return replace(
        _drawn_out(raw[base], raw),
        alone=raw[base],
        over=tuple(raw[:base]),
        under=(*raw[base + 1 :], *filled),
        vertical_datum=_words([each.vertical_datum for each in raw]),
        credit=_words([each.credit for each in raw if each.credit]),
        surface_model=any(each.surface_model for each in raw),
        cell_size_m=min(each.cell_size_m for each in raw),
    )


def _words(texts: Sequence[str]) -> str:
    return "; ".join(dict.fromkeys(texts))


def _drawn_out(base: Terrain, terrains: Sequence[Terrain]) -> Terrain:
    """Return a terrain on its lattice drawn out over the reach of others; no height where it has no tile."""
    reached = [_reach(base, each) for each in terrains]
    top, left = (min(low[axis] for low, _ in reached) for axis in (0, 1))
    bottom, right = (max(high[axis] for _, high in reached) for axis in (0, 1))
    return replace(
        base,
        tiles=tuple(
            replace(tile, first_row=tile.first_row - top, first_column=tile.first_column - left)
            for tile in base.tiles
        ),
        west=base.west + left * base.cell_x,
        north=base.north - top * base.cell_y,
        rows=bottom - top,
        columns=right - left,
        blocks=BlockCache(),
    )


def _reach(base: Terrain, other: Terrain) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return first, and last + 1, row and column of a lattice that another terrain reaches."""
    if other is base:
        return (0, 0), (base.rows, base.columns)
    row, column = lattice_position(base, *_outer_edge_deg(other))
    row, column = (each[np.isfinite(each)] + 0.5 for each in (row, column))
    if not (row.size and column.size):
        return (0, 0), (base.rows, base.columns)
    return (
        (math.floor(row.min()), math.floor(column.min())),
        (math.ceil(row.max()), math.ceil(column.max())),
    )


def _outer_edge_deg(terrain: Terrain) -> tuple[FloatArray, FloatArray]:
    """Return longitudes and latitudes [degrees] along the outer edge of a terrain, and within."""
    share = np.linspace(0.0, 1.0, _ALONG_A_SIDE)
    across, down = np.meshgrid(
        terrain.west + share * terrain.columns * terrain.cell_x,
        terrain.north - share * terrain.rows * terrain.cell_y,
    )
    return to_lonlat(terrain.crs, across.ravel(), down.ravel())
