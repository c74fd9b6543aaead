"""The section of a study file on where the sea is: zones given as a raster, or derived of sea and terrain."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from combe.study.section import Section, Text

_Longitude = Annotated[float, Field(ge=-180.0, le=360.0)]
_Latitude = Annotated[float, Field(ge=-90.0, le=90.0)]


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
    sea: tuple[Text, ...] = Field(
        default=(),
        strict=False,
        description="where the sea is, to derive zones: rasters of classes, or one file of polygons; beside "
        "raster it only checks that",
        examples=[["water.tif"]],
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


def zone_files(section: ZonesSection | None) -> list[str]:
    """Return the files that the section names, none where there is no section."""
    named = () if section is None else (section.raster, *section.sea, section.lakes)
    return [name for name in named if name is not None]
