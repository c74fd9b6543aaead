"""Reads a population raster (people per cell) and carries a coverage mask onto it without losing anyone.

Counts must not be warped: a resampled count is no longer a count. So the mask is warped instead, as the
fraction of each population cell that is covered, and people served are counts times fraction.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import pyproj
from rasterio.windows import Window
from scipy.sparse import csr_array

from combe.decibels import FloatArray
from combe.errors import RangeError, RasterError
from combe.terrain.areas import cell_areas_km2
from combe.terrain.cell_shares import Transform, cell_shares
from combe.terrain.grid import StudyGrid
from combe.terrain.projecting import LONLAT, transformer
from combe.terrain.raster import (
    check_north_up,
    check_one_band,
    dataset_crs,
    no_crs_error,
    read_numbers,
    safe_open,
)

Bounds = tuple[float, float, float, float]
"""(west, south, east, north)."""

LARGEST_CELLS: Final = 64_000_000
"""Most population cells read at once: half a gigabyte."""


MOST_ADDED_UP: Final = 16_000_000
"""Most population cells that are read only to tell how many people live elsewhere."""


@dataclass(frozen=True)
class People:
    """How many people live in each cell of a raster.

    Attributes
    ----------
    counts
        Shape (rows, columns), row 0 north, people per cell, 0 or more; cells without data hold 0.
    crs, transform
        The raster's own; ``transform`` is (a, b, c, d, e, f) with x = a·column + b·row + c and
        y = d·column + e·row + f at a cell's north-west corner.
    source, invented
        Where the counts are from, and whether they were made up.
    nodata_cells
        How many cells had no data, those with less than nobody included.
    negative_cells
        How many of them held a negative number that the raster does not declare as no data.
    """

    counts: FloatArray
    crs: pyproj.CRS
    transform: Transform
    source: str
    invented: bool
    nodata_cells: int
    negative_cells: int = 0

    def __post_init__(self) -> None:
        if self.counts.ndim != 2 or self.counts.size == 0 or self.counts.dtype != np.float64:
            raise RangeError("population counts", self.counts.shape, "a float64 array (rows, columns)")
        if not bool(np.all(np.isfinite(self.counts) & (self.counts >= 0.0))):
            raise RangeError("population counts", "negative or not finite", "0 or more in every cell")


def read_people(
    path: Path | str,
    *,
    area_deg: Bounds | None = None,
    source: str | None = None,
    invented: bool | None = None,
    density: bool = False,
) -> People:
    """Read a raster of people per cell, or per square kilometre where that is said.

    Parameters
    ----------
    path
        A raster that :func:`combe.terrain.raster.safe_open` reads, north up, one band, any CRS.
    area_deg
        (west, south, east, north) [degrees]: read only the cells that meet this area; all unless given.
        West is below east, and may be below −180 where the area crosses the antimeridian; east over 180.
    source, invented
        Taken from the tags ``TIFFTAG_COPYRIGHT`` and ``INVENTED`` (``yes``) of the file unless given.
    density
        Whether the numbers are people per square kilometre, which the area of each cell makes a count.

    Returns
    -------
    People
        Declared nodata, NaN and every negative number (WorldPop writes -99999, GHS-POP -200) count as no
        data: 0 people, and reported in ``nodata_cells``, those that are only negative in
        ``negative_cells`` too.

    Raises
    ------
    RasterError
        A file that cannot be used, too many cells at once, or an area beside the raster.
    """
    file = Path(path)
    with _opened(file) as (dataset, crs):
        window = _window(dataset, file, crs, area_deg)
        counts, missing, negative = _clean(read_numbers(dataset, window))
        tags = dataset.tags()
        shape = _shifted(dataset.transform, window)
    if density:
        counts *= cell_areas_km2(crs, shape, counts.shape)
    named = tags.get("TIFFTAG_COPYRIGHT", file.name) if source is None else source
    made_up = tags.get("INVENTED", "no").lower() == "yes" if invented is None else invented
    return People(counts, crs, shape, named, made_up, missing, negative)


def people_of_file(path: Path | str, read: People, *, density: bool = False) -> float | None:
    """Return all people of a raster of which a part was read; None where the rest is too much to be added up.

    Raises
    ------
    RasterError
        As :func:`read_people`.
    """
    with _opened(Path(path)) as (dataset, crs):
        cells = dataset.height * dataset.width
        if cells == read.counts.size:
            return float(read.counts.sum())
        # To say how many live elsewhere is not worth reading a continent.
        if cells > MOST_ADDED_UP:
            return None
        counts = _clean(read_numbers(dataset))[0]
        whole = dataset.transform[:6]
        return float((counts * cell_areas_km2(crs, whole, counts.shape) if density else counts).sum())


def check_people(path: Path | str) -> None:
    """Open a raster of people and read no count; raises RasterError as :func:`read_people`, of any area."""
    with _opened(Path(path)):
        pass


@contextmanager
def _opened(file: Path) -> Iterator[tuple[Any, pyproj.CRS]]:
    """Yield a raster that can be one of people, open, and its CRS."""
    with safe_open(file) as dataset:
        check_one_band(dataset, file)
        crs = dataset_crs(dataset)
        if crs is None:
            raise no_crs_error(file)
        check_north_up(dataset, file, "sum")
        yield dataset, crs


def covered_fraction(mask: npt.NDArray[np.bool_], grid: StudyGrid, people: People) -> FloatArray:
    """Return which fraction of each population cell is covered.

    Parameters
    ----------
    mask
        Shape (grid.rows, grid.columns), True where covered.

    Returns
    -------
    array like ``people.counts``
        0 to 1; ground beyond the grid is not covered. The area average of the mask over each population
        cell, as :mod:`combe.terrain.cell_shares` finds it.

    Raises
    ------
    RangeError
        A mask of another shape than the grid's.
    """
    if mask.shape != (grid.rows, grid.columns) or mask.dtype != np.bool_:
        raise RangeError("mask", f"{mask.dtype} {mask.shape}", f"bool {(grid.rows, grid.columns)}")
    # Shares are kept in single precision and may add up to a little more than 1, and nobody is served twice.
    return np.clip(area_mean(mask.astype(np.float32), grid, people), 0.0, 1.0)


def area_mean(layer: npt.NDArray[np.float32], grid: StudyGrid, people: People) -> FloatArray:
    """Return the mean of a layer over each population cell; ground beyond the grid counts as 0.

    Parameters
    ----------
    layer
        Shape (grid.rows, grid.columns), finite.

    Returns
    -------
    array like ``people.counts``

    Raises
    ------
    RangeError
        A layer of another shape than the grid's, or with values that are not finite.
    """
    if layer.shape != (grid.rows, grid.columns):
        raise RangeError("shape of the layer", layer.shape, f"{(grid.rows, grid.columns)}, as the grid")
    if not bool(np.all(np.isfinite(layer))):
        raise RangeError("layer to be averaged", "not finite somewhere", "a number in every cell")
    shares = cell_shares(grid, people.crs, people.transform, people.counts.shape)
    mean: FloatArray = shares @ layer.ravel().astype(np.float64)
    return mean.reshape(people.counts.shape)


def people_on_grid(grid: StudyGrid, people: People) -> FloatArray:
    """Return the people on each cell of a grid, those of a population cell spread evenly over its ground.

    Returns
    -------
    array, shape (grid.rows, grid.columns)
        Their sum over a mask is what :func:`covered_fraction` of the mask counts.
    """
    shares = cell_shares(grid, people.crs, people.transform, people.counts.shape)
    spread: FloatArray = people.counts.ravel() @ shares
    return spread.reshape(grid.rows, grid.columns)


def spread_on_grid(
    grid: StudyGrid, people: People, frame: tuple[slice, slice], counts: FloatArray
) -> csr_array:
    """Return some of the people on each cell of a grid, as :func:`people_on_grid` spreads all of them.

    Parameters
    ----------
    frame
        Rows and columns of the population cells that hold them.
    counts
        How many there are in each of these.

    Returns
    -------
    sparse array (1, grid.rows * grid.columns)
    """
    shares = cell_shares(grid, people.crs, people.transform, people.counts.shape)
    rows, columns = np.nonzero(counts)
    first_row, first_column = frame[0].start or 0, frame[1].start or 0
    cells = (rows + first_row) * people.counts.shape[1] + columns + first_column
    return csr_array(csr_array(counts[rows, columns][None]) @ shares[cells])


def spread_places(grid: StudyGrid, people: People, places: npt.NDArray[np.intp]) -> csr_array:
    """Return the people of places on each cell of a grid, as :func:`people_on_grid` spreads all of them.

    Parameters
    ----------
    places : int array like ``people.counts``
        The place of each population cell, from 0; −1 for none.

    Returns
    -------
    sparse array (places, grid.rows * grid.columns)
    """
    shares = cell_shares(grid, people.crs, people.transform, people.counts.shape)
    counts, labels = people.counts.ravel(), places.ravel()
    cells = np.flatnonzero((labels >= 0) & (counts > 0.0))
    count = int(labels.max(initial=-1)) + 1
    which = csr_array((counts[cells], (labels[cells], cells)), shape=(count, counts.size))
    return csr_array(which @ shares)


def _clean(counts: FloatArray) -> tuple[FloatArray, int, int]:
    """Return the counts with 0 for no data, and how many cells have no data, and are negative."""
    negative = int(np.count_nonzero(counts < 0.0))
    missing = ~(np.isfinite(counts) & (counts >= 0.0))
    # Cells without data hold nobody here; how many they are is reported beside.
    counts[missing] = 0.0
    return counts, int(np.count_nonzero(missing)), negative


def _window(dataset: Any, path: Path, crs: pyproj.CRS, area: Bounds | None) -> Window:
    """Return the window of cells that meet the area, checked for size before anything is read."""
    top, left, bottom, right = 0, 0, int(dataset.height), int(dataset.width)
    if area is not None:
        shape = dataset.transform
        west, south, east, north = _bounds_in(crs, area, (shape.c, shape.c + shape.a * right), path)
        left = max(left, math.floor((west - shape.c) / shape.a))
        right = min(right, math.ceil((east - shape.c) / shape.a))
        top = max(top, math.floor((north - shape.f) / shape.e))
        bottom = min(bottom, math.ceil((south - shape.f) / shape.e))
    if top >= bottom or left >= right:
        raise RasterError(path, "it does not meet the study area", "take the population raster of this area")
    if (bottom - top) * (right - left) > LARGEST_CELLS:
        raise RasterError(
            path,
            f"{bottom - top} x {right - left} cells are to be read; allowed: {LARGEST_CELLS}",
            "cut it to the study area (gdalwarp -te) first",
        )
    return Window(left, top, right - left, bottom - top)


def _bounds_in(crs: pyproj.CRS, area: Bounds, raster: tuple[float, float], path: Path) -> Bounds:
    """Return the area in the raster's CRS; longitudes are counted as those of the raster, west to east."""
    west, south, east, north = transformer(LONLAT, crs).transform_bounds(*area)
    if not crs.is_geographic:
        return west, south, east, north
    east += 360.0 if east < west else 0.0
    # The raster may count its longitudes in another turn; if the area meets it in two, it lies across its
    # seam.
    turns = [turn for turn in (-360.0, 0.0, 360.0) if west + turn < raster[1] and east + turn > raster[0]]
    if len(turns) > 1:
        raise RasterError(
            path,
            "the study area crosses the longitude where the raster begins and ends",
            "take the raster of this area alone, its longitudes running on past 180",
        )
    turn = turns[0] if turns else 0.0
    return west + turn, south, east + turn, north


def _shifted(transform: Any, window: Any) -> Transform:
    """Return the transform of a window of a north-up raster."""
    west = transform.c + window.col_off * transform.a
    north = transform.f + window.row_off * transform.e
    return transform.a, 0.0, west, 0.0, transform.e, north
