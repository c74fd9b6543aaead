"""Writes the fields of a coordination for other programs: a CSV table, a GeoPackage."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path
from typing import Any

from combe.answers.coordinate import CoordinateReport
from combe.answers.frames import COORDINATION, station_frame
from combe.files import write_text_atomically
from combe.planning import FORMULA_STARTS
from combe.publishing.text import plain
from combe.publishing.vector import write_geopackage


def write_csv(report: CoordinateReport, path: Path) -> None:
    """Write every field as a row; what is not known is an empty cell. Raises OutputError."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COORDINATION)
    for there in report.fields:
        writer.writerow([_cell(get(there)) for get in COORDINATION.values()])
    write_text_atomically(path, text.getvalue())


def write_gpkg(report: CoordinateReport, path: Path) -> None:
    """Write the fields and the stations as points of one GeoPackage. Raises OutputError."""
    write_geopackage(path, {"fields": report.to_geodataframe(), "stations": station_frame(report.stations)})


def _cell(value: Any) -> str:
    """Return a value as a spreadsheet takes it: no text of a file is a formula."""
    if isinstance(value, float):
        return "" if math.isnan(value) else f"{value:.6f}".rstrip("0").rstrip(".")
    words = plain(value)
    return f"'{words}" if isinstance(value, str) and words.startswith(FORMULA_STARTS) else words
