"""The climate of a study: a typical one by its name, numbers of its own, or what the digital maps tell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final, NamedTuple

from combe.errors import RangeError, TableError, quoted
from combe.propagation.p2001 import (
    RAIN_MAPS,
    TYPICAL_CLIMATES,
    USUAL_CLIMATE,
    Climate,
    DigitalMaps,
    typical_words,
)
from combe.study.climate_maps import MAP_FILES, maps_and_faults, read_maps
from combe.study.climate_schema import ClimateSection
from combe.study.crosscheck import Table, section_of, stations_of, text_of
from combe.study.fault import Fault, missing
from combe.study.schema import AirSection
from combe.study.tablecheck import place_of
from combe.words import tell

Place = tuple[float, float]
"""Longitude and latitude [degrees], east and north positive."""

_ONE_FALL: Final = 0.05
"""Medians of the fall [N-units/km] that are no further apart are the same."""


class ClimateOfStudy(NamedTuple):
    """A climate, where its numbers are from, and whether the study says it at all."""

    climate: Climate
    words: str
    stated: bool


def climate_of(
    air: AirSection, median_fall: float | None, folder: Path, stations: Sequence[Place]
) -> ClimateOfStudy:
    """Return the climate of a study.

    Parameters
    ----------
    air
        What the study says of the air.
    median_fall
        The fall of refractivity in the lowest kilometre [N-units/km] that the study states for its fields,
        by ``delta_n`` or the effective radius; None where it states neither.
    folder
        Where the name of a folder of maps counts from.
    stations
        Places of the stations, in the middle of which maps are read.

    Raises
    ------
    TableError
        Maps that cannot be used.
    """
    if air.climate_maps is not None:
        return _of_maps(air.climate_maps, median_fall, folder, stations)
    if isinstance(air.climate, ClimateSection):
        climate = Climate(**air.climate.model_dump())
        return ClimateOfStudy(climate, f"numbers of the study{_two_airs(climate, median_fall)}", True)
    name = air.climate or USUAL_CLIMATE
    climate, words = _with_fall(TYPICAL_CLIMATES[name], median_fall)
    return ClimateOfStudy(
        climate,
        tell("{typical_words}{words}", typical_words=typical_words(name), words=words),
        air.climate is not None,
    )


def climate_faults(table: Table, folder: Path) -> list[Fault]:
    """Return the faults of the climate that no key shows by itself: rain in part, two climates, maps."""
    air = section_of(table, "air")
    return [*_rain_faults(section_of(air, "climate")), *_map_faults(table, air, folder)]


def middle_of(places: Sequence[Place]) -> Place:
    """Return the middle of the smallest box of longitudes and latitudes that holds all places.

    The widest gap between longitudes lies outside that box, also where it is across the antimeridian.
    """
    east_deg = sorted({place[0] for place in places})
    gaps = [
        after - before for before, after in zip(east_deg, [*east_deg[1:], east_deg[0] + 360.0], strict=True)
    ]
    widest = gaps.index(max(gaps))
    west_deg = east_deg[(widest + 1) % len(east_deg)]
    middle_deg = west_deg + 0.5 * (360.0 - gaps[widest])
    north = [place[1] for place in places]
    return (middle_deg + 180.0) % 360.0 - 180.0, 0.5 * (min(north) + max(north))


def place_words(place: Place) -> str:
    """Return a place as it is written, for example ``2.10°W 51.30°N``."""
    longitude, latitude = (round(each, 2) for each in place)
    east, north = "W" if longitude < 0 else "E", "S" if latitude < 0 else "N"
    return f"{abs(longitude):.2f}°{east} {abs(latitude):.2f}°{north}"


def _with_fall(typical: Climate, median_fall: float | None) -> tuple[Climate, str]:
    """Return a typical climate with the median fall that the study states, so that its air is one."""
    if median_fall is None:
        return typical, ""
    try:
        climate = replace(typical, median_dn=median_fall)
    except RangeError:
        own = tell("median fall {median_dn:g} N-units/km of its own", median_dn=typical.median_dn)
        return typical, tell(
            ", {own}, because P.2001 has none of {median_fall:.4g} as in the study's fields",
            own=own,
            median_fall=median_fall,
        )
    return climate, tell(
        ", median fall {median_fall:.4g} N-units/km as the study says", median_fall=median_fall
    )


def _two_airs(climate: Climate, median_fall: float | None) -> str:
    """Say where fields are predicted for another median than the climate's own."""
    if median_fall is None or abs(climate.median_dn - median_fall) <= _ONE_FALL:
        return ""
    fields = tell("the study's fields take {median_fall:.4g}", median_fall=median_fall)
    return tell(
        ", median fall {median_dn:.4g} N-units/km, where {fields}", median_dn=climate.median_dn, fields=fields
    )


def _of_maps(
    named: str, median_fall: float | None, folder: Path, stations: Sequence[Place]
) -> ClimateOfStudy:
    place = middle_of(stations)
    maps = read_maps(folder / named)
    climate = _at(maps, folder / named, place)
    rain = "" if maps.rain_known else ", without the maps of rain"
    words = tell(
        "digital maps of P.2001-4 in {named} at {place_words}{rain}",
        named=named,
        place_words=place_words(place),
        rain=rain,
    )
    return ClimateOfStudy(
        climate, tell("{words}{two_airs}", words=words, two_airs=_two_airs(climate, median_fall)), True
    )


def _at(maps: DigitalMaps, folder: Path, place: Place) -> Climate:
    """Return the climate of a place; raises TableError that names the file of what it cannot have there."""
    try:
        return maps.at(*place)
    except RangeError as error:
        where = f"{MAP_FILES[error.name]}: tells {error.given} at {place_words(place)}"
        raise TableError(folder, f"{where}; allowed: {error.allowed}") from None


def _rain_faults(numbers: Table) -> Iterator[Fault]:
    given = [name for name in RAIN_MAPS if name in numbers]
    for name in RAIN_MAPS if given else ():
        if name not in numbers:
            words = f"stands without it; write all of {', '.join(RAIN_MAPS)}, or none"
            yield missing(("air", "climate", name), f"{given[0]} {words}")


def _map_faults(table: Table, air: Table, folder: Path) -> Iterator[Fault]:
    key, named = ("air", "climate_maps"), text_of(air, "climate_maps")
    if named is None:
        return
    if "climate" in air:
        yield Fault(key, "stands beside climate, and both say what the air is over the year; take one out")
        return
    maps, faults = maps_and_faults(folder / named)
    places = [place for _, station in stations_of(table) if (place := place_of(station)) is not None]
    if maps is not None and places:
        try:
            _at(maps, folder / named, middle_of(places))
        except TableError as error:
            faults = [error.problem]
    # Each has its own line: of several faults with one place, only the first is told.
    yield from (Fault((), f"{'.'.join(key)}: {quoted(named)}: {words}") for words in faults)
