"""The section of a study file that says where, and for what, neighbours ask for the field of stations."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from combe.study.section import Name, Section, Text
from combe.study.table_schema import (
    Columns,
    Decimal,
    columns_field,
    crs_field,
    decimal_field,
    encoding_field,
)


class TriggerSection(Section):
    """A trigger value of an agreement, and the band in which it stands."""

    from_mhz: float = Field(ge=0.0, le=3000.0, description="lower edge [MHz]", examples=[470.0])
    to_mhz: float = Field(gt=0.0, le=3000.0, description="upper edge [MHz]", examples=[694.0])
    field_dbuv_m: float = Field(
        ge=-50.0, le=150.0, description="field over which coordination is asked for", examples=[23.0]
    )


class CoordinationSection(Section):
    """Where a neighbour asks for the field of stations, and over what. For combe coordinate."""

    points: Text = Field(
        description="GeoPackage or GeoJSON of points, lines, or polygons, whose outlines count; or CSV of "
        "longitude_deg,latitude_deg,name",
        examples=["border.geojson"],
    )
    columns: Columns | None = columns_field({"longitude_deg": "lon", "latitude_deg": "lat"})
    crs: Text | None = crs_field()
    encoding: Text | None = encoding_field()
    decimal: Decimal | None = decimal_field()
    spacing_km: float = Field(
        default=1.0, ge=0.01, le=100.0, description="from one point of a line to the next [km]"
    )
    time_percent: float = Field(
        default=1.0, ge=1.0, le=50.0, description="time for which the field is exceeded [%]"
    )
    height_m: float = Field(default=10.0, ge=1.0, le=3000.0, description="receiving aerial above ground [m]")
    trigger_dbuv_m: float | None = Field(
        default=None,
        ge=-50.0,
        le=150.0,
        description="field over which coordination is asked for, at all frequencies [dB(µV/m)]",
        examples=[23.0],
    )
    trigger_table: Literal["GE06"] | None = Field(
        default=None,
        description="published values by band, in its place: GE06, of digital television, from memory",
        examples=["GE06"],
    )
    stations: tuple[Name, ...] = Field(
        default=(), strict=False, description="stations meant; all unless given", examples=[["Long Combe"]]
    )
    triggers: tuple[TriggerSection, ...] = Field(
        default=(), strict=False, description="trigger values by band, in place of both"
    )
