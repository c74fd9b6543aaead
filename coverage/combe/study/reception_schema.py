"""The section that says how the public receives, and the ways that it names."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from combe.reception import FIXED_ROOF, WayOfReceiving
from combe.study.section import Section

WayWritten = Literal["fixed roof", "portable outdoor", "portable indoor"]


class ReceptionSection(Section):
    """How the public receives: with aerials on roofs, or portable ones outdoors or in a room."""

    ways: tuple[WayWritten, ...] = Field(
        default=("fixed roof",),
        strict=False,
        min_length=1,
        description="fixed roof, portable outdoor, portable indoor; all is judged by the first, cover and "
        "explain tell of the others too",
        examples=[["fixed roof", "portable outdoor", "portable indoor"]],
    )
    building: Literal[
        "GE06",
        "BT.2033 high",
        "BT.2033 medium",
        "BT.2033 low",
        "P.2109 traditional",
        "P.2109 thermally efficient",
    ] = Field(
        default="GE06",
        description="whose loss into a building indoor reception has: GE06, BT.2033 high, medium or low (how "
        "well signals enter), P.2109 traditional or thermally efficient",
    )
    height_loss: Literal["published", "predicted"] = Field(
        default="published",
        description="portable: field of 10 m less the published height loss, or predicted at 1.5 m, which "
        "needs clutter",
    )


def ways_of(section: ReceptionSection) -> tuple[WayOfReceiving, ...]:
    """Return the ways of receiving of a section, in its order."""
    return tuple(
        FIXED_ROOF if name == FIXED_ROOF.name else WayOfReceiving(name, section.building, section.height_loss)
        for name in section.ways
    )
