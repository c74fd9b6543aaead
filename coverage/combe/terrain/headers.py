"""Reads the header of an elevation file: where its cells lie, what its heights count, and nothing more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyproj

from combe.decibels import FloatArray
from combe.errors import RasterError
from combe.geodesy import ellipsoid
from combe.terrain.heights import HeightUnit, height_unit
from combe.terrain.projecting import to_lonlat
from combe.terrain.raster import check_north_up, check_one_band, dataset_crs, no_crs_error, safe_open

_EXACT_IN_FLOAT32: Final = {"int8", "uint8", "int16", "uint16", "float32"}


@dataclass(frozen=True)
class Tile:
    """One elevation file and its place on the mosaic's lattice.

    ``first_row`` and ``first_column`` are its offset [cells] from the mosaic's north-west corner;
    ``narrow`` tells that single precision holds its heights exactly, ``metres_a_unit`` what one of its units
    of height is [m], ``unit`` that unit's name where the file declares another than the metre. ``held`` are
    its heights where they lie in memory and in no file, and ``make`` works them out where that is put off;
    ``path`` is then a name alone. ``south_up`` tells that the file begins with its southernmost row,
    ``sea_floor`` that heights below 0 are the bed of the sea.
    """

    path: Path
    rows: int
    columns: int
    first_row: int
    first_column: int
    narrow: bool
    metres_a_unit: float = 1.0
    unit: str = ""
    south_up: bool = False
    sea_floor: bool = False
    held: FloatArray | None = field(default=None, repr=False, compare=False)
    make: Callable[[], FloatArray] | None = field(default=None, repr=False, compare=False)

    @property
    def name(self) -> str:
        """The file's name, as errors print it."""
        return self.path.name


@dataclass(frozen=True)
class Lattice:
    """Where cells lie: outer north-west corner and cell size [units of the CRS], size [cells]."""

    crs: pyproj.CRS
    west: float
    north: float
    cell_x: float
    cell_y: float
    rows: int
    columns: int


@dataclass(frozen=True)
class Header:
    """What the header of one file says: its full CRS, its own lattice, and itself as a lone tile."""

    path: Path
    crs: pyproj.CRS
    lattice: Lattice
    tile: Tile


def read_header(path: Path, stated_crs: str | None, codes: bool) -> Header:
    """Read what is needed of one file without reading its heights."""
    with safe_open(path) as dataset:
        check_one_band(dataset, path)
        crs = _crs_of(dataset, path, stated_crs)
        check_north_up(dataset, path, "near" if codes else "bilinear", south_up_too=True)
        shape = dataset.transform
        # GDAL counts the height of a cell downwards, so it is below 0 in a north-up raster; here it is a
        # size.
        north = shape.f + max(shape.e, 0.0) * dataset.height
        lattice = Lattice(crs, shape.c, north, shape.a, abs(shape.e), dataset.height, dataset.width)
        unit = HeightUnit(1.0, "") if codes else height_unit(dataset, path, crs)
        return Header(path, crs, lattice, _lone_tile(dataset, path, unit))


def _lone_tile(dataset: Any, path: Path, unit: HeightUnit) -> Tile:
    """Return the tile as if it were alone."""
    scale, offset = float(dataset.scales[0]), float(dataset.offsets[0])
    # A scale, an offset or feet make numbers that single precision may round, whatever the stored type is.
    narrow = dataset.dtypes[0] in _EXACT_IN_FLOAT32 and scale == unit.metres == 1.0 and offset == 0.0
    rows, columns = int(dataset.height), int(dataset.width)
    south_up = dataset.transform.e > 0.0
    return Tile(path.absolute(), rows, columns, 0, 0, narrow, unit.metres, unit.name, south_up)


def _crs_of(dataset: Any, path: Path, stated: str | None) -> pyproj.CRS:
    """Return the file's own CRS or, for an ASCII grid without one, the stated one."""
    own = dataset_crs(dataset)
    if own is None and (stated is None or dataset.driver != "AAIGrid"):
        raise no_crs_error(path)
    wanted = _stated_crs(path, stated)
    if own is not None and wanted is not None and not horizontal(own).equals(wanted, ignore_axis_order=True):
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


def horizontal(crs: pyproj.CRS) -> pyproj.CRS:
    """Return the horizontal part of a CRS that also has heights."""
    return crs.sub_crs_list[0] if crs.is_compound else crs.to_2d() if len(crs.axis_info) == 3 else crs


def datum_of(crs: pyproj.CRS, stated: str) -> str:
    """Return the stated vertical datum or, failing that, the file's."""
    if stated != "unknown":
        return stated
    if crs.is_compound:
        return str(crs.sub_crs_list[1].name)
    return f"ellipsoid of {crs.name}" if len(crs.axis_info) == 3 else stated


def ground_sides_m(lattice: Lattice) -> tuple[FloatArray, FloatArray]:
    """Return widths and heights on the ground [m] of the corner cells, those between, and the middle one."""
    last_column, last_row = lattice.columns - 1.0, lattice.rows - 1.0
    across, down = np.meshgrid([0.0, last_column / 2.0, last_column], [0.0, last_row / 2.0, last_row])
    x = lattice.west + across.ravel() * lattice.cell_x
    y = lattice.north - down.ravel() * lattice.cell_y
    here = to_lonlat(lattice.crs, x, y)
    wide_m = ellipsoid().inv(*here, *to_lonlat(lattice.crs, x + lattice.cell_x, y))[2]
    high_m = ellipsoid().inv(*here, *to_lonlat(lattice.crs, x, y - lattice.cell_y))[2]
    return np.asarray(wide_m), np.asarray(high_m)


def ground_cell_m(lattice: Lattice) -> float:
    """Return the smaller ground side [m] of the smallest among the corner cells and the middle one."""
    smaller = np.fmin(*ground_sides_m(lattice))
    return float(np.nanmin(np.where(smaller > 0.0, smaller, np.nan)))
