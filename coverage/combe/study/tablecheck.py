"""Finds values that do not fit what they name: places, models, systems, carriers, aerials, patterns."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from combe.constants import EARTH_RADIUS_KM
from combe.errors import ChannelError, PatternError, RangeError, quoted
from combe.geodesy import distance_km
from combe.prediction import shortest_path_km
from combe.standards import (
    SystemFamily,
    centre_frequency_mhz,
    in_planning_bands,
    planning_bands_mhz,
)
from combe.stations import PatternKind, radiator_of, read_pattern
from combe.study.array_schema import ArraySection, aerial_design
from combe.study.crosscheck import Table, is_number, is_whole, section_of, stations_of, text_of
from combe.study.fault import Fault, missing
from combe.study.schema import AboutSection
from combe.study.section import OMNI
from combe.study.televisioncheck import family_of, raster_name, services_of, television_faults
from combe.study.terraincheck import has_surface_model

_KINDS: Final[tuple[PatternKind, ...]] = ("horizontal", "vertical")


def table_faults(table: Table, folder: Path) -> list[Fault]:
    """Return one line for each thing that the tables of standards or the pattern files refuse."""
    return [*television_faults(table), *_channel_faults(table), *_pattern_faults(table, folder)]


def _channel_faults(table: Table) -> Iterator[Fault]:
    for place, service, laid in services_of(table):
        raster = raster_name(laid)
        if raster and (words := _channel_fault(raster, family_of(laid), service.get("channel"))):
            yield Fault((*place, "channel"), words)


def _channel_fault(raster: str, family: SystemFamily | None, channel: object) -> str | None:
    if not is_whole(channel):
        return None
    try:
        frequency_mhz = centre_frequency_mhz(raster, channel)
    except ChannelError as error:
        return str(error)
    if family is None or in_planning_bands(family.signal, frequency_mhz):
        return None
    bands = ", ".join(f"{low:g} to {high:g}" for low, high in planning_bands_mhz(family.signal))
    return f"channel {channel} is {frequency_mhz:g} MHz; {family.name} has planning values for {bands} MHz"


def _pattern_faults(table: Table, folder: Path) -> Iterator[Fault]:
    # Stations share patterns, and this is asked at every move of a mast: each file is read once.
    told: dict[tuple[str, PatternKind], str] = {}
    for place, name, kind in _patterns(table):
        if name == OMNI:
            continue
        if (name, kind) not in told:
            told[name, kind] = _pattern_fault(folder / name, kind)
        if told[name, kind]:
            yield Fault(place, told[name, kind])


def _pattern_fault(path: Path, kind: PatternKind) -> str:
    """Return what is wrong with a pattern file, empty where nothing is."""
    try:
        read_pattern(path, kind)
    except (PatternError, OSError) as error:
        return str(error)
    return ""


def _patterns(table: Table) -> Iterator[tuple[tuple[str | int, ...], str, PatternKind]]:
    """Yield place, name and kind of each pattern file that a study names."""
    for index, station in stations_of(table):
        for kind in _KINDS:
            name = text_of(station, f"{kind}_pattern")
            if name is not None:
                yield (("stations", index, f"{kind}_pattern"), name, kind)
        received = text_of(section_of(section_of(station, "feed"), "aerial"), "pattern")
        if received is not None:
            yield (("stations", index, "feed", "aerial", "pattern"), received, "horizontal")


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


def place_faults(table: Table) -> list[Fault]:
    """Return a fault for each relay that is too near to the station that feeds it."""
    return list(_near_faults(table))


def place_of(station: Table) -> tuple[float, float] | None:
    """Return longitude and latitude [degrees] of a station, or None where they are no place on Earth."""
    found = []
    for key, most in (("longitude_deg", 180.0), ("latitude_deg", 90.0)):
        value = station.get(key)
        if not is_number(value) or not abs(value) <= most:
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
            yield Fault(
                ("stations", index),
                f"{quoted(name)} is {where} {quoted(source)}, which feeds it; a path of model "
                f"{quoted(model)} is {1000.0 * least_km:g} m or longer: correct longitude_deg and "
                "latitude_deg of one of them",
            )


_P1812: Final = "p1812"


def model_faults(table: Table) -> list[Fault]:
    """Return one line for each thing that does not fit the model."""
    finders = (_radius_faults, _time_faults, _clutter_faults, _zone_faults, _interference_faults,
               _error_faults)  # fmt: skip
    return [fault for finder in finders for fault in finder(table)]


def model_of(table: Table) -> str:
    """Return the propagation model that a study names, or the usual one."""
    return text_of(section_of(table, "study"), "model") or str(AboutSection.model_fields["model"].default)


def _radius_faults(table: Table) -> Iterator[Fault]:
    air = section_of(table, "air")
    radius_km, place = air.get("effective_radius_km"), ("air", "effective_radius_km")
    if "delta_n" in air and radius_km is not None:
        words = "stands beside delta_n, and both set the effective Earth radius; take one out"
        yield Fault(place, words)
    elif _number(radius_km, EARTH_RADIUS_KM) < EARTH_RADIUS_KM and model_of(table) == _P1812:
        words = f"{radius_km:g} is below the Earth's own radius, which model {quoted(_P1812)} does not cover"
        yield Fault(place, f"{words}; write {EARTH_RADIUS_KM:g} or more")


def _time_faults(table: Table) -> Iterator[Fault]:
    percent, model = _number(section_of(table, "air").get("time_percent"), 50.0), model_of(table)
    if percent != 50.0 and model in ("p526", "free-space"):
        words = f"{percent} cannot be used: model {quoted(model)} predicts the median in time"
        yield Fault(("air", "time_percent"), f"{words}; write 50.0, or study.model = {quoted(_P1812)}")


def _clutter_faults(table: Table) -> Iterator[Fault]:
    if "clutter" not in table:
        return
    section, model = section_of(table, "clutter"), model_of(table)
    if model in ("p526", "free-space"):
        words = f"model {quoted(model)} knows no ground cover"
        yield Fault(("clutter",), f"{words}; take the section out, or write study.model = {quoted(_P1812)}")
    yield from _height_faults(section)
    if has_surface_model(table) and section.get("allow_on_surface_model") is not True:
        yield Fault(
            ("clutter",),
            "the terrain is a surface model, whose heights hold trees and roofs already: cover would count "
            "twice; take the section out, give bare terrain, or write allow_on_surface_model = true",
        )


def _zone_faults(table: Table) -> Iterator[Fault]:
    model = model_of(table)
    if "zones" in table and model in ("p526", "free-space"):
        words = f"model {quoted(model)} does not tell sea from land"
        yield Fault(("zones",), f"{words}; take the section out, or write study.model = {quoted(_P1812)}")


def _height_faults(section: Table) -> Iterator[Fault]:
    """Say where it is not clear what the raster's numbers mean."""
    tables = [key for key in ("legend", "heights") if key in section]
    if section.get("canopy") is True and tables:
        words = f"stands beside {' and '.join(tables)}; a raster holds heights or classes: take one out"
        yield Fault(("clutter", "canopy"), words)
    elif section.get("canopy") is not True and not tables:
        words = 'write legend = "worldcover" (or heights = "FILE.csv"), or canopy = true'
        yield missing(("clutter", "legend"), words)


