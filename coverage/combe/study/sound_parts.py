"""Takes out of a study file with faults what is sound enough to be held against its rasters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from combe.study.crosscheck import section_of, stations_of, tables_of, text_of
from combe.study.faults import quoted
from combe.study.file import Reading, Study, beside
from combe.study.placecheck import place_of
from combe.study.schema import (
    AboutSection,
    ClutterSection,
    GridSection,
    PeopleSection,
    StudyFile,
    TerrainSection,
    ZonesSection,
)
from combe.study.section import Section
from combe.study.sitingcheck import LAYER_KEYS

_SECTIONS: Final[Mapping[str, type[Section]]] = {
    "terrain": TerrainSection,
    "clutter": ClutterSection,
    "zones": ZonesSection,
    "grid": GridSection,
    "people": PeopleSection,
}
_WORDS_ALONE: Final = {"terrain": ("vertical_datum", "surface_model", "credit", "speaks_of")}
"""Keys of a section whose faults do not touch what its rasters say."""


@dataclass(frozen=True)
class Site:
    """Where a station stands: its place in the file (``stations[1]``), what it is called, and where it is."""

    key: str
    words: str
    longitude_deg: float
    latitude_deg: float


@dataclass(frozen=True)
class Layer:
    """A vector file: its place in the study file (``siting.inside``), and where it lies."""

    key: str
    path: Path


@dataclass(frozen=True)
class Survey:
    """A table of survey points, and the services of each station that it may name."""

    path: Path
    services: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class SoundParts:
    """What of a study can be held against its rasters.

    Attributes
    ----------
    study
        Sections that are not in ``sections`` must not be asked for; it has no stations.
    sections
        Names of the sections that are there and free of faults.
    sites
        The stations whose places are known.
    layers
        The vector files of siting.
    survey
        The survey, None without one or where the names of stations and services are at fault.
    """

    study: Study
    sections: frozenset[str]
    sites: tuple[Site, ...]
    layers: tuple[Layer, ...]
    survey: Survey | None


def parts_of_study(study: Study) -> SoundParts:
    """Return the whole of a study without faults."""
    content = study.content
    there = frozenset(name for name in _SECTIONS if getattr(content, name) is not None)
    layers = _layers(study.path, content.siting.model_dump() if content.siting else {}, [])
    services = {each.name: tuple(service.name for service in each.services) for each in content.stations}
    survey = Survey(beside(study, content.survey.points), services) if content.survey else None
    return SoundParts(study, there, sites_of(study), layers, survey)


def sites_of(study: Study, names: Iterable[str] | None = None) -> tuple[Site, ...]:
    """Return where the stations of a study stand: all, or those of some names."""
    return tuple(
        Site(f"stations[{index}]", _called(each.name), each.longitude_deg, each.latitude_deg)
        for index, each in enumerate(study.content.stations)
        if names is None or each.name in names
    )


def parts_of_reading(reading: Reading) -> SoundParts:
    """Return what is sound of a study with faults."""
    faulty = [fault.partition(": ")[0] for fault in reading.faults]
    found = {name: _section(reading, name, faulty) for name in _SECTIONS}
    about = _validated(AboutSection, section_of(reading.table, "study")) or AboutSection(title="a study")
    content = StudyFile.model_construct(study=about, stations=(), **found)
    there = frozenset(name for name, section in found.items() if section is not None)
    study = Study(reading.path, content)
    layers = _layers(reading.path, section_of(reading.table, "siting"), faulty)
    return SoundParts(study, there, _sites(reading, faulty), layers, _survey(reading, faulty))


def _section(reading: Reading, name: str, faulty: list[str]) -> Any:
    """Return a section as checked, or None where it is at fault or not there; a grid always is."""
    aside = {f"{name}.{key}" for key in _WORDS_ALONE.get(name, ())}
    if any(_within(place, name) and place not in aside for place in faulty):
        return None
    if name not in reading.table and name != "grid":
        return None
    written = section_of(reading.table, name)
    kept = {key: value for key, value in written.items() if f"{name}.{key}" not in {*faulty} & aside}
    return _validated(_SECTIONS[name], kept)


def _layers(file: Path, siting: Mapping[str, Any], faulty: list[str]) -> tuple[Layer, ...]:
    named = [(f"siting.{key}", text_of(siting, key)) for key in LAYER_KEYS]
    return tuple(Layer(key, file.parent / name) for key, name in named if name and key not in faulty)


def _survey(reading: Reading, faulty: list[str]) -> Survey | None:
    name = text_of(section_of(reading.table, "survey"), "points")
    if name is None or any(_within(place, each) for place in faulty for each in ("survey", "stations")):
        return None
    services = {
        str(text_of(station, "name")): tuple(
            str(text_of(each, "name")) for _, each in tables_of(station, "services")
        )
        for _, station in stations_of(reading.table)
    }
    return Survey(reading.path.parent / name, services)


def _within(place: str, name: str) -> bool:
    return place == name or place.startswith((f"{name}.", f"{name}["))


def _validated(section: type[Section], written: Mapping[str, Any]) -> Any:
    try:
        return section.model_validate(written)
    except ValidationError:
        return None


def _sites(reading: Reading, faulty: list[str]) -> tuple[Site, ...]:
    found = []
    for index, station in stations_of(reading.table):
        key, place = f"stations[{index}]", place_of(station)
        if place is not None and not {f"{key}.longitude_deg", f"{key}.latitude_deg"} & {*faulty}:
            found.append(Site(key, _called(text_of(station, "name") or ""), *place))
    return tuple(found)


def _called(name: str) -> str:
    return f"station {quoted(name)}" if name else "a station"
