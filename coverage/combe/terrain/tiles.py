"""Opens elevation tiles as one terrain: a mosaic whose cells all lie on one lattice.

SRTM tiles share their outer row and column with the neighbour, others abut: both are one lattice, so the
mosaic interpolates across a joint as if the tiles were one file. Nothing is read here but the headers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
import pyproj

from combe.errors import RangeError, RasterError
from combe.terrain.blocks import BlockCache
from combe.terrain.headers import Header, Lattice, Tile, datum_of, ground_cell_m, horizontal, read_header
from combe.terrain.heights import check_datum
from combe.terrain.projecting import LONLAT, is_lonlat, transformer
from combe.words import joined, tell

LARGEST_MISFIT_CELLS: Final = 0.01
"""How far [cells] a tile may lie off the lattice of the first."""


@dataclass(frozen=True)
class Terrain:
    """A mosaic of elevation tiles on one lattice, read when asked.

    Attributes
    ----------
    tiles
        In the order given; where tiles overlap, the first with a height wins.
    crs
        The horizontal CRS of all tiles.
    vertical_datum, surface_model, credit
        What the heights count from, whether they include trees and roofs, and whom to credit. Kept for the
        reports; heights are never shifted from one datum to another.
    west, north
        Outer corner of the mosaic [units of the CRS].
    cell_x, cell_y
        Width and height of a cell [units of the CRS], both positive.
    rows, columns
        Size of the mosaic [cells].
    cell_size_m
        The smaller side of the smallest cell, measured on the ground.
    over, under
        Terrains on lattices of their own: those that go before this one wherever they have a height, and
        those that are asked where it has none (:mod:`combe.terrain.sources`). Words and ``cell_size_m`` are
        then those of all, and ``alone`` is this one as it was by itself.
    fill_within_m
        How far [m] from known ground a void is filled; 0 fills none (:mod:`combe.terrain.voids`).
    """

    tiles: tuple[Tile, ...]
    crs: pyproj.CRS
    vertical_datum: str
    surface_model: bool
    credit: str
    west: float
    north: float
    cell_x: float
    cell_y: float
    rows: int
    columns: int
    cell_size_m: float
    lonlat: bool
    over: tuple[Terrain, ...] = ()
    under: tuple[Terrain, ...] = ()
    alone: Terrain | None = None
    fill_within_m: float = 0.0
    blocks: BlockCache = field(default_factory=BlockCache, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.tiles:
            raise RangeError("number of terrain tiles", 0, "1 or more")


def open_terrain(
    paths: Sequence[Path | str],
    *,
    crs: str | None = None,
    vertical_datum: str = "unknown",
    surface_model: bool = False,
    credit: str = "",
    codes: bool = False,
) -> Terrain:
    """Open elevation files as one terrain, or rasters of another kind that lie in the same way.

    Parameters
    ----------
    paths
        One or more files that :func:`combe.terrain.raster.safe_open` reads, of equal CRS and cell size.
    crs
        CRS of ASCII grids that have none, for example ``"EPSG:32616"``.
    vertical_datum
        What heights count from; taken from the files where they say and this is ``"unknown"``.
    surface_model
        True where heights include trees and roofs.
    credit
        Whom to name on maps and reports.
    codes
        True where cells hold numbers of classes: whatever unit a file declares, they are no heights.

    Raises
    ------
    RasterError
        A file that cannot be used, or that does not lie on the lattice of the first; it is named.
    RangeError
        No file at all.
    """
    headers = read_headers(paths, crs, codes=codes)
    return terrain_of_headers(headers, vertical_datum, surface_model, credit)


def read_headers(paths: Sequence[Path | str], crs: str | None, *, codes: bool = False) -> list[Header]:
    """Read the headers of files; parameters and errors as those of :func:`open_terrain`."""
    if not paths:
        raise RangeError("number of terrain tiles", 0, "1 or more", "name at least one elevation file")
    return [read_header(Path(path), crs, codes) for path in paths]


def terrain_of_headers(
    headers: Sequence[Header], vertical_datum: str, surface_model: bool, credit: str
) -> Terrain:
    """Return the terrain of files whose headers were read; raises RasterError as :func:`open_terrain`."""
    first = headers[0]
    placed = [_place(header, first) for header in headers]
    top, left = min(tile.first_row for tile in placed), min(tile.first_column for tile in placed)
    tiles = tuple(
        replace(tile, first_row=tile.first_row - top, first_column=tile.first_column - left)
        for tile in placed
    )
    lattice = Lattice(
        crs=horizontal(first.crs),
        west=first.lattice.west + left * first.lattice.cell_x,
        north=first.lattice.north - top * first.lattice.cell_y,
        cell_x=first.lattice.cell_x,
        cell_y=first.lattice.cell_y,
        rows=max(tile.first_row + tile.rows for tile in tiles),
        columns=max(tile.first_column + tile.columns for tile in tiles),
    )
    # The first stands for all: every tile was held against its CRS, heights included.
    check_datum(first.path, first.crs, vertical_datum)
    return _terrain(tiles, lattice, datum_of(first.crs, vertical_datum), surface_model, credit)


def terrain_on(tiles: tuple[Tile, ...], lattice: Lattice) -> Terrain:
    """Return a terrain of tiles on their lattice of which nothing else is said, such as one of codes."""
    return _terrain(tiles, lattice, "unknown", False, "")


def _terrain(tiles: tuple[Tile, ...], lattice: Lattice, datum: str, surface: bool, credit: str) -> Terrain:
    """Return the terrain of tiles placed on their lattice."""
    return Terrain(
        tiles=tiles,
        vertical_datum=datum,
        surface_model=surface,
        credit=credit,
        cell_size_m=ground_cell_m(lattice),
        lonlat=is_lonlat(lattice.crs),
        **vars(lattice),
    )


def terrain_of_heights(
    heights_m: npt.ArrayLike,
    *,
    west: float,
    north: float,
    cell_x: float,
    cell_y: float,
    crs: str | int | pyproj.CRS,
    name: str = "heights in memory",
    vertical_datum: str = "unknown",
    surface_model: bool = False,
    credit: str = "",
) -> Terrain:
    """Return heights of an array as a terrain.

    Parameters
    ----------
    heights_m
        Shape (rows, columns), row 0 north [m]; NaN where a height is not known.
    west, north
        Outer north-west corner [units of the CRS].
    cell_x, cell_y
        Width and height of a cell [units of the CRS], both positive.
    crs
        Geographic or projected, such as ``"EPSG:32616"``.
    name, vertical_datum, surface_model, credit
        What reports say of it.

    Raises
    ------
    RangeError
        An array of another shape, or cells of no size.

    Examples
    --------
    >>> import numpy as np
    >>> hill = terrain_of_heights(np.zeros((50, 50)), west=730000.0, north=4060000.0, cell_x=100.0,
    ...                           cell_y=100.0, crs="EPSG:32616")
    >>> hill.rows, hill.lonlat
    (50, False)
    """
    heights = np.array(heights_m, dtype=np.float64)
    if heights.ndim != 2 or min(heights.shape) < 2:
        raise RangeError("shape of the heights", heights.shape, "(rows, columns), 2 or more of each")
    if not (cell_x > 0.0 and cell_y > 0.0):
        raise RangeError("size of a cell", f"{cell_x} x {cell_y}", "more than 0")
    heights.setflags(write=False)
    rows, columns = heights.shape
    tile = Tile(Path(name), rows, columns, 0, 0, narrow=False, held=heights)
    lattice = Lattice(pyproj.CRS.from_user_input(crs), west, north, cell_x, cell_y, rows, columns)
    return _terrain((tile,), lattice, vertical_datum, surface_model, credit)


def terrain_sources(terrain: Terrain) -> tuple[Terrain, ...]:
    """Return the terrains that one is made of, as files have them, in the order in which they are asked."""
    under = [each for each in terrain.under if not each.fill_within_m]
    return (*terrain.over, terrain.alone or terrain, *under)


def all_tiles(terrain: Terrain) -> tuple[Tile, ...]:
    """Return the tiles of all terrains that one is made of."""
    return tuple(tile for each in terrain_sources(terrain) for tile in each.tiles)


def terrain_bounds_deg(terrain: Terrain) -> tuple[float, float, float, float]:
    """Return (west, south, east, north) [degrees] of the mosaic's outer edges.

    ``east`` exceeds 180 where the mosaic crosses the antimeridian.
    """
    west, north = terrain.west, terrain.north
    east, south = west + terrain.columns * terrain.cell_x, north - terrain.rows * terrain.cell_y
    if terrain.lonlat:
        return west, south, east, north
    bounds = transformer(terrain.crs, LONLAT).transform_bounds(west, south, east, north)
    return bounds[0], bounds[1], bounds[2] + 360.0 * (bounds[2] < bounds[0]), bounds[3]


def tile_name_at(terrain: Terrain, row: float, column: float) -> str:
    """Return the names of the tiles that hold a place of the lattice, or ``"none"``."""
    names = [
        tile.name
        for tile in terrain.tiles
        if tile.first_row - 0.5 <= row < tile.first_row + tile.rows - 0.5
        and tile.first_column - 0.5 <= column < tile.first_column + tile.columns - 0.5
    ]
    return joined(", ", names) or "none"


def unit_words(terrain: Terrain) -> str:
    """Say which files declare heights in another unit than the metre; nothing where none does."""
    names: dict[str, list[str]] = {}
    for tile in all_tiles(terrain):
        if tile.unit:
            names.setdefault(tile.unit, []).append(tile.name)
    return joined(
        "; ",
        (
            tell(
                "heights of {tiles} declared in {unit}, converted to metres",
                tiles=joined(", ", tiles),
                unit=unit,
            )
            for unit, tiles in names.items()
        ),
    )


def _place(header: Header, first: Header) -> Tile:
    """Return the tile with its offset [cells] from the first, or say why it is not on the lattice."""
    fault = misfit(header, first)
    if fault is not None:
        raise fault
    row, column = _offset(header, first)
    return replace(header.tile, first_row=round(row), first_column=round(column))


def _offset(header: Header, first: Header) -> tuple[float, float]:
    """Return how far [cells] the corner of a file lies from that of the first, downwards and across."""
    own, base = header.lattice, first.lattice
    # Tiles on both sides of 180° count their longitudes a turn apart and are neighbours all the same.
    turns = 360.0 * round((base.west - own.west) / 360.0) if header.crs.is_geographic else 0.0
    return (base.north - own.north) / base.cell_y, (own.west + turns - base.west) / base.cell_x


def misfit(header: Header, first: Header) -> RasterError | None:
    """Return why a file does not lie on the lattice of the first, None where it does."""
    unlike = _unlike(header, first)
    if unlike is not None:
        return unlike
    row, column = _offset(header, first)
    off = max(abs(column - round(column)), abs(row - round(row)))
    if off > LARGEST_MISFIT_CELLS:
        return RasterError(
            header.path,
            f"its cells lie {off:.2f} of a cell off those of {first.path.name}",
            "warp the tiles to one lattice (gdalwarp -tap) first",
        )
    return None


def _unlike(header: Header, first: Header) -> RasterError | None:
    """Return how CRS or cell size differ from those of the first tile, None where they do not."""
    if not header.crs.equals(first.crs, ignore_axis_order=True):
        return RasterError(
            header.path,
            f"its CRS is {header.crs.name}, that of {first.path.name} is {first.crs.name}",
            "warp the tiles to one CRS (gdalwarp) first",
        )
    own, base = header.lattice, first.lattice
    wide, high = own.cell_x / base.cell_x - 1.0, own.cell_y / base.cell_y - 1.0
    # What a cell is too wide adds up along the tile: its far edge must still lie on the lattice.
    if max(abs(wide) * own.columns, abs(high) * own.rows) > LARGEST_MISFIT_CELLS:
        return RasterError(
            header.path,
            f"its cells are {own.cell_x:.9g} x {own.cell_y:.9g}, "
            f"those of {first.path.name} {base.cell_x:.9g} x {base.cell_y:.9g}",
            "warp the tiles to one cell size (gdalwarp -tr) first",
        )
    return None