def _interference_faults(table: Table) -> Iterator[Fault]:
    section, model = section_of(table, "interference"), model_of(table)
    if "time_percent" in section and model in ("p526", "free-space"):
        words = f"model {quoted(model)} predicts the median in time, for interferers too"
        yield Fault(
            ("interference", "time_percent"),
            f"{words}; take it out, or write study.model = {quoted(_P1812)}",
        )
    if section.get("method") == "k-lnm" and _number(section.get("correlation"), 0.0) != 0.0:
        words = 'method "k-lnm" knows no correlation; write correlation = 0.0, or method = "log-normal"'
        yield Fault(("interference", "correlation"), words)


def _error_faults(table: Table) -> Iterator[Fault]:
    section, place = section_of(table, "error"), ("error", "from_survey")
    if section.get("from_survey") is not True:
        return
    stated = [key for key in ("common_db", "place_db") if key in section]
    if stated:
        words = f"stands beside {' and '.join(stated)}; take {'them' if stated[1:] else 'it'} out, or this"
        yield Fault(place, words)
    if "survey" not in table:
        yield Fault(place, 'the study has no survey; write a [survey] table with points = "points.csv"')


def _number(value: object, otherwise: float) -> float:
    """Return a value of the file if it is a number at all."""
    return value if is_number(value) else otherwise
