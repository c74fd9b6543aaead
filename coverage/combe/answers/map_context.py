"""What a map shows so that one knows the place: the layers that the project gives, cut to its grid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.project import ContextKind, Project
from combe.terrain import DrawnFeatures, StudyGrid, draw_features, to_grid_m
from combe.words import tell

MOST_OFF_M: Final = 1000.0
"""People and places so far off a named place are told by its name (our own choice)."""


@dataclass(frozen=True)
class DrawnLayer:
    """A layer of the project as its map draws it; ``name`` and ``credit`` as they are given."""

    kind: ContextKind
    name: str
    credit: str
    drawn: DrawnFeatures


def drawn_context(project: Project, grid: StudyGrid) -> tuple[DrawnLayer, ...]:
    """Read the layers that the project gives for its map, and cut them to a grid.

    Raises
    ------
    TableError
        A layer that cannot be read, or without the field that is to name its features.
    """
    layers = ((each, draw_features(each.layer.read(), grid, each.label)) for each in project.context)
    return tuple(DrawnLayer(each.kind, each.layer.name, each.credit, drawn) for each, drawn in layers)


def place_near(layers: Sequence[DrawnLayer], grid: StudyGrid, lon_deg: float, lat_deg: float) -> str:
    """Return the name of the place that the map shows next to one, empty without any in a short walk."""
    here_m = tuple(float(each) for each in to_grid_m(grid, lon_deg, lat_deg))
    away = (
        (math.dist(here_m, part.mean(axis=0)), feature.name)
        for layer in layers
        if layer.kind == "place"
        for feature in layer.drawn.features
        for part in feature.parts
        if feature.name
    )
    off_m, name = min(away, default=(math.inf, ""))
    return name if off_m <= MOST_OFF_M else ""


def context_notes(layers: Sequence[DrawnLayer]) -> list[str]:
    """Say of which layers the map shows nothing, or not all."""
    return [words for each in layers if (words := left_out_words(each))]


def left_out_words(layer: DrawnLayer) -> str:
    """Return what the map does not show of a layer, empty where it shows all that lies on the grid."""
    shown, left_out = len(layer.drawn.features), layer.drawn.left_out
    if not shown and not left_out:
        return tell("map: {name} has nothing on the study area", name=layer.name)
    if not left_out:
        return ""
    return tell(
        "map: of {name} {shown} features are shown, the longest first, and {left_out} are left out; "
        "cut it to the main ones",
        name=layer.name,
        shown=shown,
        left_out=left_out,
    )
