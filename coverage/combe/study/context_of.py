"""Turns the section on the map into layers that are read when asked for; finds files that are not there."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from combe.errors import quoted
from combe.files import is_regular
from combe.project.context import ContextLayer
from combe.project.given import Given
from combe.project.parts import CONTEXT
from combe.study.crosscheck import Table, section_of, tables_of, text_of
from combe.study.fault import Fault, Place
from combe.study.map_schema import ContextSection, MapSection
from combe.terrain import Features, read_labelled

_PLACE: Final = ("map", "context")


def context_of(section: MapSection | None, folder: Path) -> tuple[ContextLayer, ...]:
    """Return the layers of a map; names of files count from the folder."""
    return tuple(
        ContextLayer(each.kind, _layer(each, folder), each.label, each.credit)
        for each in (section.context if section else ())
    )


def sound_context(
    table: Mapping[str, Any], folder: Path, faulty: Container[Place]
) -> Iterator[tuple[str, Given[Features]]]:
    """Yield the layers of a study with faults that have none themselves, by their place in it."""
    for index, written in tables_of(section_of(table, _PLACE[0]), _PLACE[1]):
        if (*_PLACE, index, "path") in faulty:
            continue
        try:
            yield f"{CONTEXT}[{index}]", _layer(ContextSection.model_validate(written), folder)
        except ValidationError:
            continue


def context_faults(table: Table, folder: Path) -> list[Fault]:
    """Return a fault for each file of the map that is not there."""
    return [
        Fault(
            (*_PLACE, index, "path"),
            f"{quoted(name)}: there is no such file; names count from {folder or Path()}",
        )
        for index, written in tables_of(section_of(table, _PLACE[0]), _PLACE[1])
        if (name := text_of(written, "path")) and not is_regular(folder / name)
    ]


def _layer(section: ContextSection, folder: Path) -> Given[Features]:
    path = folder / section.path
    return Given(
        section.path, partial(read_labelled, path, section.layer, section.label), str(path.resolve())
    )
