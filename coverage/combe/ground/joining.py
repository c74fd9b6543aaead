"""Makes one raster of the tiles of a data set, cut to the box: copied cell by cell, nothing warped.

Tiles whose cells are not on one lattice (where columns thin out towards the pole, or another data set stands
in) make a raster each.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
import pyproj
import rasterio
from affine import Affine
from rasterio.windows import Window

from combe.errors import FetchError
from combe.files import replacing
from combe.ground.fetching import Ready
from combe.ground.finding import Gap
from combe.ground.rasters import window_of
from combe.ground.sources import Source
from combe.ground.tilings import Box, projected
from combe.ground.windows import Layout
from combe.terrain import safe_open

MOST_CELLS: Final = 400_000_000
_ROWS_AT_ONCE: Final = 1024
_SAME: Final = 0.01
_VOID: Final = -32768.0


class Joined(NamedTuple):
    """A raster that was made, what it is made of, and the tiles that are missing in it."""

    file: Path
    source: Source
    parts: tuple[Ready, ...]
    gaps: tuple[Gap, ...]


class _Part(NamedTuple):
    """A raster with the window of it that the box meets, a turn further east where that is beyond 180°."""

    ready: Ready
    layout: Layout
    window: tuple[int, int, int, int]
    dtype: str
    nodata: float | None

    @property
    def west(self) -> float:
        """Outer western edge of the window."""
        moved = self.ready.tile.turn if pyproj.CRS(self.layout.crs).is_geographic else 0.0
        return self.layout.place[2] + moved + self.window[0] * self.layout.place[0]

    @property
    def north(self) -> float:
        """Outer northern edge of the window."""
        return self.layout.place[5] + self.window[1] * self.layout.place[4]


def join(ready: Sequence[Ready], gaps: Sequence[Gap], box: Box, name: Callable[[int], Path]) -> list[Joined]:
    """Join rasters of one kind; ``name`` gives the file of each lattice, counted from 0.

    Raises
    ------
    FetchError
        Nothing but missing tiles, or far too many cells.
    """
    parts = [part for each in ready if (part := _part(each, box))]
    if not parts:
        words = ", ".join(sorted({gap.source.file_name(gap.tile) for gap in gaps}))
        raise FetchError(words or "the box", "nothing of the box is there", "see whether the place is right")
    groups: list[list[_Part]] = []
    for part in parts:
        kin = next((group for group in groups if _on_one_lattice(group[0], part)), None)
        if kin is None:
            groups.append([part])
        else:
            kin.append(part)
    # What was asked for goes before what stands in for it; a tile that is missing is filled on its lattice.
    first = gaps[0].source.name if gaps else ""
    groups.sort(key=lambda group: group[0].ready.source.pixel_deg)
    home = next((number for number, group in enumerate(groups) if group[0].ready.source.name == first), 0)
    return [
        _write(group, list(gaps) if number == home else [], box, name(number))
        for number, group in enumerate(groups)
    ]


def _part(ready: Ready, box: Box) -> _Part | None:
    with safe_open(ready.file) as dataset:
        high, wide = dataset.block_shapes[0]
        placed = tuple(float(number) for number in dataset.transform[:6])
        layout = Layout(dataset.width, dataset.height, wide, high, placed, dataset.crs.to_wkt())
        dtype, nodata = dataset.dtypes[0], dataset.nodata
    window = window_of(layout, box, ready.tile.turn, max(ready.source.reach_cells, 1.0))
    return None if window is None else _Part(ready, layout, window, dtype, nodata)


def _on_one_lattice(one: _Part, other: _Part) -> bool:
    a, b = one.layout.place, other.layout.place
    same_size = (
        abs(a[0] / b[0] - 1.0) * other.layout.width < _SAME
        and abs(a[4] / b[4] - 1.0) * other.layout.height < _SAME
    )
    if not same_size or not pyproj.CRS(one.layout.crs).equals(pyproj.CRS(other.layout.crs)):
        return False
    across, down = (one.west - other.west) / a[0], (one.north - other.north) / a[4]
    return max(abs(across - round(across)), abs(down - round(down))) < _SAME


def _write(group: list[_Part], gaps: list[Gap], box: Box, target: Path) -> Joined:
    """Write one lattice: void first, then what stands for missing tiles, then the tiles."""
    first = group[0]
    cell_x, cell_y = first.layout.place[0], -first.layout.place[4]
    frames = [(p.west, p.north - p.window[3] * cell_y, p.west + p.window[2] * cell_x, p.north) for p in group]
    frames += [each for gap in gaps if (each := _gap_frame(gap, first, box, cell_x, cell_y))]
    west, north = min(frame[0] for frame in frames), max(frame[3] for frame in frames)
    columns = round((max(frame[2] for frame in frames) - west) / cell_x)
    rows = round((north - min(frame[1] for frame in frames)) / cell_y)
    if columns * rows > MOST_CELLS:
        raise FetchError(target.name, f"it would have {columns} x {rows} cells", "ask for a smaller area")
    source = first.ready.source
    void = _void(first)
    cells = np.full((rows, columns), void, dtype=first.dtype)
    for frame in frames[len(group) :]:
        cells[_inside(frame, west, north, cell_x, cell_y)] = gaps[0].source.missing_value
    for part in group:
        _copy(part, cells, round((north - part.north) / cell_y), round((part.west - west) / cell_x), void)
    place = Affine(cell_x, 0.0, west, 0.0, -cell_y, north)
    _save(target, cells, pyproj.CRS(first.layout.crs).to_wkt(), place, void, source.credit)
    return Joined(target, source, tuple(part.ready for part in group), tuple(gaps))


def _gap_frame(gap: Gap, first: _Part, box: Box, cell_x: float, cell_y: float) -> Box | None:
    """Return the part of a missing tile that the box meets, on the lattice of the tiles beside it."""
    if gap.tile.bounds is None:
        return None
    # Tiles with centres on whole degrees lie half a cell to the north-west of their names.
    low = [
        first.west + cell_x * math.floor((edge - first.west) / cell_x - 0.5)
        for edge in (gap.tile.bounds[0], gap.tile.bounds[2])
    ]
    high = [
        first.north + cell_y * math.ceil((edge - first.north) / cell_y + 0.0)
        for edge in (gap.tile.bounds[1], gap.tile.bounds[3])
    ]
    wanted = projected(first.layout.crs, box)
    pad = 2.0
    west = max(low[0], first.west + cell_x * math.floor((wanted[0] - first.west) / cell_x - pad))
    east = min(low[1] + cell_x, first.west + cell_x * math.ceil((wanted[2] - first.west) / cell_x + pad))
    south = max(high[0] - cell_y, first.north + cell_y * math.floor((wanted[1] - first.north) / cell_y - pad))
    north = min(high[1], first.north + cell_y * math.ceil((wanted[3] - first.north) / cell_y + pad))
    return (west, south, east, north) if west < east and south < north else None


def _inside(frame: Box, west: float, north: float, cell_x: float, cell_y: float) -> tuple[slice, slice]:
    rows = slice(round((north - frame[3]) / cell_y), round((north - frame[1]) / cell_y))
    return rows, slice(round((frame[0] - west) / cell_x), round((frame[2] - west) / cell_x))


def _void(part: _Part) -> float:
    if part.nodata is not None:
        return float(part.nodata)
    if part.ready.source.nodata is not None:
        return part.ready.source.nodata
    # Classes of water and the like declare none; their bytes have room for it at the top.
    return 255.0 if part.dtype == "uint8" else _VOID


def _copy(part: _Part, cells: Any, row: int, column: int, void: float) -> None:
    """Copy the window of a part, some rows at a time; a void leaves what another part has there."""
    source = part.ready.source
    means_nobody = source.nodata_means == "nobody"
    with safe_open(part.ready.file) as dataset:
        for start in range(0, part.window[3], _ROWS_AT_ONCE):
            count = min(_ROWS_AT_ONCE, part.window[3] - start)
            window = Window(part.window[0], part.window[1] + start, part.window[2], count)
            content = dataset.read(1, window=window)
            missing = _is_void(content, part.nodata) | _is_void(content, source.nodata)
            there = cells[row + start : row + start + count, column : column + part.window[2]]
            there[~missing] = content[~missing]
            if means_nobody:
                there[missing & (there == np.asarray(void, dtype=there.dtype))] = 0


def _is_void(content: Any, nodata: float | None) -> Any:
    if nodata is None:
        return np.zeros(content.shape, dtype=bool)
    return np.isnan(content) if math.isnan(nodata) else content == np.asarray(nodata).astype(content.dtype)


def _save(target: Path, cells: Any, crs: str, place: Affine, void: float, credit: str) -> None:
    with replacing(target) as beside:
        profile = {
            "driver": "GTiff", "height": cells.shape[0], "width": cells.shape[1], "count": 1,
            "dtype": cells.dtype,
            "crs": crs, "transform": place, "nodata": void, "compress": "deflate", "tiled": True,
            "blockxsize": 256, "blockysize": 256,
        }  # fmt: skip
        with rasterio.open(beside, "w", **profile) as made:
            made.write(cells, 1)
            made.update_tags(TIFFTAG_COPYRIGHT=credit.encode("ascii", "replace").decode().replace("?", "(c)"))
