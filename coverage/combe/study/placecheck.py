"""Finds relays that stand where the station that feeds them stands, so that no path leads to them."""

from __future__ import annotations

from collections.abc import Iterator

from combe.errors import quoted
from combe.geodesy import distance_km
from combe.prediction.conditions import shortest_path_km
from combe.study.crosscheck import Fault, Table, section_of, stations_of, text_of
from combe.study.faults import path_text
from combe.study.modelcheck import model_of


def place_faults(table: Table) -> list[str]:
    """Return one line for each relay that is too near to the station that feeds it."""
    return [f"{path_text(place)}: {words}" for place, words in _near_faults(table)]


def place_of(station: Table) -> tuple[float, float] | None:
    """Return longitude and latitude [degrees] of a station, or None where they are no place on Earth."""
    found = []
    for key, most in (("longitude_deg", 180.0), ("latitude_deg", 90.0)):
        value = station.get(key)
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= most:
            return None
        found.append(float(value))
    return found[0], found[1]


def _near_faults(table: Table) -> Iterator[Fault]:
    by_name = {text_of(station, "name"): station for _, station in stations_of(table)}
    model = model_of(table)
    least_km = shortest_path_km(model)
    for index, station in stations_of(table):
        name, source = text_of(station, "name"), text_of(section_of(station, "feed"), "from")
        here, there = place_of(station), place_of(by_name.get(source, {}))
        if name is None or source is None or source == name or here is None or there is None:
            continue
        apart_km = distance_km(*there, *here)
        if apart_km < least_km:
            where = f"{1000.0 * apart_km:.1f} m from" if apart_km else "at the very place of"
            yield (
                ("stations", index),
                f"{quoted(name)} is {where} {quoted(source)}, which feeds it; a path of model "
                f"{quoted(model)} is {1000.0 * least_km:g} m or longer: correct longitude_deg and "
                "latitude_deg of one of them",
            )
