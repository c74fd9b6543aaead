"""Writes a study as commented TOML: every key with its meaning, the unused ones as comments."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from typing import Any, Final, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from combe.study.climate_schema import ClimateSection
from combe.study.coordination_schema import CoordinationSection, TriggerSection
from combe.study.cover_schema import ClutterSection, LeaflessSection
from combe.study.map_schema import ContextSection, MapSection
from combe.study.saved_text import toml_value
from combe.study.schema import (
    AirSection,
    NetworkSection,
    PeopleSection,
    StationSection,
    StudyFile,
)
from combe.study.section import Section
from combe.study.siting_schema import (
    SitingFeedSection,
    SitingLimitSection,
    SitingSection,
    SitingServiceSection,
)
from combe.study.survey_schema import SurveySection
from combe.study.terrain_schema import BeyondSection, TerrainSection
from combe.study.zones_schema import ZonesSection

_COMMENT_COLUMN: Final = 44

_HEAD: Final = """\
# A Combe study: one place, its stations, and what has to be known to predict them.
# Check it with: combe check FILE. Names of files count from this file's folder.
"""


_SECTIONS: Final = (
    "study",
    "terrain",
    "clutter",
    "zones",
    "grid",
    "air",
    "television",
    "reception",
    "interference",
    "people",
    "error",
    "survey",
    "network",
)

_SITING_TABLES: Final[tuple[tuple[str, type[Section]], ...]] = (
    ("[siting]", SitingSection),
    ("[[siting.services]]", SitingServiceSection),
    ("[siting.feed]", SitingFeedSection),
    ("[[siting.limits]]", SitingLimitSection),
)

_COORDINATION_TABLES: Final[tuple[tuple[str, type[Section]], ...]] = (
    ("[coordination]", CoordinationSection),
    ("[[coordination.triggers]]", TriggerSection),
)

_MAP_TABLES: Final[tuple[tuple[str, type[Section]], ...]] = (
    ("[map]", MapSection),
    ("[[map.context]]", ContextSection),
)

_OPTIONAL: Final[dict[str, type[Section]]] = {
    "clutter": ClutterSection,
    "zones": ZonesSection,
    "people": PeopleSection,
    "network": NetworkSection,
    "survey": SurveySection,
}


def study_text(content: StudyFile) -> str:
    """Return TOML that reads back as ``content``; the comments are the schema's own descriptions."""
    parts = [_HEAD]
    for name in _SECTIONS:
        parts.append("\n".join(_section(name, getattr(content, name))))
    parts.append("\n".join(_tables("siting", content.siting, _SITING_TABLES)))
    parts.append("\n".join(_tables("coordination", content.coordination, _COORDINATION_TABLES)))
    parts.append("\n".join(_tables("map", content.map, _MAP_TABLES)))
    parts += ["\n".join(_station(station, index == 0)) for index, station in enumerate(content.stations)]
    return "\n".join(part.rstrip() + "\n" for part in parts)


def _section(name: str, section: Section | None) -> Iterator[str]:
    """Yield a section's lines, all of them as comments where the study has none."""
    if section is not None:
        yield from _table(f"[{name}]", section, comments=True)
        if isinstance(section, AirSection):
            yield from _climate(section)
        if isinstance(section, ClutterSection):
            yield from _leafless(section.leafless)
        if isinstance(section, TerrainSection):
            yield from _beyond(section.beyond)
        return
    yield from _unused_table(f"[{name}]", _OPTIONAL[name])
    if name == "clutter":
        yield from _leafless(())


def _climate(air: AirSection) -> Iterator[str]:
    """Yield the table of a climate's numbers; as comments where the study names a climate, or none."""
    yield ""
    if isinstance(air.climate, ClimateSection):
        yield from _table("[air.climate]", air.climate, comments=True)
    else:
        yield from _unused_table("[air.climate]", ClimateSection)


def _beyond(entries: tuple[BeyondSection, ...]) -> Iterator[str]:
    """Yield the elevation beyond a study's tiles; as comments where there is none."""
    yield ""
    for number, each in enumerate(entries):
        yield from _entry("[[terrain.beyond]]", each, first=number == 0)
    if not entries:
        yield from _unused_table("[[terrain.beyond]]", BeyondSection)


