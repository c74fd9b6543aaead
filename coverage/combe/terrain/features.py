"""Points, lines and polygons from a GeoPackage or GeoJSON file, and their place on a study grid.

The kind of a file is told by its first bytes, and no file makes the network be asked.
"""

from __future__ import annotations

import json
import reprlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from rasterio.features import rasterize
from rasterio.transform import from_origin
from shapely.geometry.base import BaseGeometry

from combe.decibels import FloatArray
from combe.errors import TableError
from combe.tables import Layout as TableLayout
from combe.tables import find_columns, plain_number
from combe.terrain.geopackage import read_layer
from combe.terrain.grid import StudyGrid
from combe.terrain.projecting import LONLAT, transformer

LARGEST_FILE_BYTES: Final = 200_000_000
LARGEST_COUNT: Final = 2_000_000

_SQLITE: Final = b"SQLite format 3\0"
_GEOPACKAGE_IDS: Final = (b"GPKG", b"GP10", b"GP11")
_LONLAT_ENDS: Final = (":CRS84", "EPSG:4326", "EPSG::4326")
"""How the old names of longitude and latitude in degrees end."""

_LOOKED_AT: Final = 1000
"""Features whose properties are gathered; those of GeoJSON may differ."""

_FORMATS: Final = "GeoPackage or GeoJSON"


class Feature(NamedTuple):
    """A geometry and what the file says of it."""

    geometry: BaseGeometry
    properties: Mapping[str, Any]


@dataclass(frozen=True)
class Features:
    """All features of one layer, in the file's order; those without geometry are left out and counted."""

    features: tuple[Feature, ...]
    crs: pyproj.CRS
    without_geometry: int


