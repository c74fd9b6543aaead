"""What stands on the ground: heights of woods and towns from a land-cover or a canopy-height raster.

A land-cover raster holds class numbers; each cell stands for itself, so the nearest is taken, and a table
gives the height of its class. A canopy raster holds heights, which are interpolated like the ground.

Woods and houses are narrow, and the nearest edge to a low aerial costs most: where it falls between two
samples of the terrain, tens of metres apart, the loss would depend on where samples happen to fall. So cover
has a step of its own, whatever the cells of the terrain are:

- within ``NEAR_STEPS`` steps of the terrain's samples from either aerial, ground and cover are sampled at it;
- elsewhere each sample of the terrain bears the highest cover of its own stretch of the path, half a step to
  both sides, looked at in parts of this length.

Exact paths with cover are sampled at it all the way (:func:`exact_step_m`).

Woods that drop their leaves let more through in winter. The model knows tops alone, so a leafless wood is a
lower one: its height times a factor, which the user gives, for no Recommendation does.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Final, Literal, get_args

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel_part
from combe.decibels import FloatArray
from combe.errors import RangeError, RasterError, require_choice, require_range
from combe.terrain.grid import StudyGrid
from combe.terrain.ground import Ground, ground_under
from combe.terrain.ground_cells import fill_ground_cells, nearest_values
from combe.terrain.sampling import lattice_position, reach, sample_heights
from combe.terrain.tiles import Terrain, open_terrain, tile_name_at, unit_words
from combe.words import joined, tell

COVER_STEP_M: Final = 9.0
"""Longest step over cover [m]: just under the 10 m cells of open land-cover maps (our own choice)."""

NEAR_STEPS: Final = 1.5
"""Steps of the terrain from an aerial within which cover is sampled at its own step: a whole stretch."""

LARGEST_COVER_CELLS: Final = 64_000_000
"""Cells of cover kept under a grid, a quarter of a gigabyte; over larger areas the cells are larger."""


@kernel_part
def cover_parts(step_m: float) -> int:
    """Return in how many parts of ``COVER_STEP_M`` at most a step of the terrain's samples [m] is divided."""
    return max(math.ceil(step_m / COVER_STEP_M), 1)


def exact_step_m(step_m: float, *, covered: bool) -> float:
    """Return the step [m] of an exact profile: the cover's, if there is cover and it is the shorter."""
    return min(step_m, COVER_STEP_M) if covered else step_m


HIGHEST_COVER_M: Final = 150.0
"""No trees are higher; a greater number is a void that the file forgot to declare, or another unit."""

Season = Literal["in leaf", "leafless"]

EVERY_CLASS: Final = -1
"""Stands for all cover of a raster that holds heights, in place of a class number."""

_SLIGHT: Final = 0.05
"""Cells that are larger by less than this share count as equal: cells in degrees narrow to the poles."""


@dataclass(frozen=True)
class GroundCover:
    """A raster of ground cover, read when asked.

    Attributes
    ----------
    raster
        Class numbers or heights on a lattice, held like terrain.
    class_height_m
        Height [m] of each class number; None where the raster holds heights itself.
    words
        What it is, for reports.
    leafless_factor
        By what the height of a class is multiplied where its trees have no leaves, 0 to 1; a class that is
        not there keeps its height. Of a raster of heights, one for :data:`EVERY_CLASS`.
    season
        ``"in leaf"``, or ``"leafless"``, in which these factors are taken.
    """

    raster: Terrain
    class_height_m: Mapping[int, float] | None
    words: str
    leafless_factor: Mapping[int, float] = field(default_factory=dict)
    season: Season = "in leaf"

    def __post_init__(self) -> None:
        require_choice("season of ground cover", self.season, get_args(Season))
        _check_factors(self)
        for code, height_m in (self.class_height_m or {}).items():
            if not 0.0 <= height_m <= HIGHEST_COVER_M:
                raise RangeError(f"height of cover class {code}", height_m, f"0 to {HIGHEST_COVER_M:g} m")


