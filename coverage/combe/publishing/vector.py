"""Writes stations, feed paths and served areas as a GeoPackage, the same bytes each time."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import OutputError, RangeError
from combe.files import reason, replacing
from combe.geodesy import turned
from combe.publishing.content import FeedPath, StationMark
from combe.publishing.geotiff import check_shape
from combe.publishing.text import plain

if TYPE_CHECKING:
    from combe.terrain import StudyGrid

_FULL_DISK: Final = "is the disk full, or read-only?"

_FIXED_DATE: Final = "2000-01-01T00:00:00.000Z"
"""Date written into each file, so that the same study gives the same bytes."""


def write_geopackage(path: Path | str, layers: Mapping[str, Any]) -> None:
    """Write named layers (geopandas GeoDataFrames, each with its own CRS) to one GeoPackage.

    Raises
    ------
    RangeError
        There is no layer.
    OutputError
        The folder or file cannot be written.
    """
    if not layers:
        raise RangeError("number of layers", 0, "1 or more")
    from pyogrio.errors import DataLayerError, DataSourceError

    with replacing(path) as beside, _fixed_date():
        for count, (name, frame) in enumerate(layers.items()):
            try:
                frame.to_file(beside, layer=name, driver="GPKG", engine="pyogrio", mode="a" if count else "w")
            except (DataSourceError, DataLayerError) as problem:
                raise OutputError(path, _last_words(problem), _FULL_DISK) from problem
        if not _is_whole(beside, layers):
            raise OutputError(path, "not all of it was taken", _FULL_DISK)


def _is_whole(written: Path, layers: Mapping[str, Any]) -> bool:
    """Return whether all features and their places in the spatial index are there.

    The driver does part of its work on closing, and says nothing where that fails.
    """
    with closing(sqlite3.connect(written)) as base:
        try:
            for name, frame in layers.items():
                places = sum(each is not None and not each.is_empty for each in frame.geometry)
                counts = [
                    base.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]
                    for table in (name, f"rtree_{name}_geom")
                ]
                if counts != [len(frame), places]:
                    return False
            return bool(base.execute("PRAGMA integrity_check").fetchone() == ("ok",))
        except sqlite3.Error:
            return False


def _last_words(problem: Exception) -> str:
    """Return what the driver says went wrong, without the statements of the database that it tells first."""
    return reason(problem).rpartition(" failed: ")[2]


def station_layer(stations: Sequence[StationMark]) -> Any:
    """Return the stations as points in EPSG:4326 (GeoDataFrame)."""
    from geopandas import GeoDataFrame, points_from_xy

    table = {
        "name": [plain(station.name) for station in stations],
        "role": [station.role for station in stations],
        "aerial_height_m": [float(station.aerial_height_m) for station in stations],
        "services": [plain(station.services) for station in stations],
    }
    places = points_from_xy([s.longitude_deg for s in stations], [s.latitude_deg for s in stations])
    return GeoDataFrame(table, geometry=places, crs="EPSG:4326")


def hill_layer(rows: Sequence[Mapping[str, Any]], places_deg: Sequence[tuple[float, float]]) -> Any:
    """Return rows of one kind, such as the hills of a siting, as points in EPSG:4326 (GeoDataFrame).

    ``places_deg`` holds longitude and latitude [degrees] of each row.
    """
    from geopandas import GeoDataFrame, points_from_xy

    table = {
        key: [plain(row[key]) if isinstance(row[key], str) else row[key] for row in rows] for key in rows[0]
    }
    places = points_from_xy([lon for lon, _ in places_deg], [lat for _, lat in places_deg])
    return GeoDataFrame(table, geometry=places, crs="EPSG:4326")


def feed_layer(feeds: Sequence[FeedPath]) -> Any:
    """Return the feed paths as lines in EPSG:4326, running on past the antimeridian (GeoDataFrame)."""
    from geopandas import GeoDataFrame
    from shapely import LineString

    table = {
        "parent": [plain(feed.parent) for feed in feeds],
        "relay": [plain(feed.relay) for feed in feeds],
        "verdict": [feed.verdict for feed in feeds],
    }
    along = [turned(feed.longitude_deg, feed.longitude_deg[0]).tolist() for feed in feeds]
    lines = [LineString(list(zip(x, f.latitude_deg, strict=True))) for x, f in zip(along, feeds, strict=True)]
    return GeoDataFrame(table, geometry=lines, crs="EPSG:4326")


def served_layer(masks: Mapping[str, npt.NDArray[np.bool_]], grid: StudyGrid) -> Any:
    """Return one area per name in the grid's CRS, along the edges of its served cells (GeoDataFrame).

    Parameters
    ----------
    masks
        Name of what is served, and where: shape (rows, columns), row 0 north.
    grid
        The study grid.
    """
    from geopandas import GeoDataFrame

    for name, mask in masks.items():
        check_shape(f"served area {name}", mask.shape, grid)
    areas = [_area(mask, grid) for mask in masks.values()]
    table = {
        "name": [plain(name) for name in masks],
        "area_km2": [float(mask.sum()) * (grid.cell_size_m / 1000.0) ** 2 for mask in masks.values()],
    }
    return GeoDataFrame(table, geometry=areas, crs=grid.crs)


def _area(mask: npt.NDArray[np.bool_], grid: StudyGrid) -> Any:
    """Return the outline of the true cells as a MultiPolygon."""
    from rasterio.features import shapes
    from rasterio.transform import from_origin
    from shapely import MultiPolygon, Polygon

    transform = from_origin(grid.west_m, grid.north_m, grid.cell_size_m, grid.cell_size_m)
    found = shapes(mask.astype(np.uint8), mask=mask, transform=transform)
    return MultiPolygon(
        [Polygon(rings[0], rings[1:]) for rings in (shape["coordinates"] for shape, _ in found)]
    )


@contextmanager
def _fixed_date() -> Iterator[None]:
    """Let the GeoPackage driver write a fixed date meanwhile."""
    from pyogrio import get_gdal_config_option, set_gdal_config_options

    before = get_gdal_config_option("OGR_CURRENT_DATE")
    set_gdal_config_options({"OGR_CURRENT_DATE": _FIXED_DATE})
    try:
        yield
    finally:
        set_gdal_config_options({"OGR_CURRENT_DATE": before})
