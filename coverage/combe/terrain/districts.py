"""Districts: polygons with names, and perhaps with people, laid over a population or spread into one."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from rasterio.features import rasterize
from rasterio.transform import Affine
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from combe.decibels import FloatArray
from combe.errors import RangeError, TableError
from combe.tables import Layout
from combe.terrain.areas import polygon_areas_km2
from combe.terrain.features import Feature, named_properties, number_of, read_features
from combe.terrain.people_raster import LARGEST_CELLS, People
from combe.terrain.projecting import LONLAT, transformer
from combe.words import Name, tell

Labels = npt.NDArray[np.int32]
Indices = npt.NDArray[np.int64]

MOST_PAIRS: Final = 100_000
"""Most pairs of districts that are compared for an overlap."""

MOST_CORNERS: Final = 60_000_000
"""Most corners of districts that are compared, each counted once for every pair that it is in."""

MOST_COUNTED: Final = 5_000_000
"""Pairs of districts after which the rest of them is not even counted."""

_AT_ONCE: Final = 256
"""How many pairs are cut out at once, so that memory stays small."""

_SLIVER: Final = 0.01
"""Borders drawn by two hands meet this well: overlaps of a smaller share of a district go unsaid."""

SPREAD: Final = "people spread evenly over each district"
"""What :func:`spread_people` supposes; it belongs into every output that leans on it."""


@dataclass(frozen=True)
class DistrictMap:
    """Polygons in the file's order; where two overlap, the earlier one has the place.

    ``people`` (n,) is None where the file does not count them.
    """

    names: tuple[str, ...]
    polygons: tuple[BaseGeometry, ...]
    crs: pyproj.CRS
    people: FloatArray | None
    source: str
    invented: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "names", tuple(map(Name, self.names)))


def read_districts(
    path: Path | str,
    *,
    layer: str | None = None,
    layout: Layout = Layout(key="district_columns"),  # noqa: B008 (frozen)
    density: bool = False,
    source: str | None = None,
    invented: bool = False,
) -> DistrictMap:
    """Read districts from a GeoPackage or GeoJSON of polygons.

    Parameters
    ----------
    path, layer
        As :func:`combe.terrain.features.read_features`.
    layout
        Which property is ``name``, of which every district needs its own, and which ``people``, if any.
    density
        Whether the numbers are people per square kilometre.
    source, invented
        Where they are from (the file's name unless given), and whether they were made up.

    Raises
    ------
    TableError
        Naming the file, the feature and what to write.
    """
    file = Path(path)
    layer_read = read_features(file, layer or layout.layer)
    keys = named_properties(file, layer_read, ("name",), ("people",), layout)
    names = [
        _name(file, feature, number, keys["name"])
        for number, feature in enumerate(layer_read.features, start=1)
    ]
    twice = next((name for name, count in Counter(names).items() if count > 1), None)
    if twice is not None:
        raise TableError(file, f"two districts are called {twice!r}", "give each its own name")
    polygons = tuple(_polygon(file, each, number) for number, each in enumerate(layer_read.features, start=1))
    people = None
    if "people" in keys:
        people = np.array(
            [
                number_of(file, each, keys["people"], name, layout.decimal)
                for each, name in zip(layer_read.features, names, strict=True)
            ]
        )
        if density:
            people *= polygon_areas_km2(layer_read.crs, polygons)
    return DistrictMap(
        tuple(names), polygons, layer_read.crs, people, file.name if source is None else source, invented
    )


@dataclass(frozen=True)
class Overlap:
    """Two districts that claim one place, the earlier of the file first, and its share of the smaller."""

    first: str
    second: str
    share: float


@dataclass(frozen=True)
class Overlaps:
    """Pairs of districts that overlap, the largest share first, and how many pairs were not looked at.

    ``counted_all`` is False where there are still more of these than were counted.
    """

    pairs: tuple[Overlap, ...]
    not_compared: int = 0
    counted_all: bool = True


def overlaps(
    districts: DistrictMap, *, most_pairs: int = MOST_PAIRS, most_corners: int = MOST_CORNERS
) -> Overlaps:
    """Return the pairs of districts that overlap by more than a sliver.

    Only pairs whose frames meet are compared, and no more of them than ``most_pairs``, nor with more corners
    than ``most_corners``: thousands of districts that all overlap are a fault of their file, which the first
    ones show.
    """
    polygons = np.array(districts.polygons, dtype=object)
    one, other, count = _first_pairs(polygons, most_pairs)
    corners = shapely.get_num_coordinates(polygons)
    few = np.cumsum(corners[one] + corners[other]) <= most_corners
    one, other = one[few], other[few]
    shares = _shares(polygons, one, other)
    worst_first = [at for at in np.argsort(-shares, kind="stable").tolist() if shares[at] > _SLIVER]
    pairs = (
        Overlap(districts.names[one[at]], districts.names[other[at]], float(shares[at])) for at in worst_first
    )
    return Overlaps(tuple(pairs), count - one.size, counted_all=count <= MOST_COUNTED)


def _first_pairs(polygons: npt.NDArray[np.object_], most: int) -> tuple[Indices, Indices, int]:
    """Return the first pairs whose frames meet, in the order of the file, and how many have been counted."""
    kept: list[Indices] = [np.empty((2, 0), dtype=np.int64)]
    count = 0
    for one, other in _pairs(polygons):
        room = max(0, most - count)
        count += one.size
        kept.append(np.array([one[:room], other[:room]]))
        if count > MOST_COUNTED:
            break
    one, other = np.concatenate(kept, axis=1)
    return one, other, count


def _pairs(polygons: npt.NDArray[np.object_]) -> Iterator[tuple[Indices, Indices]]:
    """Yield the pairs whose frames share more than a sliver, the earlier first; never too many at a time."""
    tree, areas = shapely.STRtree(polygons), shapely.area(polygons)
    west, south, east, north = shapely.bounds(polygons).T
    step = max(1, MOST_COUNTED // max(polygons.size, 1))
    for start in range(0, polygons.size, step):
        one, other = tree.query(polygons[start : start + step])
        one = one + start
        wide = np.minimum(east[one], east[other]) - np.maximum(west[one], west[other])
        high = np.minimum(north[one], north[other]) - np.maximum(south[one], south[other])
        enough = wide * high > _SLIVER * np.minimum(areas[one], areas[other])
        ahead = np.flatnonzero((one < other) & enough)
        yield one[ahead], other[ahead]


def _shares(polygons: npt.NDArray[np.object_], one: Indices, other: Indices) -> FloatArray:
    """Return what share of the smaller of each pair both have."""
    areas = shapely.area(polygons)
    # A district without area shares nothing: 0 over a hair above 0 is 0, and not NaN.
    smaller = np.maximum(np.minimum(areas[one], areas[other]), 1e-300)
    starts = range(0, one.size, _AT_ONCE)
    parts = [(one[start : start + _AT_ONCE], other[start : start + _AT_ONCE]) for start in starts]
    common = [shapely.area(shapely.intersection(polygons[a], polygons[b])) for a, b in parts]
    return np.concatenate([np.empty(0), *common]) / smaller


def label_cells(districts: DistrictMap, people: People) -> Labels:
    """Return the district of each cell of a population raster by its centre, shape of its counts; −1 none."""
    polygons = list(enumerate(_projected(districts, people.crs)))
    west, wide = people.transform[2], people.transform[0] * people.counts.shape[1]
    # A raster across 180° may count its longitudes in another turn than the districts; each turn that meets
    # it is burnt.
    turned = [each for turn in _turns(people.crs) for each in _turned(polygons, turn, west, west + wide)]
    return _rasterized(turned, people.counts.shape, Affine(*people.transform))


def label_points(districts: DistrictMap, longitude_deg: FloatArray, latitude_deg: FloatArray) -> Labels:
    """Return the district of each place (n,) [degrees]; −1 for none."""
    x, y = transformer(LONLAT, districts.crs).transform(longitude_deg, latitude_deg)
    labels = np.full(np.shape(longitude_deg), -1, dtype=np.int32)
    tree = shapely.STRtree(list(districts.polygons))
    labelled: list[tuple[int, int]] = []
    for turn in _turns(districts.crs):
        place, district = tree.query(shapely.points(np.asarray(x) + turn, y), predicate="intersects")
        labelled += zip(place.tolist(), district.tolist(), strict=True)
    # Backwards, so that where two districts overlap the earlier one of the file is written last and stays.
    for at, index in sorted(labelled, reverse=True):
        labels[at] = index
    return labels


def _turns(crs: pyproj.CRS) -> tuple[float, ...]:
    """Return by what x may differ for one place: longitudes of a file may run on past 180, or begin anew."""
    return (0.0, -360.0, 360.0) if crs.is_geographic else (0.0,)


def _turned(
    polygons: list[tuple[int, BaseGeometry]], turn: float, west: float, east: float
) -> Iterator[tuple[int, BaseGeometry]]:
    """Yield the polygons that meet a range of x, perhaps turned; all of them where no turn is asked."""
    for index, polygon in polygons:
        bounds = polygon.bounds
        if turn == 0.0:
            yield index, polygon
        elif bounds and bounds[0] + turn < east and bounds[2] + turn > west:
            yield index, affinity.translate(polygon, xoff=turn)


def spread_people(districts: DistrictMap, crs: pyproj.CRS, cell_size_m: float) -> People:
    """Return the people of the districts as a raster, spread evenly over the cells of each.

    Parameters
    ----------
    districts
        With people.
    crs, cell_size_m
        Of the raster: a projected CRS in metres, such as the study grid's, and a side [m] over 0.

    Returns
    -------
    People
        Of all the districts, so also beyond a study area. The sum is that of the districts; one too small
        for the centre of a cell has its people in the cell of a point inside it.

    Raises
    ------
    RangeError
        Districts without people, or too many cells.
    """
    if districts.people is None:
        raise RangeError("people of the districts", "not in the file", "a number for each", districts.source)
    if not cell_size_m > 0.0:
        raise RangeError("cell_size_m of the population", cell_size_m, "over 0")
    polygons = _projected(districts, crs)
    west, south, east, north = shapely.total_bounds(np.array(polygons, dtype=object))
    left, top = math.floor(west / cell_size_m), math.ceil(north / cell_size_m)
    shape = (top - math.floor(south / cell_size_m), math.ceil(east / cell_size_m) - left)
    if shape[0] * shape[1] > LARGEST_CELLS:
        raise RangeError(
            "population cells", f"{shape[0]} x {shape[1]}", f"up to {LARGEST_CELLS}", "larger cells"
        )
    transform = Affine(cell_size_m, 0.0, left * cell_size_m, 0.0, -cell_size_m, top * cell_size_m)
    labels = _rasterized(list(enumerate(polygons)), shape, transform)
    cells = np.bincount(labels[labels >= 0], minlength=len(polygons))
    each = np.divide(districts.people, cells, out=np.zeros(len(polygons)), where=cells > 0)
    counts = np.where(labels >= 0, each[labels], 0.0)
    for index in np.flatnonzero(cells == 0).tolist():
        inside = polygons[index].representative_point()
        column, row = ~transform @ (inside.x, inside.y)
        counts[min(int(row), shape[0] - 1), min(int(column), shape[1] - 1)] += districts.people[index]
    source = tell("{source}, {spread}", source=districts.source, spread=SPREAD)
    transform6 = (cell_size_m, 0.0, transform.c, 0.0, -cell_size_m, transform.f)
    return People(counts, crs, transform6, source, districts.invented, 0)


def _rasterized(
    polygons: list[tuple[int, BaseGeometry]], shape: tuple[int, int], transform: Affine
) -> Labels:
    """Burn the last of the numbered polygons first, so that an earlier one has the place of an overlap."""
    by_number = sorted(polygons, key=lambda each: -each[0])
    burnt = [(polygon, index) for index, polygon in by_number]
    labels = rasterize(burnt, out_shape=shape, fill=-1, transform=transform, dtype="int32")
    return np.asarray(labels, dtype=np.int32)


def _projected(districts: DistrictMap, crs: pyproj.CRS) -> tuple[BaseGeometry, ...]:
    project = transformer(districts.crs, crs)

    def moved(places: FloatArray) -> FloatArray:
        return np.column_stack(project.transform(places[:, 0], places[:, 1]))

    return tuple(shapely.transform(polygon, moved) for polygon in districts.polygons)


def _name(file: Path, feature: Feature, number: int, key: str) -> str:
    name = str(feature.properties.get(key) or "").strip()
    if not name:
        raise TableError(file, f"feature {number} has no {key!r}", "give each district its name")
    return name


def _polygon(file: Path, feature: Feature, number: int) -> BaseGeometry:
    kind = feature.geometry.geom_type
    if kind not in ("Polygon", "MultiPolygon"):
        raise TableError(file, f"feature {number} is a {kind}", "districts need polygons")
    return feature.geometry if feature.geometry.is_valid else shapely.make_valid(feature.geometry)
