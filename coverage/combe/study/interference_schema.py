"""The section of a study file that says how other stations on the air are counted against a service."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from combe.study.section import Section


class InterferenceSection(Section):
    """How stations on the same, the next or a related channel count against one another."""

    counted: bool = Field(
        default=True,
        description="false to judge every service against noise alone, whatever else is on the air",
    )
    method: Literal["log-normal", "k-lnm", "power sum", "multiplication"] | None = Field(
        default=None,
        description="how interfering fields are summed: log-normal (Schwartz and Yeh), k-lnm (Fenton and "
        "Wilkinson with k), power sum (medians as powers), or the simplified multiplication; without it "
        "log-normal, and for ATSC power sum",
        examples=["log-normal"],
    )
    correlation: float = Field(
        default=0.0,
        ge=0.0,
        le=1.0,
        description="correlation of any two fields over the places of a cell; 0 with k-lnm",
    )
    k: float = Field(default=1.0, ge=0.1, le=1.0, description="factor of the variance in k-lnm")
    time_percent: float | None = Field(
        default=None,
        ge=1.0,
        le=50.0,
        description="time for which an interfering field is exceeded [%], p1812 only; without it as the "
        "television system plans",
        examples=[1.0],
    )
    cross_polarization: bool = Field(
        default=True,
        description="whether viewers' aerials hold off the other polarization",
    )
