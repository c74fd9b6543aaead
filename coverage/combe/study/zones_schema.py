"""The section of a study file on where the sea is: zones given as a raster, or derived of sea and terrain."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from combe.study.section import Section, Text

_Longitude = Annotated[float, Field(ge=-180.0, le=360.0)]
_Latitude = Annotated[float, Field(ge=-90.0, le=90.0)]

ZONE_FILES: Final = ("raster", "sea", "lakes")
"""Keys of the section that name files."""


class ZonesSection(Section):
    """Where the sea is; model p1812 lets ducts carry further over it. Without it all is inland."""

    raster: Text | None = Field(
        default=None,
        description="zone codes 1 sea, 3 coastal land, 4 inland (ITU-R P.1812), relative to the study file",
        examples=["zones.tif"],
    )
    crs: Text | None = Field(
        default=None, description="reference system of a raster that carries none", examples=["EPSG:32616"]
    )
    sea: Text | None = Field(
        default=None,
        description="where the sea is, to derive zones: a raster of classes, or polygons; beside raster it "
        "only checks that",
        examples=["water.tif"],
    )
    sea_codes: tuple[int, ...] | None = Field(
        default=None, strict=False, min_length=1, description="classes that are sea", examples=[[1]]
    )
    polygons: Literal["sea", "land"] | None = Field(
        default=None, description="what the polygons are, of the sea or of the land", examples=["land"]
    )
    sea_at: tuple[Annotated[tuple[_Longitude, _Latitude], Field(strict=False)], ...] = Field(
        default=(),
        strict=False,
        description="places in the sea [degrees]; then only water that hangs together with one is sea",
        examples=[[[10.5, 54.2]]],
    )
    lakes: Text | None = Field(
        default=None,
        description="polygons of lakes that count as sea, for those that hold a circle of 100 km",
        examples=["lakes.geojson"],
    )
