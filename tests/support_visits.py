"""Readings of invented visits, for the tests of visits."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from combe.answers.visit import VisitReport
from combe.planning.visits.judge import judge_log, worst
from combe.planning.visits.readings import Reading, SeriesKey

STATIONS = {"Parent Hill": ("Mux 1", "Mux 2"), "Combe Relay": ("Mux 1", "Mux 2")}
PLACES = {"Parent Hill": (-84.33, 36.70), "Combe Relay": (-84.20, 36.60)}
TODAY = datetime.date(2026, 6, 1)

HEADER = "date,station,service,test_point,quantity,value,unit,meter,meter_calibrated_on,who,weather,note"
GOOD = "2026-05-01,Combe Relay,Mux 1,feeder,level,-52.3,dBm,Meter 7,2026-01-15,A. Hand,dry,"


def table(*rows: str, header: str = HEADER) -> str:
    return "\n".join([header, *rows]) + "\n"


def write_table(path: Path, *rows: str, header: str = HEADER) -> Path:
    path.write_text(table(*rows, header=header), encoding="utf-8")
    return path


def row(**changes: str) -> str:
    """Return the good row with some cells changed."""
    cells = dict(zip(HEADER.split(","), GOOD.split(","), strict=True))
    assert set(changes) <= set(cells), changes
    return ",".join((cells | changes).values())


def level(day: int | datetime.date, value: float, **changes: object) -> Reading:
    """Return a level at the feeder, ``day`` days after the start of 2020 or at a date."""
    date = day if isinstance(day, datetime.date) else datetime.date(2020, 1, 1) + datetime.timedelta(day)
    given = {
        "station": "Combe Relay",
        "service": "Mux 1",
        "test_point": "feeder",
        "quantity": "level",
        "unit": "dBm",
        "meter": "Meter 7",
        "who": "A. Hand",
    }
    return Reading(date=date, value=value, **(given | changes))


def half_yearly(values: list[float], **changes: object) -> tuple[Reading, ...]:
    """Return levels half a year apart."""
    return tuple(level(round(index * 182.625), value, **changes) for index, value in enumerate(values))


def visited(
    log: tuple[Reading, ...] | list[Reading],
    expected: Mapping[SeriesKey, float] | None = None,
    project: Any = None,
    **changes: Any,
) -> VisitReport:
    """Return what came of a look into a log, with some things changed."""
    judgements = judge_log(log, expected or {})
    about = project or SimpleNamespace(key="study.toml", title="Valley", note="Notes")
    made = {"model": "x", "invented": "All is invented."}
    given = {"taken": (), "stored": False, "rows_left_blank": 0, **changes}
    return VisitReport(
        project=about, log=Path("visits.gpkg"), judgements=judgements, status=worst(judgements),
        provenance=made, **given,
    )  # fmt: skip