def read_features(path: Path | str, layer: str | None = None) -> Features:
    """Read the features of one layer.

    Parameters
    ----------
    path
        An existing regular file: GeoPackage, or GeoJSON in longitude and latitude (RFC 7946).
    layer
        Of a GeoPackage with more than one.

    Raises
    ------
    TableError
        Missing, not a regular file, another format, damaged, too large, without CRS, or not one layer.
    """
    file = Path(path)
    if not file.is_file():
        raise TableError(file, "there is no such file" if not file.exists() else "is not a regular file")
    size = file.stat().st_size
    if size > LARGEST_FILE_BYTES:
        raise TableError(
            file, f"is larger than {LARGEST_FILE_BYTES // 1_000_000} MB", "cut it to the study area"
        )
    try:
        with file.open("rb") as opened:
            head = opened.read(100)
    except OSError as fault:
        raise TableError(file, f"cannot be read ({fault.strerror})") from None
    # Bytes 68 to 71 of a SQLite file are the mark of the program it belongs to (its file format, from
    # memory).
    if head.startswith(_SQLITE) and head[68:72] in _GEOPACKAGE_IDS:
        return _checked(file, _read_geopackage(file, layer))
    if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{"):
        return _checked(file, _read_geojson(file))
    raise TableError(file, f"is no {_FORMATS}", f"convert it to {_FORMATS}")


def named_properties(
    file: Path, features: Features, required: Sequence[str], optional: Sequence[str], layout: TableLayout
) -> dict[str, str]:
    """Return which property of the features is which of ours, where there is one.

    Raises
    ------
    TableError
        A property that is missing, with what to write.
    """
    names = list(dict.fromkeys(name for each in features.features[:_LOOKED_AT] for name in each.properties))
    found = find_columns(file, names, required, optional, layout, strict=False, has_points=True)
    return {name: names[at] for name, at in found.of.items()}


def number_of(file: Path, feature: Feature, key: str, place: str, decimal: str | None = None) -> float:
    """Return a property as a number, 0 or more; TableError naming the place in the file.

    ``decimal`` is the sign before decimals in numbers that are kept as text.
    """
    value = feature.properties.get(key)
    if isinstance(value, str) and decimal is not None:
        value = plain_number(value, "," if decimal == "," else ".")
    try:
        # True is 1 to Python, and no number of people.
        number = float(value) if not isinstance(value, bool) and value is not None else -1.0
    except (TypeError, ValueError, OverflowError):
        number = -1.0
    if not 0.0 <= number < 1e10:
        raise TableError(file, f"{place}: {key} is {reprlib.repr(value)}", "write a number, 0 or more")
    return number


def _checked(file: Path, features: Features) -> Features:
    if not features.features:
        raise TableError(file, "it holds no feature with a geometry")
    if len(features.features) > LARGEST_COUNT:
        raise TableError(file, f"it holds more than {LARGEST_COUNT} features", "cut it to the study area")
    return features


def _read_geojson(file: Path) -> Features:
    try:
        content = json.loads(file.read_text(encoding="utf-8-sig"))
        items = content["features"] if content.get("type") == "FeatureCollection" else [content]
        features = [_feature(item) for item in items]
    except (
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
        RecursionError,
        shapely.errors.ShapelyError,
    ) as fault:
        raise TableError(file, f"is no GeoJSON that can be read ({type(fault).__name__})") from None
    _check_named_crs(file, content.get("crs"))
    kept = tuple(feature for feature in features if feature is not None)
    return Features(kept, LONLAT, len(features) - len(kept))


def _check_named_crs(file: Path, named: Any) -> None:
    """Pass the names under which general tools still write longitude and latitude; refuse any other."""
    if named is None:
        return
    properties = named.get("properties") if isinstance(named, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    if not isinstance(name, str):
        problem = "it names a CRS that is not known"
    elif name.upper().endswith(_LONLAT_ENDS):
        return
    else:
        problem = f"it names the CRS {name[:60]!r}"
    raise TableError(file, problem, "GeoJSON is longitude and latitude (RFC 7946); take GeoPackage")


def _feature(item: Mapping[str, Any]) -> Feature | None:
    geometry = item["geometry"]
    if geometry is None:
        return None
    shape = shapely.from_geojson(json.dumps(geometry))
    return Feature(shape, dict(item.get("properties") or {})) if _has_a_place(shape) else None


def _read_geopackage(file: Path, layer: str | None) -> Features:
    rows = read_layer(file, layer, LARGEST_COUNT)
    try:
        shapes = shapely.from_wkb(np.array(rows.geometries, dtype=object))
        kept = tuple(
            Feature(shape, properties)
            for shape, properties in zip(shapes, rows.properties, strict=True)
            if _has_a_place(shape)
        )
    except (ValueError, shapely.errors.ShapelyError) as fault:
        raise TableError(file, f"holds a geometry that cannot be read ({_one_line(fault)})") from None
    return Features(kept, rows.crs, len(rows.geometries) - len(kept))


def _has_a_place(shape: BaseGeometry | None) -> bool:
    """Tell whether a geometry is anywhere; ValueError where a corner is nowhere on Earth."""
    if shape is None or shape.is_empty:
        return False
    if not np.isfinite(shapely.get_coordinates(shape)).all():
        raise ValueError("a corner without a place")
    return True


def _one_line(fault: Exception) -> str:
    return " ".join(str(fault).split())[:120]


Mask = npt.NDArray[np.bool_]


class Layer(Protocol):
    """A vector layer that is read when it is asked for."""

    @property
    def name(self) -> str:
        """What it is called."""
        ...

    def read(self) -> Features:
        """Return its features; raises TableError where it cannot be read."""
        ...


def cells_inside(layer: Layer, grid: StudyGrid) -> Mask:
    """Return which cells of a grid have their centre inside the polygons of a layer, (rows, columns).

    Raises
    ------
    TableError
        A file that cannot be read, or that holds no polygon.
    """
    shapes = [each for each in _projected(layer, grid) if each.geom_type.endswith("Polygon")]
    if not shapes:
        raise TableError(layer.name, "it holds no polygon", "give areas as polygons")
    return _drawn(shapes, grid, all_touched=False)


def distance_to_layer_m(layer: Layer, grid: StudyGrid) -> FloatArray:
    """Return how far each cell's centre is from the nearest cell that a feature touches [m], (rows, columns).

    Points, lines and polygons all count; features off the grid do not. Infinite where none is on the grid.

    Raises
    ------
    TableError
        A file that cannot be read.
    """
    from scipy.ndimage import distance_transform_edt

    touched = _drawn(_projected(layer, grid), grid, all_touched=True)
    if not touched.any():
        return np.full(touched.shape, np.inf)
    away: FloatArray = np.asarray(distance_transform_edt(~touched), dtype=np.float64) * grid.cell_size_m
    return away


def _projected(layer: Layer, grid: StudyGrid) -> list[Any]:
    """Return the geometries of a layer in the grid's own system."""
    features = layer.read()
    to_grid = transformer(features.crs, grid.crs)

    def moved(points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.column_stack(to_grid.transform(points[:, 0], points[:, 1]))

    return [shapely.transform(feature.geometry, moved) for feature in features.features]


def _drawn(shapes: list[Any], grid: StudyGrid, *, all_touched: bool) -> Mask:
    """Return the cells that shapes cover."""
    drawn = rasterize(
        [(shape, 1) for shape in shapes],
        out_shape=(grid.rows, grid.columns),
        transform=from_origin(grid.west_m, grid.north_m, grid.cell_size_m, grid.cell_size_m),
        all_touched=all_touched,
        dtype="uint8",
    )
    mask: Mask = np.asarray(drawn) == 1
    return mask