def in_season(cover: GroundCover, season: Season) -> GroundCover:
    """Return the cover in a season.

    Raises
    ------
    RangeError
        An unknown season, or leafless cover without any factor, which would be that in leaf.
    """
    return replace(cover, season=season)


def cover_words(cover: GroundCover) -> str:
    """Return what cover is, with its season where it has two."""
    if not cover.leafless_factor:
        return cover.words
    if cover.season == "in leaf":
        return tell("{words}; in leaf", words=cover.words)
    told = joined(
        ", ",
        (
            tell("times {factor:g}", factor=factor)
            if code == EVERY_CLASS
            else tell("of class {code} times {factor:g}", code=code, factor=factor)
            for code, factor in sorted(cover.leafless_factor.items())
        ),
    )
    return tell(
        "{words}; leafless: heights {told}, given with the study; no Recommendation has such factors",
        words=cover.words,
        told=told,
    )


def _check_factors(cover: GroundCover) -> None:
    for code, factor in cover.leafless_factor.items():
        require_range(f"leafless factor of cover class {code}", factor, 0.0, 1.0)
        if cover.class_height_m is None and code != EVERY_CLASS:
            raise RangeError(
                "leafless factor", f"of class {code}", "one for all, since the raster holds heights"
            )
        if cover.class_height_m is not None and code not in cover.class_height_m:
            listed = joined(", ", (str(each) for each in sorted(cover.class_height_m)))
            raise RangeError("class of a leafless factor", code, listed)
    if cover.season == "leafless" and not cover.leafless_factor:
        raise RangeError(
            "season of ground cover", "'leafless'", "'in leaf' without a leafless factor", _FACTORS
        )


_FACTORS: Final = "give one: no Recommendation says how high woods without leaves count"


def open_cover(
    paths: Sequence[Path | str],
    *,
    class_height_m: Mapping[int, float] | None = None,
    crs: str | None = None,
    words: str = "",
    leafless_factor: Mapping[int, float] | None = None,
    season: Season = "in leaf",
) -> GroundCover:
    """Open rasters of ground cover; errors as :func:`combe.terrain.tiles.open_terrain`.

    Parameters
    ----------
    paths
        One or more files of equal CRS and cell size.
    class_height_m
        Height [m] of each class number; None for rasters that hold heights [m].
    crs
        CRS of ASCII grids that have none.
    words
        What it is, for reports; the files' names unless given.
    leafless_factor, season
        As those of :class:`GroundCover`.
    """
    raster = open_terrain(paths, crs=crs, codes=class_height_m is not None)
    named = words or joined(", ", (tile.name for tile in raster.tiles))
    told = joined("; ", filter(None, (named, unit_words(raster))))
    return GroundCover(raster, class_height_m, told, leafless_factor or {}, season)


def clutter_heights(cover: GroundCover, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike) -> FloatArray:
    """Return heights of ground cover [m] above the ground at places [degrees, WGS 84], any one shape.

    Raises
    ------
    RasterError
        A place without data, naming the tile and the place; a height that is none.
    RangeError
        A class that the table of heights does not have.
    """
    heights = heights_or_gaps(cover, lon_deg, lat_deg)
    gaps = np.flatnonzero(np.isnan(heights))
    if gaps.size:
        lon, lat = np.broadcast_arrays(lon_deg, lat_deg)
        raise _gap_error(cover, float(lon.flat[gaps[0]]), float(lat.flat[gaps[0]]))
    return heights


def heights_or_gaps(cover: GroundCover, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike) -> FloatArray:
    """Return heights as :func:`clutter_heights` does, but NaN where the raster holds none."""
    lon, lat = np.broadcast_arrays(
        np.asarray(lon_deg, dtype=np.float64), np.asarray(lat_deg, dtype=np.float64)
    )
    if cover.class_height_m is None:
        return _checked(cover, sample_heights(cover.raster, lon, lat)) * _factor(cover, EVERY_CLASS)
    return _class_heights(cover, cover.class_height_m, nearest_values(cover.raster, lon, lat))


