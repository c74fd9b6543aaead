"""The section of a study file that names the field strengths measured around the site."""

from __future__ import annotations

from pydantic import Field

from combe.study.section import Section, Text


class SurveySection(Section):
    """Field strengths measured around the site, to hold the prediction against."""

    points: Text = Field(
        description="CSV file of longitude_deg,latitude_deg,station,service,field_dbuv_m",
        examples=["points.csv"],
    )
    apply_correction: bool = Field(
        default=False,
        description="true to add the survey's weighted mean error to the fields of its station; maps say so",
    )
