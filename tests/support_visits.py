"""Readings of invented visits, for the tests of visits."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from combe.answers.visit import SheetReport, StationSheet, VisitReport
from combe.planning.exposure import RadiatedPower, compliance_distance_m
from combe.planning.visits.judge import judge_log, worst
from combe.planning.visits.readings import Reading, SeriesKey
from combe.planning.visits.sheet import SheetRow

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


def laid_out(name: str, rows: tuple[SheetRow, ...], word: str = "", **changes: Any) -> SheetReport:
    """Return the sheet of one station, whose aerial is 2 m long, with some things changed."""
    service = SimpleNamespace(name=f"Mux 1{word}", channel=41, frequency_mhz=634.0, erp_w=20.0)
    station = SimpleNamespace(
        name=name, parent=f"Parent{word}", longitude_deg=-84.2861, latitude_deg=36.6108, aerial_height_m=15.0,
        polarization="vertical", services=(service,),
    )  # fmt: skip
    powers = [RadiatedPower("Mux 1", 634.0, 20.0), RadiatedPower("Mux 2", 666.0, 20.0)]
    free, reflected = (
        tuple(
            compliance_distance_m(powers, audience=audience, reflection_factor=factor, aerial_size_m=2.0)
            for audience in ("public", "occupational")
        )
        for factor in (1.0, 2.56)
    )
    given: Any = {"exposure": free, "exposure_reflected": reflected, **changes}
    about: Any = SimpleNamespace(key="study.toml", title=f"Valley{word}", note=f"Notes{word}")
    place: Any = station
    made = {"model": f"x{word}", "invented": f"Invented{word}"}
    return SheetReport(about, Path("visits.gpkg"), (StationSheet(place, rows, **given),), made)
