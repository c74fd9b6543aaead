"""The sections of a study file that say by which television system services are radiated and planned."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, Literal

from pydantic import Field

from combe.study.section import Section, Text

Table = Mapping[str, Any]

USUAL_SYSTEM: Final = "DVB-T2"
"""The television system of a study that names none."""


class OwnTelevisionSection(Section):
    """The television of a station, a service or a relay to be sited, where it is not that of the study.

    With the system of the study, what is not written is as the study has it; another system starts anew.
    """

    system: Text | None = Field(
        default=None,
        description="television system; without it that of the study, whose other keys then stand too",
        examples=["PAL I"],
    )
    channel_raster: Text | None = Field(
        default=None,
        description="table of channel frequencies; without it that of the system",
        examples=["8 MHz UHF"],
    )
    modulation: Text | None = Field(
        default=None,
        description="modulation of the mode; without it the system's usual, and none if analogue",
        examples=["256-QAM"],
    )
    code_rate: Text | None = Field(
        default=None,
        description="code rate of the mode; without it the system's usual, and none if analogue",
        examples=["2/3"],
    )
    channel_model: Literal["gaussian", "ricean", "rayleigh"] | None = Field(
        default=None,
        description="reception channel for which the required C/N is taken; without it the system's usual",
        examples=["ricean"],
    )
    location_percent: float | None = Field(
        default=None,
        ge=50.0,
        le=99.0,
        description="places of a small area that have to be served [%]; without it as the system plans",
        examples=[95.0],
    )


class TelevisionSection(OwnTelevisionSection):
    """The television system, and what counts as served."""

    system: Text = Field(
        default=USUAL_SYSTEM,
        description="television system, such as DVB-T2, DVB-T, ATSC, ISDB-T, PAL I, PAL B/G, NTSC M",
        examples=["DVB-T2"],
    )
    receive_height_m: float = Field(
        default=10.0, ge=1.0, le=50.0, description="height of viewers' aerials on roofs above ground [m]"
    )
    noise_environment: Literal["city", "residential", "rural", "quiet rural", "none"] | None = Field(
        default=None,
        description="surroundings of all receive aerials, for external noise by ITU-R P.372; without it "
        "viewers have what the system's planning allows for noise, and relays' aerials rural noise",
        examples=["residential"],
    )


KEYS: Final = tuple(OwnTelevisionSection.model_fields)
"""The keys that a station, a service or a siting may have of its own."""


def laid_over(study: Table, *own: Table | None) -> dict[str, Any]:
    """Return the television that results from a study, with that of a station and a service laid over it.

    Examples
    --------
    >>> laid_over({"system": "DVB-T2", "code_rate": "3/5"}, {"modulation": "64-QAM"}, None)
    {'system': 'DVB-T2', 'code_rate': '3/5', 'modulation': '64-QAM'}
    >>> laid_over({"system": "DVB-T2", "code_rate": "3/5"}, None, {"system": "PAL I"})
    {'system': 'PAL I'}
    """
    found = {"system": USUAL_SYSTEM} | {key: value for key, value in study.items() if key in KEYS}
    for table in own:
        written = {key: value for key, value in (table or {}).items() if key in KEYS}
        if written.get("system", found["system"]) != found["system"]:
            found = {}
        found |= written
    return found


def television_name(laid: Table) -> str:
    """Return what a project calls a television that results from a study: what is written of it, in words."""
    return ", ".join(
        f"{laid[key]:g} %" if key == "location_percent" else str(laid[key]) for key in KEYS if key in laid
    )
