"""Opens elevation tiles as one terrain: a mosaic whose cells all lie on one lattice.

SRTM tiles share their outer row and column with the neighbour, others abut: both are one lattice, so the
mosaic interpolates across a joint as if the tiles were one file. Nothing is read here but the headers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import pyproj

from combe.decibels import FloatArray
from combe.errors import RangeError, RasterError
from combe.geodesy import ellipsoid
from combe.terrain.blocks import BlockCache
from combe.terrain.heights import HeightUnit, check_datum, height_unit
from combe.terrain.projecting import LONLAT, is_lonlat, to_lonlat, transformer
from combe.terrain.raster import check_north_up, check_one_band, dataset_crs, no_crs_error, safe_open
from combe.words import joined, tell

LARGEST_MISFIT_CELLS: Final = 0.01
"""How far [cells] a tile may lie off the lattice of the first."""

_EXACT_IN_FLOAT32: Final = {"int8", "uint8", "int16", "uint16", "float32"}


@dataclass(frozen=True)
class Tile:
    """One elevation file and its place on the mosaic's lattice.

    ``first_row`` and ``first_column`` are its offset [cells] from the mosaic's north-west corner;
    ``narrow`` tells that single precision holds its heights exactly, ``metres_a_unit`` what one of its units
    of height is [m], ``unit`` that unit's name where the file declares another than the metre. ``held`` are
    its heights where they lie in memory and in no file; ``path`` is then a name alone.
    """

    path: Path
    rows: int
    columns: int
    first_row: int
    first_column: int
    narrow: bool
    metres_a_unit: float = 1.0
    unit: str = ""
    held: FloatArray | None = field(default=None, repr=False, compare=False)

    @property
    def name(self) -> str:
        """The file's name, as errors print it."""
        return self.path.name


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
    blocks: BlockCache = field(default_factory=BlockCache, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.tiles:
            raise RangeError("number of terrain tiles", 0, "1 or more")


@dataclass(frozen=True)
class _Lattice:
    """Where cells lie: outer north-west corner and cell size [units of the CRS], size [cells]."""

    crs: pyproj.CRS
    west: float
    north: float
    cell_x: float
    cell_y: float
    rows: int
    columns: int


@dataclass(frozen=True)
class _Header:
    """What the header of one file says: its full CRS, its own lattice, and itself as a lone tile."""

    path: Path
    crs: pyproj.CRS
    lattice: _Lattice
    tile: Tile


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
    if not paths:
        raise RangeError("number of terrain tiles", 0, "1 or more", "name at least one elevation file")
    headers = [_read_header(Path(path), crs, codes) for path in paths]
    first = headers[0]
    placed = [_place(header, first) for header in headers]
    top, left = min(tile.first_row for tile in placed), min(tile.first_column for tile in placed)
    tiles = tuple(
        replace(tile, first_row=tile.first_row - top, first_column=tile.first_column - left)
        for tile in placed
    )
    lattice = _Lattice(
        crs=_horizontal(first.crs),
        west=first.lattice.west + left * first.lattice.cell_x,
        north=first.lattice.north - top * first.lattice.cell_y,
        cell_x=first.lattice.cell_x,
        cell_y=first.lattice.cell_y,
        rows=max(tile.first_row + tile.rows for tile in tiles),
        columns=max(tile.first_column + tile.columns for tile in tiles),
    )
    # The first stands for all: every tile was held against its CRS, heights included.
    check_datum(first.path, first.crs, vertical_datum)
    return _terrain(tiles, lattice, _datum(first.crs, vertical_datum), surface_model, credit)


def _terrain(tiles: tuple[Tile, ...], lattice: _Lattice, datum: str, surface: bool, credit: str) -> Terrain:
    """Return the terrain of tiles placed on their lattice."""
    return Terrain(
        tiles=tiles,
        vertical_datum=datum,
        surface_model=surface,
        credit=credit,
        cell_size_m=_ground_cell_m(lattice),
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
    lattice = _Lattice(pyproj.CRS.from_user_input(crs), west, north, cell_x, cell_y, rows, columns)
    return _terrain((tile,), lattice, vertical_datum, surface_model, credit)


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
    for tile in terrain.tiles:
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


def _read_header(path: Path, stated_crs: str | None, codes: bool) -> _Header:
    """Read what is needed of one file without reading its heights."""
    with safe_open(path) as dataset:
        check_one_band(dataset, path)
        crs = _crs_of(dataset, path, stated_crs)
        check_north_up(dataset, path)
        shape = dataset.transform
        # GDAL counts the height of a cell downwards, so it is below 0 in a north-up raster; here it is a
        # size.
        lattice = _Lattice(crs, shape.c, shape.f, shape.a, -shape.e, dataset.height, dataset.width)
        unit = HeightUnit(1.0, "") if codes else height_unit(dataset, path, crs)
        return _Header(path, crs, lattice, _lone_tile(dataset, path, unit))


def _lone_tile(dataset: Any, path: Path, unit: HeightUnit) -> Tile:
    """Return the tile as if it were alone."""
    scale, offset = float(dataset.scales[0]), float(dataset.offsets[0])
    # A scale, an offset or feet make numbers that single precision may round, whatever the stored type is.
    narrow = dataset.dtypes[0] in _EXACT_IN_FLOAT32 and scale == unit.metres == 1.0 and offset == 0.0
    rows, columns = int(dataset.height), int(dataset.width)
    return Tile(path.absolute(), rows, columns, 0, 0, narrow, unit.metres, unit.name)


def _crs_of(dataset: Any, path: Path, stated: str | None) -> pyproj.CRS:
    """Return the file's own CRS or, for an ASCII grid without one, the stated one."""
    own = dataset_crs(dataset)
    if own is None and (stated is None or dataset.driver != "AAIGrid"):
        raise no_crs_error(path)
    wanted = _stated_crs(path, stated)
    if own is not None and wanted is not None and not _horizontal(own).equals(wanted, ignore_axis_order=True):
        raise RasterError(path, f"its CRS is {own.name}, stated was {wanted.name}", "leave the statement out")
    crs = own or wanted
    assert crs is not None
    if not (crs.is_geographic or crs.is_projected):
        raise RasterError(path, f"its CRS {crs.name} has no place on Earth", "allowed: geographic, projected")
    return crs


def _stated_crs(path: Path, stated: str | None) -> pyproj.CRS | None:
    if stated is None:
        return None
    try:
        return pyproj.CRS.from_user_input(stated)
    except pyproj.exceptions.CRSError as fault:
        raise RasterError(path, f"the stated CRS {stated!r} is unknown", "write it as EPSG:NNNN") from fault


def _horizontal(crs: pyproj.CRS) -> pyproj.CRS:
    """Return the horizontal part of a CRS that also has heights."""
    return crs.sub_crs_list[0] if crs.is_compound else crs.to_2d() if len(crs.axis_info) == 3 else crs


def _datum(crs: pyproj.CRS, stated: str) -> str:
    """Return the stated vertical datum or, failing that, the file's."""
    if stated != "unknown":
        return stated
    if crs.is_compound:
        return str(crs.sub_crs_list[1].name)
    return f"ellipsoid of {crs.name}" if len(crs.axis_info) == 3 else stated


def _place(header: _Header, first: _Header) -> Tile:
    """Return the tile with its offset [cells] from the first, or say why it is not on the lattice."""
    _check_kin(header, first)
    own, base = header.lattice, first.lattice
    # Tiles on both sides of 180° count their longitudes a turn apart and are neighbours all the same.
    turns = 360.0 * round((base.west - own.west) / 360.0) if header.crs.is_geographic else 0.0
    column = (own.west + turns - base.west) / base.cell_x
    row = (base.north - own.north) / base.cell_y
    misfit = max(abs(column - round(column)), abs(row - round(row)))
    if misfit > LARGEST_MISFIT_CELLS:
        raise RasterError(
            header.path,
            f"its cells lie {misfit:.2f} of a cell off those of {first.path.name}",
            "warp the tiles to one lattice (gdalwarp -tap) first",
        )
    return replace(header.tile, first_row=round(row), first_column=round(column))


def _check_kin(header: _Header, first: _Header) -> None:
    """Raise RasterError unless CRS and cell size are those of the first tile."""
    if not header.crs.equals(first.crs, ignore_axis_order=True):
        raise RasterError(
            header.path,
            f"its CRS is {header.crs.name}, that of {first.path.name} is {first.crs.name}",
            "warp the tiles to one CRS (gdalwarp) first",
        )
    own, base = header.lattice, first.lattice
    wide, high = own.cell_x / base.cell_x - 1.0, own.cell_y / base.cell_y - 1.0
    # What a cell is too wide adds up along the tile: its far edge must still lie on the lattice.
    if max(abs(wide) * own.columns, abs(high) * own.rows) > LARGEST_MISFIT_CELLS:
        raise RasterError(
            header.path,
            f"its cells are {own.cell_x:.9g} x {own.cell_y:.9g}, "
            f"those of {first.path.name} {base.cell_x:.9g} x {base.cell_y:.9g}",
            "warp the tiles to one cell size (gdalwarp -tr) first",
        )


def _ground_cell_m(lattice: _Lattice) -> float:
    """Return the smaller ground side [m] of the smallest among the corner cells and the middle one."""
    last_column, last_row = lattice.columns - 1.0, lattice.rows - 1.0
    across, down = np.meshgrid([0.0, last_column / 2.0, last_column], [0.0, last_row / 2.0, last_row])
    x = lattice.west + across.ravel() * lattice.cell_x
    y = lattice.north - down.ravel() * lattice.cell_y
    here = to_lonlat(lattice.crs, x, y)
    wide_m = ellipsoid().inv(*here, *to_lonlat(lattice.crs, x + lattice.cell_x, y))[2]
    high_m = ellipsoid().inv(*here, *to_lonlat(lattice.crs, x, y - lattice.cell_y))[2]
    smaller = np.fmin(wide_m, high_m)
    return float(np.nanmin(np.where(smaller > 0.0, smaller, np.nan)))
