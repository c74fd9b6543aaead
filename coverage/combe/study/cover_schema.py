"""The sections of a study file on what stands on the ground, by season, and on where the sea is."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from combe.study.section import Section, Text


class LeaflessSection(Section):
    """How high cover counts without leaves: a factor of your own, since no Recommendation gives one."""

    class_number: int | None = Field(
        default=None, ge=0, description="class of the raster; none for a raster of heights", examples=[41]
    )
    height_factor: float = Field(
        ge=0.0, le=1.0, description="by what its height is multiplied", examples=[0.7]
    )


class ClutterSection(Section):
    """What stands on the ground; model p1812 adds it to bare terrain between the aerials."""

    raster: Text = Field(
        description="land-cover classes, or canopy heights [m], relative to the study file",
        examples=["land_cover.tif"],
    )
    legend: Literal["worldcover", "nlcd", "corine", "corine-grid", "corine-level-1"] | None = Field(
        default=None,
        description="land-cover map whose classes the raster holds, and whose shipped heights are taken",
        examples=["worldcover"],
    )
    heights: Text | None = Field(
        default=None,
        description="CSV file of class,height_m; goes before the legend, or stands alone",
        examples=["cover_heights.csv"],
    )
    canopy: bool = Field(default=False, description="true if the raster holds heights and not classes")
    allow_on_surface_model: bool = Field(
        default=False,
        description="true to add cover to a surface model, whose trees and roofs then count twice",
    )
    crs: Text | None = Field(
        default=None, description="reference system of a raster that carries none", examples=["EPSG:32616"]
    )
    season: Literal["in leaf", "leafless"] = Field(
        default="in leaf", description="whether trees have leaves; leafless takes the factors given below"
    )
    leafless: tuple[LeaflessSection, ...] = Field(
        default=(), strict=False, description="how high cover counts without leaves"
    )
