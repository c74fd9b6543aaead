"""The sections of a study file on how sure its predictions are: their error, and what was measured."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from combe.study.section import Section, Text
from combe.study.table_schema import (
    Columns,
    Decimal,
    columns_field,
    crs_field,
    decimal_field,
    encoding_field,
)


class ErrorSection(Section):
    """How far predictions are off, for the range of the people served."""

    common_db: float | None = Field(
        default=None,
        ge=0.0,
        le=30.0,
        description="standard deviation of the part of the error that all fields of the area have in common "
        "[dB]; without it as known of the model",
        examples=[4.0],
    )
    place_db: float | None = Field(
        default=None,
        ge=0.0,
        le=30.0,
        description="standard deviation of each place's own error [dB]; without it as known of the model",
        examples=[7.5],
    )
    from_survey: bool = Field(
        default=False, description="true to take both from the study's survey, in place of numbers"
    )


class SurveySection(Section):
    """Field strengths measured around the site, to hold the prediction against."""

    points: Text = Field(
        description="CSV file of longitude_deg,latitude_deg,station,service,field_dbuv_m",
        examples=["points.csv"],
    )
    columns: Columns | None = columns_field({"field_dbuv_m": "level"})
    crs: Text | None = crs_field()
    encoding: Text | None = encoding_field()
    decimal: Decimal | None = decimal_field()
    apply_correction: bool | Literal["kriged"] = Field(
        default=False,
        description='true to add the survey\'s weighted mean error to the fields of its station, "kriged" to '
        "add what hangs together from place to place as well; maps say so",
    )
