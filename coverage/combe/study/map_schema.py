"""The section of a study file on the map: what is drawn there beside the study's own."""

from __future__ import annotations

from pydantic import Field

from combe.project.context import ContextKind
from combe.study.section import Section, Text


class ContextSection(Section):
    """Places, roads, waters or borders for the map, from a GeoPackage or GeoJSON; they are drawn, no more."""

    path: Text = Field(
        description="points, lines or polygons; cut to the study area", examples=["roads.gpkg"]
    )
    kind: ContextKind = Field(
        description="what they are: place, road, water, border or other", examples=["road"]
    )
    label: Text | None = Field(
        default=None, description="field of the file with the name of each feature", examples=["name"]
    )
    layer: Text | None = Field(
        default=None, description="of a GeoPackage with several layers", examples=["roads"]
    )
    credit: str = Field(
        default="", max_length=500, description="owner and licence, printed on the map", examples=["OWNER"]
    )


class MapSection(Section):
    """What the map shows beside ground, coverage, people and stations."""

    context: tuple[ContextSection, ...] = Field(
        default=(), strict=False, description="by what one knows the place", max_length=20
    )
