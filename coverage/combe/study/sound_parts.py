"""Takes out of a study file with faults what is sound enough to be held against its rasters."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from combe.errors import quoted
from combe.planning import FEWEST_KRIGED, FEWEST_PLACES, SurveyPoint
from combe.project.given import Given
from combe.project.parts import COORDINATION_POINTS, Parts, Site
from combe.study.context_of import sound_context
from combe.study.coordination_of import point_layer
from combe.study.cover_of import open_study_cover
from combe.study.cover_schema import ClutterSection
from combe.study.crosscheck import section_of, stations_of, tables_of, text_of
from combe.study.fault import Place, is_within
from combe.study.file import Reading, Study
from combe.study.off_air import off_air_of_table
from combe.study.project_of import (
    layer_of,
    people_files,
)
from combe.study.schema import (
    AboutSection,
    GridSection,
    PeopleSection,
    StudyFile,
)
from combe.study.section import Section
from combe.study.sitingcheck import LAYER_KEYS
from combe.study.survey_file import read_survey
from combe.study.tablecheck import place_of
from combe.study.terrain_of import grid_wish, open_study_terrain
from combe.study.terrain_schema import TerrainSection
from combe.study.zones_of import open_study_zones
from combe.study.zones_schema import ZonesSection
from combe.tables import layout_of
from combe.terrain import Features

Made = TypeVar("Made")

_SECTIONS: Final[Mapping[str, type[Section]]] = {
    "terrain": TerrainSection,
    "clutter": ClutterSection,
    "zones": ZonesSection,
    "grid": GridSection,
    "people": PeopleSection,
}
_WORDS_ALONE: Final = {"terrain": ("vertical_datum", "surface_model", "credit", "speaks_of")}
"""Keys of a section whose faults do not touch what its rasters say."""


def parts_of_reading(reading: Reading) -> Parts:
    """Return what is sound of a study with faults, as makers of what can be opened."""
    faulty = {fault.place for fault in reading.faults}
    found = {name: _section(reading, name, faulty) for name in _SECTIONS}
    # Zones are derived as far as stations lie, which are known of a study whose keys are all sound.
    stations = reading.content.stations if reading.content else ()
    about = _validated(AboutSection, section_of(reading.table, "study")) or AboutSection(title="a study")
    study = Study(reading.path, StudyFile.model_construct(study=about, stations=stations, **found))
    return Parts(
        terrain=partial(open_study_terrain, study) if found["terrain"] else None,
        cover=_maker(open_study_cover, study) if found["clutter"] else None,
        zones=_maker(open_study_zones, study) if _zones_can_be(found) else None,
        grid=grid_wish(found["grid"]) if found["grid"] else None,
        people=people_files(study) if found["people"] else None,
        sites=_sites(reading, faulty),
        layers=(
            *_layers(reading.path, section_of(reading.table, "siting"), faulty),
            *_points(reading, faulty),
            *sound_context(reading.table, reading.path.parent, faulty),
        ),
        survey=_survey(reading, faulty),
        fewest_places=_fewest_places(reading),
    )


def _maker(make: Callable[[Study], Made | None], study: Study) -> Callable[[], Made]:
    """Return what makes a part that is there."""

    def made() -> Made:
        part = make(study)
        assert part is not None, "the section is there"
        return part

    return made


def _zones_can_be(found: Mapping[str, Any]) -> bool:
    """Tell whether zones can be opened: those that are derived need a sound terrain and grid as well."""
    zones = found["zones"]
    return zones is not None and (zones.sea is None or bool(found["terrain"] and found["grid"]))


def _section(reading: Reading, name: str, faulty: set[Place]) -> Any:
    """Return a section as checked, or None where it is at fault or not there; a grid always is."""
    aside = {(name, key) for key in _WORDS_ALONE.get(name, ())}
    if any(is_within(place, (name,)) and place not in aside for place in faulty):
        return None
    if name not in reading.table and name != "grid":
        return None
    written = section_of(reading.table, name)
    kept = {key: value for key, value in written.items() if (name, key) not in faulty & aside}
    return _validated(_SECTIONS[name], kept)


def _layers(
    file: Path, siting: Mapping[str, Any], faulty: set[Place]
) -> tuple[tuple[str, Given[Features]], ...]:
    named = [(key, text_of(siting, key)) for key in LAYER_KEYS]
    return tuple(
        (f"siting.{key}", layer_of(file.parent / name, name))
        for key, name in named
        if name and ("siting", key) not in faulty
    )


def _points(reading: Reading, faulty: set[Place]) -> tuple[tuple[str, Given[Features]], ...]:
    """Return the points or lines of coordination, unless their key is at fault."""
    name = text_of(section_of(reading.table, "coordination"), "points")
    if not name or ("coordination", "points") in faulty:
        return ()
    return ((COORDINATION_POINTS, point_layer(reading.path.parent / name, name)),)


def _fewest_places(reading: Reading) -> int:
    """Return at how many places a survey that corrects has to have measured; 0 for one that does not."""
    asked = section_of(reading.table, "survey").get("apply_correction")
    if asked == "kriged":
        return FEWEST_KRIGED
    return FEWEST_PLACES if asked is True else 0


def _survey(reading: Reading, faulty: set[Place]) -> Given[tuple[SurveyPoint, ...]] | None:
    name = text_of(section_of(reading.table, "survey"), "points")
    if name is None or any(is_within(place, (each,)) for place in faulty for each in ("survey", "stations")):
        return None
    services = {
        str(text_of(station, "name")): tuple(
            str(text_of(each, "name")) for _, each in tables_of(station, "services")
        )
        for _, station in stations_of(reading.table)
    }
    off_air = off_air_of_table(reading.table)
    layout = layout_of(section_of(reading.table, "survey"))
    read = partial(read_survey, reading.path.parent / name, services, off_air=off_air, layout=layout)
    return Given(name, read)


def _validated(section: type[Section], written: Mapping[str, Any]) -> Any:
    try:
        return section.model_validate(written)
    except ValidationError:
        return None


def _sites(reading: Reading, faulty: set[Place]) -> tuple[Site, ...]:
    found, off_air = [], off_air_of_table(reading.table)
    for index, station in stations_of(reading.table):
        key, place = ("stations", index), place_of(station)
        if text_of(station, "name") in off_air:
            continue
        if place is not None and not {(*key, "longitude_deg"), (*key, "latitude_deg")} & faulty:
            found.append(Site(reading.teller.place(key), _called(text_of(station, "name") or ""), *place))
    return tuple(found)


def _called(name: str) -> str:
    return f"station {quoted(name)}" if name else "a station"
