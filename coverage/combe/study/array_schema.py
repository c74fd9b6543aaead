"""The shape of a transmitting aerial by its design in a study file, for ``combe aerial``."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from combe.stations import AerialDesign
from combe.study.section import Section


class ArraySection(Section):
    """The transmitting aerial by its design; combe aerial makes its pattern files."""

    kind: Literal["dipoles", "yagis", "trough", "panels"] = Field(
        description="bare dipoles, stacked yagis, dipoles in a trough, panels of dipoles", examples=["panels"]
    )
    count: int = Field(default=1, ge=1, le=64, description="elements on the line")
    spacing_wavelengths: float = Field(
        default=1.0, ge=0.1, le=5.0, description="between the middles of neighbours [wavelengths]"
    )
    edge_db: float = Field(
        default=0.0, ge=-40.0, le=0.0, description="current at the ends against the middle [dB]"
    )
    tilt_deg: float = Field(default=0.0, ge=-30.0, le=30.0, description="beam below the horizontal [degrees]")
    null_fill_percent: float = Field(
        default=0.0, ge=0.0, le=60.0, description="field left in the first nulls [% of the beam]"
    )
    boresight_deg: float = Field(
        default=0.0, ge=-360.0, le=360.0, description="bearing of the front [degrees]"
    )
    loss_db: float = Field(default=0.0, ge=0.0, le=20.0, description="loss of the harness [dB]")
    direction: Literal["upwards", "sideways"] | None = Field(
        default=None,
        description="dipoles, yagis: how the line runs; without it upwards",
        examples=["upwards"],
    )
    gain_dbi: float | None = Field(
        default=None, ge=-5.0, le=30.0, description="yagis: gain of one [dBi]", examples=[11.0]
    )
    horizontal_beamwidth_deg: float | None = Field(
        default=None,
        ge=5.0,
        le=170.0,
        description="yagis: half-power width [degrees]",
        examples=[50.0],
    )
    vertical_beamwidth_deg: float | None = Field(
        default=None,
        ge=5.0,
        le=170.0,
        description="yagis: half-power width [degrees]",
        examples=[60.0],
    )
    front_to_back_db: float | None = Field(
        default=None, ge=6.0, le=80.0, description="level behind it under the beam [dB]", examples=[20.0]
    )
    opening_deg: float | None = Field(
        default=None, ge=45.0, le=180.0, description="trough: 180, 90, 60 or 45 [degrees]", examples=[90.0]
    )
    distance_wavelengths: float | None = Field(
        default=None,
        ge=0.05,
        le=2.0,
        description="trough, panels: dipole to edge or reflector [wavelengths]",
        examples=[0.25],
    )
    bearings_deg: tuple[float, ...] | None = Field(
        default=None,
        strict=False,
        description="panels around a mast: bearing of each [degrees]",
        examples=[[0.0, 120.0, 240.0]],
    )
    radius_wavelengths: float | None = Field(
        default=None,
        ge=0.0,
        le=20.0,
        description="panels around a mast: from its middle to a panel [wavelengths]",
        examples=[0.5],
    )
    amplitudes: tuple[float, ...] | None = Field(
        default=None,
        strict=False,
        description="panels around a mast: field of each",
        examples=[[1.0, 1.0, 0.5]],
    )
    phases_deg: tuple[float, ...] | None = Field(
        default=None,
        strict=False,
        description="panels around a mast: lead of each",
        examples=[[0.0, 0.0, 90.0]],
    )


def aerial_design(section: ArraySection, polarization: str) -> AerialDesign:
    """Return the design of a section; raises RangeError where its keys do not fit together."""
    given: dict[str, Any] = {key: value for key, value in section.model_dump().items() if value is not None}
    return AerialDesign(polarization=polarization, **given)
