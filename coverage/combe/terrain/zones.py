"""Where the sea is: a raster of radio-climatic zones, each cell standing for itself.

The codes and their meaning belong to a Recommendation and come from the caller. A place whose zone is not
known is never taken as land or sea: along a path it is an error, in the cells of a map it is 0.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError, RasterError
from combe.terrain.grid import StudyGrid
from combe.terrain.ground import Ground
from combe.terrain.ground_cells import fill_ground_cells, nearest_values
from combe.terrain.sampling import lattice_position, reach
from combe.terrain.tiles import Terrain, open_terrain, tile_name_at

UNKNOWN: Final = 0
"""What stands in an array of zones where the raster holds none."""

ZoneCells = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class ZoneRaster:
    """A raster of zones, read when asked.

    Attributes
    ----------
    raster
        Codes on a lattice, held like terrain.
    names
        What each code that may stand in it means; codes of 1 to 255.
    words
        What it is, for reports.
    against
        Derived zones that a check holds it against, if any.
    """

    raster: Terrain
    names: Mapping[int, str]
    words: str
    against: ZoneRaster | None = None


def open_zones(
    paths: Sequence[Path | str], *, names: Mapping[int, str], crs: str | None = None, words: str = ""
) -> ZoneRaster:
    """Open rasters of zones; parameters as those of :class:`ZoneRaster`.

    Raises
    ------
    RasterError
        As :func:`combe.terrain.tiles.open_terrain`.
    """
    raster = open_terrain(paths, crs=crs, codes=True)
    return ZoneRaster(raster, names, words or ", ".join(tile.name for tile in raster.tiles))


def zones_at(zones: ZoneRaster, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike) -> ZoneCells:
    """Return the zone at places [degrees, WGS 84], any one shape.

    Raises
    ------
    RasterError
        A place without a zone, naming the tile and the place.
    RangeError
        A code that is no zone.
    """
    lon, lat = np.broadcast_arrays(np.asarray(lon_deg, np.float64), np.asarray(lat_deg, np.float64))
    codes = zones_or_gaps(zones, lon, lat)
    gaps = np.flatnonzero(codes == UNKNOWN)
    if gaps.size:
        raise _gap_error(zones, float(lon.flat[gaps[0]]), float(lat.flat[gaps[0]]))
    return codes


def zones_under(
    zones: ZoneRaster, terrain: Terrain, grid: StudyGrid, ground: Ground | None = None
) -> ZoneCells:
    """Return the zones in the cells of the terrain under a study grid, :data:`UNKNOWN` where there is none.

    Of the shape of the ground's ``heights``; ``ground`` is ``ground_under(terrain, grid)`` if at hand.

    Raises
    ------
    RangeError
        A code that is no zone.
    """
    return fill_ground_cells(terrain, grid, partial(zones_or_gaps, zones), np.uint8, ground)


def zones_or_gaps(zones: ZoneRaster, lon_deg: npt.ArrayLike, lat_deg: npt.ArrayLike) -> ZoneCells:
    """Return zones as :func:`zones_at` does, but :data:`UNKNOWN` where the raster holds none."""
    lon, lat = np.broadcast_arrays(np.asarray(lon_deg, np.float64), np.asarray(lat_deg, np.float64))
    codes = nearest_values(zones.raster, lon, lat)
    for code in np.unique(codes[~np.isnan(codes)]):
        if code not in zones.names:
            raise _code_error(zones, float(code))
    return np.where(np.isnan(codes), UNKNOWN, codes).astype(np.uint8)


def _code_error(zones: ZoneRaster, code: float) -> RangeError:
    """Return the error for a code that is no zone, and say what else may be meant by it."""
    names = ", ".join(tile.name for tile in zones.raster.tiles[:3])
    allowed = ", ".join(f"{number} {name}" for number, name in zones.names.items())
    advice = "reclass the raster; declare a nodata value for cells of which nothing is known"
    return RangeError(f"zone in {names}", f"{code:g}", allowed, advice)


def _gap_error(zones: ZoneRaster, lon_deg: float, lat_deg: float) -> RasterError:
    """Return the error for a place without a zone: its tile, the place, what to do."""
    row, column = lattice_position(zones.raster, lon_deg, lat_deg)
    tile = tile_name_at(zones.raster, float(row), float(column))
    place = f"longitude {lon_deg:.6f}, latitude {lat_deg:.6f}"
    advice = "fill it, with sea as well as land, or take the [zones] section out"
    if tile == "none":
        advice = reach(zones.raster).replace("the terrain", "the zone raster")
    return RasterError(zones.raster.tiles[0].path, f"it holds no zone at {place}", advice)
