"""Finds what an aerial's design asks that its kind has not, or that cannot be built."""

from __future__ import annotations

from pydantic import ValidationError

from combe.errors import RangeError
from combe.stations.design import radiator_of
from combe.study.array_schema import ArraySection, aerial_design
from combe.study.crosscheck import Table, section_of, stations_of, text_of
from combe.study.fault import Fault


def array_faults(table: Table) -> list[Fault]:
    """Return a fault for each design whose keys, right by themselves, do not make an aerial."""
    found = []
    for index, station in stations_of(table):
        if "array" in station:
            words = _fault(section_of(station, "array"), text_of(station, "polarization"))
            if words:
                found.append(Fault(("stations", index, "array"), words))
    return found


def _fault(array: Table, polarization: str | None) -> str | None:
    if polarization not in ("horizontal", "vertical"):
        return None
    try:
        radiator_of(aerial_design(ArraySection.model_validate(array), polarization))
    except ValidationError:
        return None
    except RangeError as error:
        return str(error)
    return None
