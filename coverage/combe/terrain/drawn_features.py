"""Vector features as a map draws them: cut to the study grid, as fine as its cells, each with its name.

Roads and rivers of a whole country may stand in one file. So no more corners are kept than a page can carry:
the longest lines and the largest areas first, points in the order of the file; how many went is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np
import pyproj
import shapely
from shapely.geometry.base import BaseGeometry

from combe.decibels import FloatArray
from combe.errors import TableError
from combe.terrain.features import Features, read_features
from combe.terrain.grid import StudyGrid
from combe.terrain.projecting import transformer

MOST_CORNERS: Final = 60_000
"""Corners of lines and areas that are kept of one file: 0.2 MB in a page."""

MOST_DRAWN: Final = 3_000
"""Features that are kept of one file; more names or strokes than this are a blot on any map."""

_MOST_FIELDS_TOLD: Final = 12
_LONGEST_NAME: Final = 80
_DETAIL_CELLS: Final = 0.5
"""How far a line may be from where its file has it, in cells of the grid."""

_MOST_CELLS_A_SIDE: Final = 1500
"""On larger grids a page holds one cell of several; its lines need not be finer."""

Form = Literal["point", "line", "area"]


@dataclass(frozen=True)
class DrawnFeature:
    """A feature on the grid: its name, empty without one, and its parts (n, 2) [m of the grid's CRS].

    A part is a point, a line, or a closed ring of an area; the inside of areas is even-odd over its rings.
    """

    name: str
    form: Form
    parts: tuple[FloatArray, ...]


@dataclass(frozen=True)
class DrawnFeatures:
    """What a map draws of a layer; ``left_out`` features lie on the grid and are more than it can carry."""

    features: tuple[DrawnFeature, ...]
    left_out: int = 0


def read_labelled(path: Path | str, layer: str | None = None, label: str | None = None) -> Features:
    """Read a layer whose features are to be named by one of their fields.

    Raises
    ------
    TableError
        As :func:`combe.terrain.features.read_features`; or no feature has the field.
    """
    found = read_features(path, layer)
    if label is not None and not any(label in each.properties for each in found.features):
        fields = list(dict.fromkeys(name for each in found.features for name in each.properties))
        told = ", ".join([*fields[:_MOST_FIELDS_TOLD], *(["…"] if len(fields) > _MOST_FIELDS_TOLD else [])])
        has = f"it has {told}" if fields else "its features have no fields; leave label out"
        raise TableError(path, f"no field {label!r}", has)
    return found


def draw_features(
    features: Features,
    grid: StudyGrid,
    label: str | None = None,
    *,
    most_corners: int = MOST_CORNERS,
    most_drawn: int = MOST_DRAWN,
) -> DrawnFeatures:
    """Return the features that reach into a grid, in the order of importance, named by a field."""
    cells_a_side = max(grid.rows, grid.columns)
    tolerance_m = _DETAIL_CELLS * grid.cell_size_m * max(1.0, cells_a_side / _MOST_CELLS_A_SIDE)
    found = [
        DrawnFeature(name, form, parts)
        for geometry, name in _on_grid(features, grid, label)
        for form, parts in _forms(geometry.simplify(tolerance_m), tolerance_m)
    ]
    # Sorted stably: points, which are all 0 long, keep the order of the file.
    found.sort(key=_size, reverse=True)
    kept: list[DrawnFeature] = []
    corners = 0
    for each in found:
        corners += sum(len(part) for part in each.parts)
        if corners > most_corners or len(kept) == most_drawn:
            break
        kept.append(each)
    return DrawnFeatures(tuple(kept), len(found) - len(kept))


def _on_grid(features: Features, grid: StudyGrid, label: str | None) -> Iterator[tuple[BaseGeometry, str]]:
    """Yield each feature's part on the grid, in metres of its CRS, and its name."""
    to_grid = transformer(features.crs, grid.crs)
    east = grid.west_m + grid.columns * grid.cell_size_m
    south = grid.north_m - grid.rows * grid.cell_size_m
    around = _frame_around(features.crs, grid, (grid.west_m, south, east, grid.north_m))

    def moved(places: FloatArray) -> FloatArray:
        return np.column_stack(to_grid.transform(places[:, 0], places[:, 1]))

    for each in features.features:
        # A country may have parts on the far side of the Earth, for which the grid's system has no place.
        near = each.geometry if around is None else _cut(each.geometry, *around)
        there = shapely.transform(near, moved)
        if not np.isfinite(shapely.get_coordinates(there)).all():
            continue
        cut = _cut(there, grid.west_m, south, east, grid.north_m)
        if not cut.is_empty:
            yield cut, _name(each.properties.get(label)) if label is not None else ""


def _frame_around(
    crs: pyproj.CRS, grid: StudyGrid, frame: tuple[float, float, float, float]
) -> tuple[float, float, float, float] | None:
    """Return a frame of the grid in another system that holds it with room, None where it is in pieces."""
    west, south, east, north = transformer(grid.crs, crs).transform_bounds(*frame)
    # Degrees begin anew at the antimeridian.
    if not (np.isfinite([west, south, east, north]).all() and west < east and south < north):
        return None
    wide, high = 0.05 * (east - west), 0.05 * (north - south)
    return west - wide, south - high, east + wide, north + high


def _cut(geometry: BaseGeometry, west: float, south: float, east: float, north: float) -> BaseGeometry:
    """Return the part of a geometry within a frame; areas whose rings cross themselves are put in order."""
    sound = geometry if geometry.is_valid else shapely.make_valid(geometry)
    return shapely.clip_by_rect(sound, west, south, east, north)


def _forms(geometry: BaseGeometry, tolerance_m: float) -> Iterator[tuple[Form, tuple[FloatArray, ...]]]:
    """Yield what a geometry is drawn as: its points, its lines, its areas, each kind together."""
    simple = shapely.get_parts(_flat(geometry))
    points = [part for part in simple if part.geom_type == "Point"]
    lines = [part for part in simple if part.geom_type in ("LineString", "LinearRing")]
    areas = [part for part in simple if part.geom_type == "Polygon" and part.area > tolerance_m**2]
    if points:
        yield "point", tuple(shapely.get_coordinates(part) for part in points)
    if lines:
        yield "line", tuple(shapely.get_coordinates(part) for part in lines)
    if areas:
        rings = [ring for part in areas for ring in (part.exterior, *part.interiors)]
        yield "area", tuple(shapely.get_coordinates(ring) for ring in rings)


def _flat(geometry: BaseGeometry) -> Any:
    """Return the simple parts of a geometry, none of them a collection any more."""
    parts = [geometry]
    while any(hasattr(each, "geoms") for each in parts):
        parts = [part for each in parts for part in getattr(each, "geoms", (each,))]
    return parts


def _size(feature: DrawnFeature) -> float:
    """Return how far a feature goes [m], 0 for points: what goes far tells most of where one is."""
    if feature.form == "point":
        return 0.0
    return float(sum(np.hypot(*np.diff(part, axis=0).T).sum() for part in feature.parts))


def _name(value: object) -> str:
    """Return a field of a file as a name of one line; empty where nothing can be read in it."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if not isinstance(value, str | int | float) or isinstance(value, bool) or value != value:
        return ""
    words = " ".join(str(value).split())
    return words if len(words) <= _LONGEST_NAME else words[: _LONGEST_NAME - 1] + "…"