def clutter_under(
    cover: GroundCover, terrain: Terrain, grid: StudyGrid, ground: Ground | None = None
) -> npt.NDArray[np.float32]:
    """Return heights of ground cover [m] in the terrain's cells under a study grid, or in parts of these.

    Where cells of cover are smaller than those of the terrain, each of the terrain's is divided evenly into
    parts about as large as they are, down to the step at which cover is looked at along a path.

    Parameters
    ----------
    ground
        ``ground_under(terrain, grid)``, where it is at hand.

    Returns
    -------
    array
        Of the shape of the ground's ``heights``, or so many times its rows and columns, each cell the cover
        at its centre; NaN where the raster of cover holds nothing.

    Raises
    ------
    RasterError, RangeError
        As :func:`clutter_heights`, places without data aside.
    """
    values_at = partial(heights_or_gaps, cover)
    ground = ground_under(terrain, grid) if ground is None else ground
    finer = cover_division(cover.raster.cell_size_m, terrain.cell_size_m, ground.heights.size)
    return fill_ground_cells(terrain, grid, values_at, np.float32, ground, finer)


def cover_division(cover_cell_m: float, terrain_cell_m: float, cells: int) -> int:
    """Return into how many parts, each way, a cell of the terrain is divided to hold cover.

    Parameters
    ----------
    cover_cell_m, terrain_cell_m
        Cell sizes of both rasters [m].
    cells
        Cells of the terrain under the grid, which limits the parts to ``LARGEST_COVER_CELLS`` in all.
    """
    wanted = math.ceil(terrain_cell_m / max(cover_cell_m, COVER_STEP_M) - _SLIGHT)
    # Parts go both ways, so their number goes with the square.
    return max(min(wanted, math.isqrt(LARGEST_COVER_CELLS // cells)), 1)


def _class_heights(cover: GroundCover, table: Mapping[int, float], codes: FloatArray) -> FloatArray:
    """Return the height [m] of each class number; NaN for NaN."""
    # Each class is looked up once. NaN sorts last, is kept once, and is found there again.
    known = np.unique(codes)
    heights = np.array([np.nan if np.isnan(code) else _class_height(cover, table, code) for code in known])
    return heights[np.searchsorted(known, codes)] if heights.size else codes


def _class_height(cover: GroundCover, table: Mapping[int, float], code: float) -> float:
    if code not in table:
        listed = joined(", ", (str(each) for each in sorted(table)))
        advice = "add the class to the table of heights, or take the legend of this raster"
        raise RangeError(f"class of ground cover in {_names(cover)}", f"{code:g}", listed, advice)
    return table[int(code)] * _factor(cover, int(code))


def _factor(cover: GroundCover, code: int) -> float:
    return cover.leafless_factor.get(code, 1.0) if cover.season == "leafless" else 1.0


def _checked(cover: GroundCover, heights: FloatArray) -> FloatArray:
    """Return heights of a canopy raster unless one of them is out of range."""
    wrong = heights[(heights < 0.0) | (heights > HIGHEST_COVER_M)]
    if wrong.size:
        raise RasterError(
            cover.raster.tiles[0].path,
            f"it holds a height of cover of {wrong[0]:g} m; allowed: 0 to {HIGHEST_COVER_M:g}",
            "declare its nodata value, or give a legend if it holds classes",
        )
    return heights


def _gap_error(cover: GroundCover, lon_deg: float, lat_deg: float) -> RasterError:
    """Return the error for a place without ground cover: its tile, the place, what to do."""
    row, column = lattice_position(cover.raster, lon_deg, lat_deg)
    tile = tile_name_at(cover.raster, float(row), float(column))
    place = f"longitude {lon_deg:.6f}, latitude {lat_deg:.6f}"
    advice = "fill it or take the [clutter] section out"
    if tile == "none":
        advice = reach(cover.raster).replace("the terrain", "the ground cover")
    return RasterError(cover.raster.tiles[0].path, f"it holds no ground cover at {place}", advice)


def _names(cover: GroundCover) -> str:
    return joined(", ", (tile.name for tile in cover.raster.tiles[:3]))
