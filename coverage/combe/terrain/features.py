"""Reads points and polygons from a GeoPackage or GeoJSON file, told by its first bytes, without a network."""

from __future__ import annotations

import json
import reprlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
import pyproj
import shapely
from shapely.geometry.base import BaseGeometry

from combe.errors import TableError
from combe.terrain.geopackage import read_layer
from combe.terrain.projecting import LONLAT

LARGEST_FILE_BYTES: Final = 200_000_000
LARGEST_COUNT: Final = 2_000_000

_SQLITE: Final = b"SQLite format 3\0"
_GEOPACKAGE_IDS: Final = (b"GPKG", b"GP10", b"GP11")
_LONLAT_ENDS: Final = (":CRS84", "EPSG:4326", "EPSG::4326")
"""How the old names of longitude and latitude in degrees end."""

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
    if head.startswith(_SQLITE) and head[68:72] in _GEOPACKAGE_IDS:
        return _checked(file, _read_geopackage(file, layer))
    if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{"):
        return _checked(file, _read_geojson(file))
    raise TableError(file, f"is no {_FORMATS}", f"convert it to {_FORMATS}")


def number_of(file: Path, feature: Feature, key: str, place: str) -> float:
    """Return a property as a number, 0 or more; TableError naming the place in the file."""
    value = feature.properties.get(key)
    try:
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