def _leafless(entries: tuple[LeaflessSection, ...]) -> Iterator[str]:
    """Yield the factors of leafless cover; as comments where there are none."""
    yield ""
    for number, each in enumerate(entries):
        yield from _entry("[[clutter.leafless]]", each, first=number == 0)
    if not entries:
        yield from _unused_table("[[clutter.leafless]]", LeaflessSection)


def _tables(
    name: str, section: Section | None, tables: tuple[tuple[str, type[Section]], ...]
) -> Iterator[str]:
    """Yield a section with the tables inside it; all as comments where the study has none."""
    if section is not None:
        yield from _with_inner(name, section)
        return
    yield from _meaning(tables[0][1])
    for heading, model in tables:
        yield f"# {heading}"
        for key, field in model.model_fields.items():
            if (field.is_required() and not field.examples) or _holds_tables(field):
                continue
            yield _unused(field.alias or key, field)


def _holds_tables(field: FieldInfo) -> bool:
    """Tell whether a key is a table or a list of tables."""
    return any(issubclass(each, Section) for each in (field.annotation, *get_args(field.annotation))
               if isinstance(each, type))  # fmt: skip


def _station(station: StationSection, first: bool) -> Iterator[str]:
    """Yield a station's lines; the comments stand at the first parent, and at feed and output side only."""
    yield from _table("[[stations]]", station, comments=first)
    for number, service in enumerate(station.services):
        yield ""
        yield from _table("[[stations.services]]", service, comments=first and number == 0)
    for name in ("feed", "output", "array"):
        if getattr(station, name) is not None:
            yield from _with_inner(f"stations.{name}", getattr(station, name))


def _with_inner(heading: str, section: Section) -> Iterator[str]:
    """Yield a table and the tables inside it, lists of them too, all explained."""
    yield ""
    yield from _table(f"[{heading}]", section, comments=True)
    for name in type(section).model_fields:
        value = getattr(section, name)
        if isinstance(value, Section):
            yield from _with_inner(f"{heading}.{name}", value)
        elif value is None and _may_be_table(type(section).model_fields[name]):
            yield ""
            field = type(section).model_fields[name]
            inner = next(each for each in get_args(field.annotation) if issubclass(each, Section))
            yield from _unused_table(f"[{heading}.{name}]", inner)
        elif _is_table(value):
            for number, entry in enumerate(value):
                yield ""
                yield from _entry(f"[[{heading}.{name}]]", entry, first=number == 0)


def _entry(heading: str, entry: Section, *, first: bool) -> Iterator[str]:
    """Yield one table of a list; its keys are explained, and those it has not are left out."""
    if first:
        yield from _meaning(type(entry))
    yield heading
    for name, field in type(entry).model_fields.items():
        if getattr(entry, name) is not None:
            yield _line(f"{name} = {toml_value(getattr(entry, name))}", field)


def _table(heading: str, section: Section, *, comments: bool) -> Iterator[str]:
    if comments:
        yield from _meaning(type(section))
    yield heading
    for name, field in type(section).model_fields.items():
        value = getattr(section, name)
        key = field.alias or name
        if _is_table(value) or value == ():
            continue
        if value is None:
            if comments and not _may_be_table(field):
                yield _unused(key, field)
        else:
            yield _line(f"{key} = {toml_value(value)}", field if comments else None)


def _meaning(section: type[BaseModel]) -> list[str]:
    return [f"# {line}" for line in inspect.cleandoc(section.__doc__ or "").splitlines()]


def _is_table(value: Any) -> bool:
    return isinstance(value, BaseModel) or (
        isinstance(value, tuple) and any(isinstance(entry, BaseModel) for entry in value)
    )


def _may_be_table(field: FieldInfo) -> bool:
    """Tell whether a key that is not there would be a table."""
    return any(isinstance(each, type) and issubclass(each, Section) for each in get_args(field.annotation))


def _unused_table(heading: str, section: type[Section]) -> Iterator[str]:
    """Yield a table that the study has not, whole, as comments."""
    yield from _meaning(section)
    yield f"# {heading}"
    for name, each in section.model_fields.items():
        if not _may_be_table(each):
            yield _unused(each.alias or name, each)


def _unused(key: str, field: FieldInfo) -> str:
    example = field.examples[0] if field.examples else field.get_default()
    return _line(f"# {key} = {toml_value(example)}", field)


def _line(text: str, field: FieldInfo | None) -> str:
    if field is None or not field.description:
        return text
    return f"{text.ljust(_COMMENT_COLUMN)}  # {field.description}"
