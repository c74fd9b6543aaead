"""Writes the fields of a coordination for other programs: a CSV table, a GeoPackage."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from combe.answers.coordinate import CoordinateReport
from combe.answers.frames import COORDINATION, station_frame
from combe.files import write_text_atomically
from combe.publishing.exchange import csv_cell
from combe.publishing.vector import write_geopackage


def write_csv(report: CoordinateReport, path: Path) -> None:
    """Write every field as a row; what is not known is an empty cell. Raises OutputError."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COORDINATION)
    for there in report.fields:
        writer.writerow([csv_cell(get(there)) for get in COORDINATION.values()])
    write_text_atomically(path, text.getvalue())


def write_gpkg(report: CoordinateReport, path: Path) -> None:
    """Write the fields and the stations as points of one GeoPackage. Raises OutputError."""
    write_geopackage(path, {"fields": report.to_geodataframe(), "stations": station_frame(report.stations)})
