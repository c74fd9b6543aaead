"""The shape of the table that tells a climate by its numbers."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from combe.study.section import Section


class ClimateSection(Section):
    """The numbers of the maps of ITU-R P.2001-4 at the study's place; those of rain all together, or none."""

    median_dn: float = Field(
        ge=0.0,
        le=156.0,
        description="median fall of refractivity in the lowest kilometre [N-units/km], positive (DN_Median)",
        examples=[42.0],
    )
    super_slope: float = Field(
        ge=0.0,
        le=1000.0,
        description="how that fall grows towards small shares of time [N-units/km], positive (DN_SupSlope)",
        examples=[45.0],
    )
    sub_slope: float = Field(
        ge=0.0,
        le=1000.0,
        description="how it shrinks towards large shares of time [N-units/km], positive (DN_SubSlope)",
        examples=[24.0],
    )
    dn_65m_1_percent: float = Field(
        ge=-2000.0,
        le=0.0,
        description="gradient of the lowest 65 m exceeded for 1 % of a year [N-units/km], negative (dndz_01)",
        examples=[-230.0],
    )
    foes_0_1_mhz: float = Field(
        ge=0.01,
        le=30.0,
        description="critical frequency of sporadic E exceeded for 0.1 % of a year [MHz] (FoEs0.1)",
        examples=[7.5],
    )
    foes_1_mhz: float = Field(
        ge=0.01, le=30.0, description="the same exceeded for 1 % of a year [MHz] (FoEs01)", examples=[5.5]
    )
    foes_10_mhz: float = Field(
        ge=0.01, le=30.0, description="the same exceeded for 10 % of a year [MHz] (FoEs10)", examples=[3.6]
    )
    foes_50_mhz: float = Field(
        ge=0.01, le=30.0, description="the same exceeded for 50 % of a year [MHz] (FoEs50)", examples=[2.2]
    )
    rain_height_km: float = Field(
        ge=-5.0, le=10.0, description="mean height of 0 °C above the sea [km] (h0)", examples=[2.2]
    )
    water_vapour_g_m3: float = Field(
        ge=0.0,
        le=100.0,
        description="median water vapour at the surface [g/m³] (surfwv_50_fixed)",
        examples=[8.0],
    )
    troposcatter_climate: int = Field(
        ge=0, le=6, description="climatic zone of troposcatter, 0 the sea, 1 to 6 (TropoClim)", examples=[5]
    )
    rain_six_hours_percent: float | None = Field(
        default=None,
        ge=0.0,
        le=100.0,
        description="chance of rain within six hours [%] (Esarain_Pr6_v5)",
        examples=[12.0],
    )
    rain_mm_per_year: float | None = Field(
        default=None,
        ge=0.0,
        le=20_000.0,
        description="rain of a year [mm] (Esarain_Mt_v5)",
        examples=[900.0],
    )
    convective_rain_share: float | None = Field(
        default=None,
        ge=0.0,
        le=1.0,
        description="share of it that falls in showers, 0 to 1 (Esarain_Beta_v5)",
        examples=[0.4],
    )


def _kind(written: object) -> str:
    """Tell which of the two a climate is meant to be, so that its faults are told as those of one alone."""
    return "numbers" if isinstance(written, dict | ClimateSection) else "name"


ClimateWritten = Annotated[
    Annotated[Literal["temperate", "continental", "maritime", "humid tropical", "desert"], Tag("name")]
    | Annotated[ClimateSection, Tag("numbers")],
    Discriminator(_kind),
]
"""A climate as a study writes it: the name of a typical one, or a table of its numbers."""
