"""The section of a study file on its elevation: near the relay, beyond it, and what of voids and the sea."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from combe.study.section import Section, Text


class ElevationSection(Section):
    """Elevation rasters of one kind, and what has to be known about them."""

    tiles: tuple[Text, ...] = Field(
        strict=False,
        min_length=1,
        description="elevation rasters (GeoTIFF, SRTM .hgt, ASCII grid), relative to the study file",
        examples=[["terrain.tif"]],
    )
    vertical_datum: Text = Field(
        default="unknown", description="what heights are counted from", examples=["EGM96"]
    )
    surface_model: bool = Field(
        default=False, description="true if the heights include trees and roofs", examples=[False]
    )
    credit: str = Field(default="", max_length=500, description="owner and licence, printed on the pages")
    crs: Text | None = Field(
        default=None,
        description="coordinate reference system of tiles that carry none (.asc)",
        examples=["EPSG:32616"],
    )
    sea_floor: bool = Field(
        default=False, description="true if heights below 0 are the bed of the sea; they count as 0"
    )
    fill_voids: Literal["inverse distance"] | None = Field(
        default=None,
        description="how cells without a height are filled; without it they stay unknown",
        examples=["inverse distance"],
    )
    fill_within_m: float | None = Field(
        default=None,
        gt=0.0,
        le=100_000.0,
        description="how far known ground may be from a cell that is filled [m]; goes with fill_voids",
        examples=[300.0],
    )


class BeyondSection(ElevationSection):
    """Elevation where the tiles above have none: coarser, farther, or of another reference system."""

    tiles: tuple[Text, ...] = Field(
        strict=False,
        min_length=1,
        description="elevation rasters, asked where those above have no height",
        examples=[["coarse.tif"]],
    )


class TerrainSection(ElevationSection):
    """The elevation rasters, and what has to be known about them."""

    speaks_of: tuple[Text, ...] | None = Field(
        default=None,
        strict=False,
        description="tiles that datum, surface_model and credit were written of; with #MARK, 8 digits of "
        "SHA-256 that check tells; a fault where the study holds others",
        examples=[["terrain.tif"]],
    )
    beyond: tuple[BeyondSection, ...] = Field(
        default=(), strict=False, description="elevation where these tiles have none, in order"
    )
