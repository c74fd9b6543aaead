"""People as points: reads them from CSV, GeoPackage or GeoJSON and finds the grid cell of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely.geometry import Point

from combe.decibels import FloatArray
from combe.errors import RangeError, TableError
from combe.tables import CellError, Layout, number_in, raise_faults, read_table
from combe.terrain.features import named_properties, number_of, read_features
from combe.terrain.grid import StudyGrid, in_grid, to_grid_m
from combe.terrain.projecting import to_lonlat
from combe.words import Name

HEADER: Final = ("longitude_deg", "latitude_deg", "people")
"""Columns that a table of people must have; it may have ``name`` besides, and any of others' own."""

TEXT_ENDINGS: Final = (".csv", ".tsv", ".tab", ".txt")
"""How the names of tables in text end."""

LARGEST_FILE_BYTES: Final = 100_000_000
LONGEST_NAME: Final = 80
_MOST_PEOPLE: Final = 1e10
_LEAST_METRES: Final = 1000.0
"""Below this no projected system has its places, and above it nobody mistypes degrees."""


@dataclass(frozen=True)
class PeoplePoints:
    """People at points; arrays of shape (n,).

    ``names`` has one name, perhaps empty, for each. ``source`` and ``invented`` say where they are from and
    whether they were made up.
    """

    longitude_deg: FloatArray
    latitude_deg: FloatArray
    people: FloatArray
    names: tuple[str, ...]
    source: str
    invented: bool

    def __post_init__(self) -> None:
        count = len(self.names)
        object.__setattr__(self, "names", tuple(map(Name, self.names)))
        if {each.shape for each in (self.longitude_deg, self.latitude_deg, self.people)} != {(count,)}:
            raise RangeError("number of people points", self.people.shape, f"({count},), as the names")
        if not bool(np.all(np.isfinite(self.people) & (self.people >= 0.0))):
            raise RangeError("people at a point", "negative or not finite", "0 or more")
        lonlat = np.abs(self.longitude_deg) <= 180.0, np.abs(self.latitude_deg) <= 90.0
        if not bool(np.all(lonlat)):
            raise RangeError("place of people", "outside the globe", "-180 to 180 and -90 to 90 degrees")


def read_people_points(
    path: Path | str,
    *,
    layer: str | None = None,
    layout: Layout = Layout(),  # noqa: B008 (frozen)
    source: str | None = None,
    invented: bool = False,
) -> PeoplePoints:
    """Read people at points.

    Parameters
    ----------
    path
        A table in text with the columns ``longitude_deg``, ``latitude_deg`` and ``people``, and ``name`` if
        it has one, or a GeoPackage or GeoJSON of points with such properties.
    layer
        Of a GeoPackage with more than one.
    layout
        How the table is written, and what it calls its columns.
    source
        The file's name unless given.
    invented
        Whether the people were made up; also true when the first line of a CSV is ``# invented``.

    Raises
    ------
    TableError
        Naming the file, the line or feature, and what to write.
    """
    file = Path(path)
    named = file.name if source is None else source
    if file.suffix.lower() in TEXT_ENDINGS:
        return _from_text(file, named, invented, layout)
    features = read_features(file, layer or layout.layer)
    keys = named_properties(file, features, HEADER, ("name",), layout)
    x, y, people, names = [], [], [], []
    for number, feature in enumerate(features.features, start=1):
        if not isinstance(feature.geometry, Point):
            raise TableError(
                file, f"feature {number} is a {feature.geometry.geom_type}", "people need points"
            )
        x.append(feature.geometry.x)
        y.append(feature.geometry.y)
        people.append(number_of(file, feature, keys["people"], f"feature {number}", layout.decimal))
        names.append(str(feature.properties.get(keys.get("name", "")) or "")[:LONGEST_NAME])
    lon, lat = to_lonlat(features.crs, np.array(x), np.array(y))
    return _made(file, (lon, lat, np.array(people), names), named, invented)


def points_in_grid(
    points: PeoplePoints, grid: StudyGrid
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Return row and column (n,) of the grid cell of each point; −1 and −1 outside the grid."""
    x, y = to_grid_m(grid, points.longitude_deg, points.latitude_deg)
    inside = in_grid(grid, x, y)
    with np.errstate(invalid="ignore"):
        row, column = (grid.north_m - y) / grid.cell_size_m, (x - grid.west_m) / grid.cell_size_m
    rows, columns = (np.where(inside, np.floor(each), -1.0).astype(np.int64) for each in (row, column))
    return rows, columns


def values_at_points(
    layer: npt.NDArray[np.generic], grid: StudyGrid, points: PeoplePoints, *, beyond: float = 0.0
) -> FloatArray:
    """Return the value (n,) of the cell in which each point lies; ``beyond`` outside the grid.

    Of a mask: 1 for a point that is covered, 0 for one that is not.

    Raises
    ------
    RangeError
        A layer of another shape than the grid's.
    """
    if layer.shape != (grid.rows, grid.columns):
        raise RangeError("shape of the layer", layer.shape, f"{(grid.rows, grid.columns)}, as the grid")
    row, column = points_in_grid(points, grid)
    # Row −1 reads the last row, whose value is then not taken.
    return np.where(row >= 0, layer[row, column].astype(np.float64), beyond)


def _made(
    file: Path, parts: tuple[FloatArray, FloatArray, FloatArray, list[str]], source: str, invented: bool
) -> PeoplePoints:
    lon, lat, people, names = parts
    if not bool(np.all((np.abs(lon) <= 180.0) & (np.abs(lat) <= 90.0))):
        raise TableError(file, "a place is outside the globe", "check the order of the columns, and the CRS")
    return PeoplePoints(lon, lat, people, tuple(names), source, invented)


def _from_text(file: Path, source: str, invented: bool, layout: Layout) -> PeoplePoints:
    table = read_table(
        file,
        HEADER,
        ("name",),
        "9.5,47.1,120",
        layout,
        numbers=HEADER,
        strict=False,
        largest_bytes=LARGEST_FILE_BYTES,
    )
    numbers, names = [], []
    for row in table.rows():
        try:
            numbers.append(_numbers(row.cells))
            names.append(row.cells.get("name", "")[:LONGEST_NAME])
        except CellError as error:
            table.faults.append(f"row {row.number}: {error}")
    raise_faults(file, table.faults)
    if not names:
        raise TableError(file, "it holds no people", "write a row for each place")
    lon, lat, people = np.array(numbers, dtype=np.float64).T
    invented = invented or table.first_line.lower() == "# invented"
    return _made(file, (lon, lat, people, names), source, invented)


def _numbers(cells: Mapping[str, str]) -> tuple[float, float, float]:
    """Return the place of a row and its people."""
    lon, lat, people = (number_in(cells[name], name) for name in HEADER)
    if not (abs(lon) <= 180.0 and abs(lat) <= 90.0):
        raise CellError(_off_the_globe(lon, lat))
    if not 0.0 <= people < _MOST_PEOPLE:
        raise CellError(f"people is {people:g}; a number is 0 or more, and unknown is none")
    return lon, lat, people


def _off_the_globe(lon: float, lat: float) -> str:
    words = f"longitude {lon:g}, latitude {lat:g} is outside the globe"
    if max(abs(lon), abs(lat)) < _LEAST_METRES:
        return f"{words}; longitude comes first"
    return f"{words}; metres of a grid need crs and columns = {{ easting_m = …, northing_m = … }}"
