"""People as points: reads them from CSV, GeoPackage or GeoJSON and finds the grid cell of each."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from shapely.geometry import Point

from combe.decibels import FloatArray
from combe.errors import RangeError, TableError
from combe.terrain.features import number_of, read_features
from combe.terrain.grid import StudyGrid, in_grid, to_grid_m
from combe.terrain.projecting import to_lonlat
from combe.words import Name

HEADER: Final = ("longitude_deg", "latitude_deg", "people")
"""Columns that a CSV of people must begin with; a fourth, ``name``, may follow."""

LARGEST_FILE_BYTES: Final = 100_000_000
LONGEST_NAME: Final = 80


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
    path: Path | str, *, layer: str | None = None, source: str | None = None, invented: bool = False
) -> PeoplePoints:
    """Read people at points.

    Parameters
    ----------
    path
        CSV in UTF-8 that begins with the line ``longitude_deg,latitude_deg,people`` or
        ``longitude_deg,latitude_deg,people,name`` (lines that begin with ``#`` are passed over), or a
        GeoPackage or GeoJSON of points with a property ``people`` and, if any, ``name``.
    layer
        Of a GeoPackage with more than one.
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
    if file.suffix.lower() == ".csv":
        return _from_csv(file, named, invented)
    features = read_features(file, layer)
    x, y, people, names = [], [], [], []
    for number, feature in enumerate(features.features, start=1):
        if not isinstance(feature.geometry, Point):
            raise TableError(
                file, f"feature {number} is a {feature.geometry.geom_type}", "people need points"
            )
        x.append(feature.geometry.x)
        y.append(feature.geometry.y)
        people.append(number_of(file, feature, "people", f"feature {number}"))
        names.append(str(feature.properties.get("name") or "")[:LONGEST_NAME])
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


def _from_csv(file: Path, source: str, invented: bool) -> PeoplePoints:
    lines = _lines(file)
    invented = invented or (bool(lines) and lines[0][1].strip().lower() == "# invented")
    rows = [(number, line) for number, line in lines if line.strip() and not line.lstrip().startswith("#")]
    header = [cell.strip() for cell in rows[0][1].split(",")] if rows else []
    if tuple(header[:3]) != HEADER or header[3:] not in ([], ["name"]):
        raise TableError(file, f"it does not begin with {','.join(HEADER)}", _header_advice(rows))
    if len(rows) < 2:
        raise TableError(file, "it holds no people", "write a row for each place")
    cells = [_row(file, number, line, len(header)) for number, line in rows[1:]]
    numbers = np.array([cell[:3] for cell in cells], dtype=np.float64)
    names = [str(cell[3]).strip()[:LONGEST_NAME] for cell in cells]
    return _made(file, (numbers[:, 0], numbers[:, 1], numbers[:, 2], names), source, invented)


def _header_advice(rows: list[tuple[int, str]]) -> str:
    """Say what stands first in the file in place of the header, and what to write."""
    if not rows:
        return "write that header line first"
    first = rows[0][1].strip()
    if ";" in first:
        return "its cells are parted by semicolons: save it with commas, and with decimal points"
    return f"write that header line first; {first[:60]!r} stands there"


def _row(file: Path, number: int, line: str, columns: int) -> tuple[float, float, float, str]:
    try:
        cells: list[Any] = next(csv.reader([line]))
        if len(cells) != columns:
            raise ValueError
        lon, lat, people = (float(cell) for cell in cells[:3])
    except (ValueError, csv.Error):
        raise TableError(
            file,
            f"line {number}: {line.strip()[:60]!r} is no place with people",
            "write for example 9.5,47.1,120",
        ) from None
    if not (abs(lon) <= 180.0 and abs(lat) <= 90.0 and 0.0 <= people < 1e10):
        raise TableError(
            file,
            f"line {number}: {lon:g}, {lat:g} with {people:g} people is out of range",
            "longitude, then latitude in degrees, then people, 0 or more",
        )
    return lon, lat, people, cells[3] if columns > 3 else ""


def _lines(file: Path) -> list[tuple[int, str]]:
    try:
        if not file.is_file():
            raise TableError(file, "there is no such file" if not file.exists() else "is not a regular file")
        if file.stat().st_size > LARGEST_FILE_BYTES:
            raise TableError(file, "is larger than 100 MB", "cut it to the study area")
        return list(enumerate(file.read_text(encoding="utf-8-sig").splitlines(), start=1))
    except UnicodeDecodeError:
        raise TableError(file, "is not UTF-8 text", "save it as UTF-8") from None
    except OSError as error:
        raise TableError(file, f"cannot be read ({error.strerror})") from None
