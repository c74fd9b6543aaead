"""Reads survey points from a CSV table: all of them, or none and every fault with its row.

The columns, in any order: ``longitude_deg, latitude_deg, station, service, field_dbuv_m``, and if wanted
``height_m`` (of the aerial above ground; 10 unless given), ``date`` and ``note``, which are for people.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Final

from combe.errors import RangeError, require_range
from combe.planning import SurveyPoint
from combe.planning.visits import Stations
from combe.tables import (
    SURVEY_COLUMNS,
    CellError,
    Layout,
    TableRow,
    choice_in,
    number_in,
    raise_faults,
    read_rows,
)

COLUMNS: Final = SURVEY_COLUMNS
OPTIONAL_COLUMNS: Final = ("height_m", "date", "note")

_RANGES: Final[Mapping[str, tuple[float, float]]] = {
    "longitude_deg": (-180.0, 180.0),
    "latitude_deg": (-90.0, 90.0),
    "field_dbuv_m": (-50.0, 180.0),
    "height_m": (1.0, 50.0),
}
_EXAMPLE: Final = "-84.20123,36.60456,STATION,SERVICE,61.5"


def read_survey(
    path: Path | str,
    stations: Stations,
    *,
    height_m: float = 10.0,
    off_air: Collection[str] = (),
    layout: Layout = Layout(),  # noqa: B008 (frozen)
) -> tuple[SurveyPoint, ...]:
    """Read a table of survey points.

    Parameters
    ----------
    path : Path or str
    stations : mapping of str to tuple of str
        Stations of the study with their services; names in the table may differ in letter case.
    height_m : float
        Height of the aerial where the table gives none [m].
    off_air : collection of str
        Stations whose points are checked, and then left out.
    layout : Layout
        How the table is written, and what it calls its columns.

    Raises
    ------
    TableError
        One line with every fault: row, what stands there, what to write.
    """
    file = Path(path)
    rows, faults = read_rows(file, COLUMNS, OPTIONAL_COLUMNS, _EXAMPLE, layout, tuple(_RANGES))
    seen: dict[tuple[object, ...], int] = {}
    points: list[SurveyPoint] = []
    for row in rows:
        try:
            point = _point(row, stations, height_m)
            key = (point.place, point.station, point.service, point.height_m)
            if key in seen:
                raise CellError(f"is a duplicate of row {seen[key]} (same place and service); take one out")
            seen[key] = row.number
            points.append(point)
        except (CellError, RangeError) as error:
            faults.append(f"row {row.number}: {error}")
    if not points and not faults:
        faults = ["it holds no point"]
    raise_faults(file, faults)
    return tuple(point for point in points if point.station not in off_air)


def _point(row: TableRow, stations: Stations, height_m: float) -> SurveyPoint:
    cells = row.cells
    station = choice_in(cells["station"], "station", stations)
    return SurveyPoint(
        row=row.number,
        longitude_deg=_number(cells, "longitude_deg"),
        latitude_deg=_number(cells, "latitude_deg"),
        station=station,
        service=choice_in(cells["service"], f"service of {station}", stations[station]),
        field_dbuv_m=_number(cells, "field_dbuv_m"),
        height_m=_number(cells, "height_m") if cells.get("height_m") else height_m,
    )


def _number(cells: Mapping[str, str], name: str) -> float:
    value = number_in(cells[name], name)
    require_range(name, value, *_RANGES[name])
    return value
